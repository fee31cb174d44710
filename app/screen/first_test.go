package screen

import (
	"encoding/json"
	"encoding/xml"
	"io"
	"strings"
	"testing"

	"unsling/app/words"
)

// TestLettersTellTwoPeopleApart: one to three letters stand on top of every
// screen, whatever was typed is kept short, and leaving them out is allowed.
func TestLettersTellTwoPeopleApart(t *testing.T) {
	for _, c := range []struct {
		typed, want string
		ok          bool
	}{{"", "", true}, {"ar", "AR", true}, {" a r ", "AR", true}, {"ñ", "Ñ", true}, {"ABCD", "", false}, {"<b", "", false}, {"  ", "", true}} {
		s := on(t, 20, 10)
		s.a.prefs.First = firstWho
		s.a.first.letters = c.typed
		s.a.firstNext()
		if (s.a.prefs.First == FirstDone) != c.ok || s.a.prefs.Letters != c.want {
			t.Errorf("%q: page %d, letters %q", c.typed, s.a.prefs.First, s.a.prefs.Letters)
		}
		if !c.ok && s.a.viewFirst().Problem == "" {
			t.Errorf("%q: nothing says why", c.typed)
		}
		if c.want != "" && !strings.Contains(document(s.a, ""), `id="letters-top"`) {
			t.Errorf("%q does not stand on top", c.want)
		}
	}
}

// TestFirstRunOfAnOlderVersion: who was through the seven pages of the first
// version is not asked again; who was half-way begins anew.
func TestFirstRunOfAnOlderVersion(t *testing.T) {
	for was, want := range map[int]int{7: FirstDone, 3: 0, 0: 0} {
		old, _ := json.Marshal(map[string]any{"lang": "es", "hand": "left", "first": was, "tapped": "right"})
		if p := readPrefs(old, About{}); p.First != want || p.Tapped != "right" {
			t.Errorf("page %d of 7 reads as %d", was, p.First)
		}
	}
	p := defaultPrefs(About{})
	p.First = 4
	if got := readPrefs(p.encode(), About{}); got.First != 4 {
		t.Errorf("half-way of this version reads as page %d", got.First)
	}
}

// TestInstallIsDrawn: every kind of phone has a picture for each step, clean
// XML that holds no style, and different kinds look different.
func TestInstallIsDrawn(t *testing.T) {
	seen := map[string]bool{}
	for _, k := range []Kind{Apple, Android, Other} {
		s := on(t, 20, 10)
		s.f.about.Kind, s.f.about.Installed = k, false
		s.a.look()
		s.a.prefs.First = firstInstall
		v := s.a.viewFirst()
		if len(v.Pictures) != len(v.Steps) || len(v.Steps) != 3 {
			t.Fatalf("%s: %d pictures for %d steps", k, len(v.Pictures), len(v.Steps))
		}
		for _, p := range v.Pictures[:2] {
			if seen[p] {
				t.Errorf("%s: a picture of another phone", k)
			}
			seen[p] = true
			d := xml.NewDecoder(strings.NewReader(p))
			for {
				if _, err := d.Token(); err == io.EOF {
					break
				} else if err != nil {
					t.Fatalf("%s: %v", k, err)
				}
			}
			if strings.Contains(p, "style=") || !strings.Contains(p, "<title>") {
				t.Errorf("%s: a style or no name", k)
			}
		}
	}
}

// TestConsentNamesWhatIsSent: every kind of record that a phone writes stands
// on the page of what leaves it, and photographs on the side of what stays.
func TestConsentNamesWhatIsSent(t *testing.T) {
	s := on(t, 20, 10)
	s.a.prefs.First = firstConsent
	v := s.a.viewFirst()
	goes := strings.Join(v.Goes, " ")
	for _, w := range []string{"exercises", "pain", "angles", "warning signs", "sling", "messages", "kind of phone"} {
		if !strings.Contains(goes, w) {
			t.Errorf("%q is sent and not named: %s", w, goes)
		}
	}
	if !strings.Contains(strings.Join(v.Stays, " "), words.ConsentStay1.In(words.English)) {
		t.Error("where photographs stay is not said")
	}
}
