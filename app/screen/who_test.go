package screen

import (
	"errors"
	"slices"
	"strings"
	"testing"
	"time"

	"unsling/app/words"
	"unsling/engine/rom"
	"unsling/engine/session"
)

// TestCleanLetters: what may stand on top is up to three letters or digits of
// any script, and nothing that could pass for something else.
func TestCleanLetters(t *testing.T) {
	for _, c := range []struct {
		typed, want string
		ok          bool
	}{
		{"", "", true}, {"an", "AN", true}, {" a n ", "AN", true}, {"Ñu7", "ÑU7", true}, {"анн", "АНН", true}, {"9", "9", true},
		{"four", "", false}, {"a-b", "", false}, {"<b>", "", false}, {"\u202eab", "", false}, {"a\u0301", "", false}, {"\xff", "", false},
		{"a\x00", "", false}, {"😀", "", false}, {strings.Repeat(" ", 5000) + "a", "", false}, {"ß", "ß", true},
	} {
		if got, ok := CleanLetters(c.typed); got != c.want || ok != c.ok {
			t.Errorf("%q: %q %v, want %q %v", c.typed, got, ok, c.want, c.ok)
		}
	}
}

// TestAloneNothingIsAsked: a phone with one person is as it was.
func TestAloneNothingIsAsked(t *testing.T) {
	s := on(t, 20, 10)
	if s.a.Shown() != PlaceNow || s.a.shared() || strings.Contains(document(s.a, ""), `id="letters-top"`) {
		t.Errorf("a phone with one person shows %s", s.a.Shown())
	}
	s.a.Hidden()
	s.f.pass(5 * time.Hour)
	s.a.Back()
	if s.a.Shown() != PlaceNow {
		t.Errorf("after hours away it shows %s", s.a.Shown())
	}
	s.a.Arrive("/who", "")
	if v := s.a.viewWho(); v.Ask || len(v.Text) == 0 || !v.New {
		t.Errorf("the page of sharing: %+v", v)
	}
	s.a.addPerson()
	if !slices.Equal(s.f.people.added, []string{""}) {
		t.Errorf("added %q", s.f.people.added)
	}
}

// TestNobodyIsNobody: before somebody has said who they are, nothing of anybody
// is shown and nothing can be told; the numbers stand.
func TestNobodyIsNobody(t *testing.T) {
	s := sharedPhone(t, 20)
	s.f.facts.History.Notes = []rom.Entry[rom.Note]{{Meta: s.meta(50, operated.Add(19)), Body: rom.Note{Episode: episodeID, Text: "for Anna alone", By: surgeon}}}
	s.f.people.asks = true
	s.a.say("for Anna as well", false)
	s.a.Changed()
	for _, place := range []string{"/", "/session", "/settings", "/so-far", "/help", "/enrol", "/leave", "/lock"} {
		s.a.Arrive(place, "")
		if place == "/" {
			s.a.say("for Anna as well", false)
		}
		doc := document(s.a, "")
		if strings.Contains(doc, "for Anna") || strings.Contains(doc, `id="send-`) || strings.Contains(doc, "write-note") {
			t.Errorf("%s shows what is somebody's", place)
		}
		if want := PlaceWho; place != "/help" && s.a.Shown() != want {
			t.Errorf("%s shows %s", place, s.a.Shown())
		}
	}
	s.a.Arrive("/help", "")
	s.a.chooseSign(rom.SignChest)
	if doc := document(s.a, ""); strings.Contains(doc, "send-sign") || !strings.Contains(doc, "call-clinic") || !strings.Contains(doc, s.a.t(words.WhoFirst)) {
		t.Error("a sign can be told by nobody, or the number is gone")
	}
	if slices.Contains(s.f.kinds, "seen") {
		t.Error("a note was seen by nobody")
	}
	s.a.Arrive("/", "")
	s.a.choosePerson("a")
	if s.a.Shown() != PlaceNow || !slices.Contains(s.f.kinds, "seen") {
		t.Errorf("after the choice it shows %s, written %v", s.a.Shown(), s.f.kinds)
	}
}

