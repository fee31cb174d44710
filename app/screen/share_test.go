package screen

import (
	"bytes"
	"encoding/xml"
	"io"
	"strings"
	"testing"

	"unsling/app/words"
	"unsling/engine/rom"
)

// TestRecordPageHoldsEverythingAndEscapesIt: texts of persons are hostile
// until they are escaped; whatever the phone has is on the page.
func TestRecordPageHoldsEverythingAndEscapesIt(t *testing.T) {
	const evil = `"><script>alert(1)</script>&'`
	s := on(t, 60, 10)
	s.reading(50, rom.ForwardFlexion, 91)
	s.a.writeNote()
	s.a.help.text = "note " + evil
	s.a.sendNote()
	s.a.chooseSign(rom.SignWound)
	s.a.help.text = "sign " + evil
	s.a.sendSign(false)
	h := &s.f.facts.History
	h.Visits = append(h.Visits, rom.Entry[rom.Visit]{Meta: s.meta(70, operated.Add(40)), Body: rom.Visit{Episode: episodeID, On: operated.Add(40), Text: "visit " + evil, By: surgeon}})
	h.Notes = append(h.Notes, rom.Entry[rom.Note]{Meta: s.meta(71, operated.Add(41)), Body: rom.Note{Episode: episodeID, Text: "letter " + evil, By: surgeon}})
	h.Pains = append(h.Pains, rom.Entry[rom.Pain]{Meta: s.meta(72, operated.Add(42)), Body: rom.Pain{Episode: episodeID, Score: 4, When: rom.PainAtNight, Sleep: rom.SleptWoke}})
	h.Sessions = append(h.Sessions, rom.Entry[rom.Session]{Meta: s.meta(73, operated.Add(43)), Body: rom.Session{Episode: episodeID, Ended: rom.Finished}})
	s.a.look()
	for _, l := range words.Langs {
		s.a.prefs.Language = l
		s.a.shareRecord()
		page := string(s.f.file)
		if strings.Contains(page, "<script") {
			t.Fatalf("%s: a person's text became markup", l)
		}
		for _, want := range []string{"note ", "sign ", "visit ", "letter ", "&lt;script&gt;", "91", words.Sleep(l, rom.SleptWoke), words.ShareSessions.In(l), "{&#34;invented&#34;:true}", `lang="` + string(l) + `"`} {
			if !strings.Contains(page, want) {
				t.Errorf("%s: the page lacks %q", l, want)
			}
		}
		// it is whole: every element that opens closes
		body := page[strings.Index(page, "<main>"):strings.Index(page, "</body>")]
		d := xml.NewDecoder(bytes.NewReader([]byte(body)))
		for {
			if _, err := d.Token(); err == io.EOF {
				break
			} else if err != nil {
				t.Fatalf("%s: %v", l, err)
			}
		}
	}
	s.a.export()
	if string(s.f.file) != `{"invented":true}` {
		t.Errorf("the lines for a computer: %s", s.f.file)
	}
}
