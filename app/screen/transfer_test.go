package screen

import (
	"slices"
	"strings"
	"testing"

	"unsling/app/words"
	"unsling/engine/rom"
)

// TestTransferNamesWhoGoesOn: after a transfer the phone names the clinic that
// goes on and its number, on the first screen and under help.
func TestTransferNamesWhoGoesOn(t *testing.T) {
	s := on(t, 60, 10)
	s.episode(rom.Withdrawn)
	all := slices.Clone(s.f.facts.History.Episodes)
	all[len(all)-1].Body.Transfer = &rom.Transfer{Clinic: "Harbour Clinic", Phone: "+353 20 922 0000"}
	s.f.facts.History.Episodes = all
	s.a.Changed()
	v := s.a.viewNow()
	says := strings.Join(v.Text, " ")
	if v.Title != s.a.t(words.MovedTitle) || !strings.Contains(says, "Harbour Clinic") || !strings.Contains(says, "+353 20 922 0000") || !strings.Contains(says, s.a.t(words.MovedNobody)) {
		t.Errorf("%q: %q", v.Title, says)
	}
	if h := s.a.viewHelp(); !strings.Contains(h.Nobody, "+353 20 922 0000") {
		t.Errorf("help says %q", h.Nobody)
	}
}