// TestWhoIsAskedAgain: a shared phone out of sight for long asks again; not
// who is in a session, and before the lock.
func TestWhoIsAskedAgain(t *testing.T) {
	for _, c := range []struct {
		away   time.Duration
		in     bool
		locked bool
		want   Place
	}{
		{29 * time.Minute, false, false, PlaceNow}, {31 * time.Minute, false, false, PlaceWho}, {31 * time.Minute, true, false, PlaceSession},
		{31 * time.Minute, false, true, PlaceWho}, {-time.Hour, false, false, PlaceWho},
	} {
		s := sharedPhone(t, 20)
		if c.in {
			s.a.startMain()
		}
		if c.locked {
			s.a.lock.kept = lockKept{Kind: lockByPIN, Salt: []byte("s"), Hash: []byte("h"), Minutes: 5}
		}
		s.a.Hidden()
		s.f.now = s.f.now.Add(c.away)
		s.f.mono += max(0, c.away.Milliseconds())
		s.a.Back()
		if s.a.Shown() != c.want {
			t.Errorf("%+v: it shows %s", c, s.a.Shown())
		}
		if c.want == PlaceWho {
			s.a.choosePerson("a")
			if want := map[bool]Place{true: PlaceLock, false: PlaceNow}[c.locked]; s.a.Shown() != want {
				t.Errorf("%+v: after the choice it shows %s", c, s.a.Shown())
			}
		}
	}
}

// TestNoChangeInTheMiddle: a time that runs and a measurement hold the window;
// a pause lets go.
func TestNoChangeInTheMiddle(t *testing.T) {
	refused := func(s *scene, what string) {
		t.Helper()
		at := s.a.place
		s.a.toWho()
		if s.a.place != at || s.a.notice != s.a.t(words.WhoBusy) {
			t.Errorf("%s: the letters lead to %s, %q", what, s.a.place, s.a.notice)
		}
		s.a.choosePerson("b")
		s.a.addPerson()
		if len(s.f.people.chosen) > 0 || len(s.f.people.added) > 0 {
			t.Errorf("%s: the window became another's", what)
		}
	}
	s := sharedPhone(t, 20)
	s.a.startMain()
	s.a.sessionPain(2)
	s.a.sessionTap(session.Start)
	s.tick(5 * time.Second)
	refused(s, "a hold")
	s.a.sessionTap(session.Pause)
	s.a.toWho()
	if s.a.Shown() != PlaceWho {
		t.Fatalf("paused, the letters lead to %s", s.a.Shown())
	}
	if s.f.kept[draftName] == nil {
		t.Error("the session that was paused is not on the disk")
	}
	s.a.choosePerson("b")
	if !slices.Equal(s.f.people.chosen, []string{"b"}) {
		t.Errorf("chosen %v", s.f.people.chosen)
	}
	s.a.choosePerson("b") // a second tap while the page goes away
	if len(s.f.people.chosen) != 1 {
		t.Error("two taps chose twice")
	}

	s = sharedPhone(t, 45)
	s.a.Arrive("/measure", "")
	s.a.chooseRow(rom.ForwardFlexion, rom.Right)
	s.a.measure.wanted = 1
	s.a.chooseWay(0)
	refused(s, "a measurement")
	s.a.Arrive("/help", "")
	refused(s, "help, called from a measurement")
}

// TestLettersAreAskedOfBoth: the one who was here first is asked when they open
// the app next, may not take the other's, and is not asked in a session.
func TestLettersAreAskedOfBoth(t *testing.T) {
	s := on(t, 20, 10)
	s.f.people.list = []Person{{ID: ""}, {ID: "b", Letters: "BO"}}
	s.start()
	if s.a.Shown() != PlaceFirst || s.a.firstPage() != firstWho || s.a.viewFirst().Back {
		t.Fatalf("it shows %s, page %d", s.a.Shown(), s.a.firstPage())
	}
	for typed, want := range map[string]words.Text{"": words.WhoBad, "bo": words.WhoTaken, "????": words.WhoBad} {
		s.a.first.letters = typed
		s.a.firstNext()
		if s.a.first.problem != s.a.t(want) || s.a.Shown() != PlaceFirst {
			t.Errorf("%q: %q", typed, s.a.first.problem)
		}
	}
	s.a.first.letters = "an"
	s.a.firstNext()
	if s.a.Shown() != PlaceNow || s.a.prefs.Letters != "AN" || s.f.people.list[0].Letters != "AN" {
		t.Errorf("it shows %s, %q, %v", s.a.Shown(), s.a.prefs.Letters, s.f.people.list)
	}
	s.start()
	if s.a.Shown() != PlaceNow {
		t.Errorf("opened anew it asks again: %s", s.a.Shown())
	}
	s.f.kept = nil // the choices are lost, the list is not
	s.start()
	if s.a.prefs.Letters != "AN" {
		t.Errorf("letters that the list still has: %q", s.a.prefs.Letters)
	}
}

