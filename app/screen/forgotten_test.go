package screen

import (
	"strings"
	"testing"

	"unsling/app/words"
)

// TestForgottenPhone: a phone that the clinic does not know any more says so,
// goes on as before, and lets a new code be used.
func TestForgottenPhone(t *testing.T) {
	s := on(t, 20, 10)
	before := s.a.viewNow().Title
	s.f.facts.Account.Forgotten = true
	s.a.Changed()
	d := document(s.a, "")
	if !strings.Contains(d, s.a.t(words.Forgotten)) || !strings.Contains(d, `id="join-again"`) {
		t.Error("it is not said, or there is no way to use a new code")
	}
	if s.a.Shown() != PlaceNow || s.a.viewNow().Title != before {
		t.Errorf("the day is gone: %v %q", s.a.Shown(), s.a.viewNow().Title)
	}
	s.a.goTo(PlaceEnrol)
	if s.a.Shown() != PlaceEnrol {
		t.Errorf("a new code cannot be used: %v", s.a.Shown())
	}
	s.f.facts.Account.Forgotten = false
	s.a.Changed()
	if s.a.Shown() != PlaceNow || strings.Contains(document(s.a, ""), s.a.t(words.Forgotten)) {
		t.Error("known again, and it still says so")
	}
}
