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

// TestOtherRecord: a new code of another record is used for the records on
// this phone only after the person has said that they are theirs.
func TestOtherRecord(t *testing.T) {
	s := on(t, 20, 10)
	s.f.facts.Account.Forgotten = true
	s.a.Changed()
	s.a.goTo(PlaceEnrol)
	s.a.enrol.code = "abcd-efgh"
	s.f.enrolErr = &Refusal{Code: OtherRecord}
	s.a.join()
	d := document(s.a, "")
	for _, want := range []string{s.a.t(words.OtherTitle), `id="other-mine"`, `id="other-not-mine"`} {
		if !strings.Contains(d, want) {
			t.Errorf("the question lacks %q", want)
		}
	}
	s.a.answerOther(false)
	if d := document(s.a, ""); !strings.Contains(d, s.a.t(words.OtherNot)) || !strings.Contains(d, "tel:") {
		t.Error("somebody else's phone: nothing says to call the clinic")
	}
	for _, sent := range s.f.enrolled {
		if strings.HasSuffix(sent, "/mine") {
			t.Fatalf("sent as theirs without a word of theirs: %q", sent)
		}
	}
	s.a.enrol.other = otherAsked // back, and the same code again
	s.a.answerOther(true)
	if got := s.f.enrolled[len(s.f.enrolled)-1]; got != "ABCDEFGH//mine" {
		t.Errorf("sent %q", got)
	}
	if v := s.a.viewEnrol(); v.Other != "" || v.Code != "" {
		t.Errorf("joined, and it still asks: %+v", v)
	}
}