// TestCodeForAnother: a code that is opened in somebody's app is used for
// nobody before it was said whose it is.
func TestCodeForAnother(t *testing.T) {
	s := on(t, 20, 10)
	s.a.Arrive("/enrol", "secret-of-b")
	if s.a.Shown() != PlaceEnrol || !strings.Contains(document(s.a, ""), "whose-other") || len(s.f.enrolled) > 0 {
		t.Fatalf("it shows %s, enrolled %v", s.a.Shown(), s.f.enrolled)
	}
	s.a.addPerson()
	if !slices.Equal(s.f.people.added, []string{"secret-of-b"}) || len(s.f.enrolled) > 0 {
		t.Errorf("added %v, enrolled %v", s.f.people.added, s.f.enrolled)
	}
	s = on(t, 20, 10)
	s.f.people.err = ErrCrowded
	s.a.Arrive("/enrol", "secret-of-e")
	s.a.addPerson()
	if s.a.who.problem != s.a.t(words.WhoFull) || s.a.who.busy {
		t.Errorf("a fifth person: %+v", s.a.who)
	}
	s.f.people.err = errors.New("a disk that hangs")
	s.a.addPerson()
	if s.a.who.problem != s.a.t(words.NotSwitched) {
		t.Errorf("no disk: %+v", s.a.who)
	}
	s.a.mineIsIt()
	if s.a.Shown() != PlaceNow || s.a.enrol.secret != "" || len(s.f.enrolled) > 0 {
		t.Errorf("mine: it shows %s", s.a.Shown())
	}
}

// TestWhoseBeforeIt: the session's first page and the page of measuring say
// whose they are, with the operated shoulder; alone they do not.
func TestWhoseBeforeIt(t *testing.T) {
	for _, shared := range []bool{true, false} {
		for _, place := range []string{"/session", "/measure"} {
			s := on(t, 45, 10)
			if shared {
				s = sharedPhone(t, 45)
			}
			if place == "/session" {
				s.a.startMain()
			} else {
				s.a.Arrive(place, "")
			}
			if doc := document(s.a, ""); strings.Contains(doc, `id="whose"`) != shared || shared && !strings.Contains(doc, "Right shoulder") {
				t.Errorf("%s, shared %v", place, shared)
			}
		}
	}
}

// TestLeavingAlone: who leaves a shared phone is told that the others stay.
func TestLeavingAlone(t *testing.T) {
	s := sharedPhone(t, 20)
	s.a.Arrive("/leave", "")
	if doc := document(s.a, ""); !strings.Contains(doc, s.a.t(words.WhoEraseStay)) || strings.Contains(doc, s.a.t(words.LeaveFirst)) {
		t.Error("the page says that all is erased")
	}
	s.a.askErase()
	s.f.pass(sureTime * time.Millisecond)
	s.a.leaveNow()
	s.f.people.list = s.f.people.list[1:]
	if doc := document(s.a, ""); s.f.guard.wipes != 1 || !strings.Contains(doc, s.a.t(words.WhoGone)) || strings.Contains(doc, s.a.t(words.LeftTitle)) {
		t.Errorf("%d wiped; %s", s.f.guard.wipes, s.a.Shown())
	}
}

// TestRemindersOfTwo: two people's calendars share no reminder, and both are
// neutral (RFC 5545 section 3.8.4.7: a UID is globally unique).
func TestRemindersOfTwo(t *testing.T) {
	uid := func(id string) string {
		s := sharedPhone(t, 20)
		s.a.d.NewID = func() string { return id }
		text, _, err := s.a.reminderText([]int{9 * 60})
		if err != nil || strings.Contains(text, "AN") && strings.Contains(text, "SUMMARY:AN") {
			t.Fatalf("%v\n%s", err, text)
		}
		_, rest, _ := strings.Cut(text, "UID:")
		line, _, _ := strings.Cut(rest, "\r\n")
		return line
	}
	if a, b := uid("one"), uid("two"); a == b || a == "" {
		t.Errorf("UIDs %q and %q", a, b)
	}
}
