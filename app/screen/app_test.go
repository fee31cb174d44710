package screen

import (
	"errors"
	"os"
	"regexp"
	"strings"
	"testing"
	"time"

	"unsling/app/words"
	"unsling/engine/protocol"
	"unsling/engine/rom"
	"unsling/engine/schedule"
	"unsling/sync/wire"
)

// newcomer is a phone that has not joined.
func newcomer(t *testing.T, about About) *scene {
	s := on(t, 20, 10)
	s.f.about = about
	s.f.facts = Facts{Loaded: true}
	s.f.kept = nil
	s.start()
	return s
}

// TestTypedCodes reads codes as Crockford's base 32 has them: O is 0, I and L
// are 1, case and hyphens do not matter (Crockford, "Base 32").
func TestTypedCodes(t *testing.T) {
	for in, want := range map[string]string{
		"abcd-efgh": "ABCDEFGH", " a b c d e f g h ": "ABCDEFGH", "O0oO-1Il": "0000111", "ab.cd_ef/gh": "ABCDEFGH", "": "", "ñandú": "AND",
	} {
		if got := cleanCode(in); got != want {
			t.Errorf("cleanCode(%q) = %q, want %q", in, got, want)
		}
	}
}

func TestJoining(t *testing.T) {
	s := newcomer(t, About{Kind: Android})
	if s.a.Shown() != PlaceEnrol {
		t.Fatalf("a new phone shows %s", s.a.Shown())
	}
	s.a.enrol.code = "abc"
	s.a.join()
	if len(s.f.enrolled) != 0 || s.a.viewEnrol().Problem == "" {
		t.Error("a code that is too short was sent")
	}
	s.a.enrol.code = "abcd-efgh"
	s.f.enrolErr = &Refusal{Code: string(wire.CodeExpired)}
	s.a.join()
	if v := s.a.viewEnrol(); v.Code != "abcd-efgh" || v.Problem != words.Refusal(words.English, "code_expired") || v.Busy {
		t.Errorf("a refusal left %+v", v)
	}
	s.f.enrolErr = nil
	s.a.join()
	if got := s.f.enrolled[len(s.f.enrolled)-1]; got != "ABCDEFGH/" {
		t.Errorf("sent %q", got)
	}
	if s.a.Shown() != PlaceFirst {
		t.Errorf("after joining the phone shows %s", s.a.Shown())
	}
}

func TestLinkWithANumber(t *testing.T) {
	s := newcomer(t, About{Kind: Android})
	s.a.Arrive("/enrol", "the-secret")
	if v := s.a.viewEnrol(); !v.Linked || v.WantPin {
		t.Fatalf("the link shows %+v", v)
	}
	s.f.enrolErr = &Refusal{Code: string(wire.WrongPIN)}
	s.a.join()
	if v := s.a.viewEnrol(); !v.WantPin || !v.Linked {
		t.Fatalf("a missing number shows %+v", v)
	}
	s.a.enrol.pin = "123 456"
	s.f.enrolErr = nil
	s.a.join()
	if got := s.f.enrolled[len(s.f.enrolled)-1]; got != "the-secret/123456" {
		t.Errorf("sent %q", got)
	}
}

// TestAppleTabSendsNothing: storage of a tab and of the installed app are
// separate, so that the tab only shows how to install.
func TestAppleTabSendsNothing(t *testing.T) {
	s := newcomer(t, About{Kind: Apple})
	s.a.Arrive("/enrol", "the-secret")
	s.a.enrol.code = "ABCDEFGH"
	s.a.join()
	v := s.a.viewEnrol()
	if len(s.f.enrolled) != 0 || !v.Tab || len(v.Steps) != 3 {
		t.Errorf("the tab sent %v and shows %+v", s.f.enrolled, v)
	}
	s.f.about.Installed = true
	s.a.look()
	s.a.join()
	if len(s.f.enrolled) != 1 {
		t.Error("the installed app sends nothing")
	}
}

func TestEveryServerCodeHasAnAnswer(t *testing.T) {
	for _, c := range wire.Codes() {
		if words.Refusal(words.English, string(c)) == "" {
			t.Errorf("nothing is said for %s", c)
		}
	}
	for _, c := range []wire.Code{wire.CodeUnknown, wire.CodeExpired, wire.CodeUsed, wire.WrongPIN, wire.TooManyTries, wire.DeviceTaken, wire.TooMany, wire.Unavailable, wire.Internal} {
		if words.Refusal(words.English, string(c)) == words.Refusal(words.English, "") {
			t.Errorf("%s has no sentence of its own", c)
		}
	}
}

func TestFirstRunStopsAtTheOtherShoulder(t *testing.T) {
	s := on(t, 20, 10)
	s.a.prefs = defaultPrefs(s.f.about)
	for _, page := range []int{firstSafety, firstConsent, firstSide} {
		s.a.firstNext()
		if s.a.prefs.First != page {
			t.Fatalf("page %d, want %d", s.a.prefs.First, page)
		}
	}
	if s.a.prefs.First != firstSide {
		t.Fatalf("page %d", s.a.prefs.First)
	}
	s.a.firstNext()
	if s.a.prefs.First != firstSide {
		t.Error("the page of the shoulder lets one pass without a tap")
	}
	s.a.tapSide(rom.Left)
	v := s.a.viewFirst()
	if !v.Wrong || s.a.prefs.First != firstSide {
		t.Fatalf("the other shoulder leads to %+v", v)
	}
	if len(s.f.appended) != 1 || s.f.appended[0].(rom.Install).SideTapped != rom.Left {
		t.Errorf("the clinic learns %v", s.f.appended)
	}
	s.a.sideAgain()
	s.a.tapSide(rom.Right)
	if s.a.prefs.First != firstHand || s.a.prefs.FreeHand != rom.Left {
		t.Errorf("the right shoulder leads to page %d, hand %s", s.a.prefs.First, s.a.prefs.FreeHand)
	}
	for s.a.prefs.First < FirstDone {
		s.a.firstNext()
	}
	if last := s.f.appended[len(s.f.appended)-1].(rom.Install); last.SideTapped != rom.Right || last.Validate() != nil {
		t.Errorf("the installation reads %+v", last)
	}
	if s.a.Shown() != PlaceNow {
		t.Errorf("after the first run: %s", s.a.Shown())
	}
}

func TestStorageAnswerIsShown(t *testing.T) {
	for _, yes := range []bool{true, false} {
		s := on(t, 20, 10)
		s.a.prefs.First = firstKeep
		s.f.persist = yes
		if got := s.a.viewFirst().AnswerSay; got != "" {
			t.Errorf("an answer before the question: %q", got)
		}
		s.a.askPersist()
		want := words.KeepNo
		if yes {
			want = words.KeepYes
		}
		if got := s.a.viewFirst().AnswerSay; got != s.a.t(want) {
			t.Errorf("persist %v: %q", yes, got)
		}
	}
}

// TestReceivedIsNotRead: the words for what the server has differ from those
// for what a person has read, and only a Seen of staff earns the latter.
func TestReceivedIsNotRead(t *testing.T) {
	s := on(t, 20, 10)
	s.a.chooseSign(rom.SignWound)
	s.a.help.text = "It looks red."
	s.a.sendSign(false)
	ref := *s.a.help.sent
	read := func() string { return s.a.progressOf(ref) }
	if got := read(); !strings.Contains(got, s.a.t(words.KeptNow)) || !strings.Contains(got, s.a.t(words.ReadByNobody)) {
		t.Errorf("kept reads %q", got)
	}
	s.f.facts.Sending.Acked = s.f.facts.Sending.Written
	s.a.look()
	if got := read(); got != s.a.t(words.ReceivedNow) {
		t.Errorf("received reads %q", got)
	}
	s.f.facts.History.Seens = []rom.Entry[rom.Seen]{
		{Meta: rom.Meta{Ref: rom.Ref{Author: phoneID, N: 77}, At: s.f.now}, Body: rom.Seen{What: ref}},
	}
	s.a.look()
	if got := read(); got != s.a.t(words.ReceivedNow) {
		t.Errorf("a Seen of the patient reads %q", got)
	}
	s.f.facts.History.Seens = append(s.f.facts.History.Seens, rom.Entry[rom.Seen]{Meta: rom.Meta{Ref: rom.Ref{Author: clinicID, N: 78}, At: s.f.now}, Body: rom.Seen{What: ref, By: surgeon}})
	s.a.look()
	if got := read(); !strings.HasPrefix(got, "Read by Harbour Shoulder Clinic") {
		t.Errorf("read by staff reads %q", got)
	}
	if len(s.f.facts.History.Signs) != 1 || s.f.facts.History.Signs[0].Body.Text != "It looks red." {
		t.Errorf("recorded %+v", s.f.facts.History.Signs)
	}
}

func TestStatusLine(t *testing.T) {
	s := on(t, 20, 10)
	for _, c := range []struct {
		send Sending
		want string
	}{
		{Sending{}, s.a.t(words.NothingYet)},
		{Sending{Written: 3, Acked: 3}, s.a.t(words.AllReceived)},
		{Sending{Written: 3, Acked: 1}, words.KeptWaiting.In(words.English, 2)},
		{Sending{Written: 2, Acked: 1, Failed: FailedRefused}, words.KeptWaiting.In(words.English, 1) + " " + s.a.t(words.ServerNo)},
	} {
		s.a.facts.Sending = c.send
		if got := s.a.statusLine(); got != c.want {
			t.Errorf("%+v: %q, want %q", c.send, got, c.want)
		}
	}
}

func TestASignThatStopsHaltsTheDay(t *testing.T) {
	for _, r := range protocol.Signs() {
		s := on(t, 20, 10)
		s.a.chooseSign(r.Sign)
		v := s.a.viewHelp().Sign
		if len(v.Do) == 0 || v.Emergency != (r.Urgency == protocol.Emergency) {
			t.Errorf("%s: %+v", r.Sign, v)
		}
		s.a.sendSign(false)
		if halted := s.a.day.State == schedule.Halted; halted != r.Stops {
			t.Errorf("%s: stops %v, the day is %s", r.Sign, r.Stops, s.a.day.State)
		}
		if !r.Stops {
			continue
		}
		if v.Do[0] != s.a.t(words.DoStop) {
			t.Errorf("%s: the danger does not come first: %v", r.Sign, v.Do)
		}
	}
}

func TestNotesAreBounded(t *testing.T) {
	s := on(t, 20, 10)
	s.a.writeNote()
	s.a.sendNote()
	if s.a.help.problem != s.a.t(words.NoteEmpty) {
		t.Errorf("an empty note: %q", s.a.help.problem)
	}
	s.a.help.text = strings.Repeat("é", mostNoteText+1)
	s.a.sendNote()
	if s.a.help.problem == "" || len(s.f.appended) != 0 || s.a.help.text == "" {
		t.Error("a note that is too long was taken, or lost")
	}
	s.a.help.text = strings.Repeat("é", mostNoteText)
	s.f.full = ErrStorage
	s.a.sendNote()
	if s.a.help.text == "" || s.a.help.problem == "" {
		t.Error("a note that could not be kept is lost from the screen")
	}
	s.f.full = nil
	s.a.sendNote()
	if len(s.f.facts.History.Questions) != 1 || s.f.facts.History.Questions[0].Body.Validate() != nil {
		t.Error("a note of the longest length was not taken")
	}
}

// TestHelpFromAnywhere: the clinic's number is two taps away from every screen.
func TestHelpFromAnywhere(t *testing.T) {
	for _, x := range shots(t) {
		x.a.Arrive("/help", "")
		_, number := x.a.clinic()
		if x.a.Shown() != PlaceHelp || number == "" && x.a.facts.Account.State != Unknown {
			t.Errorf("%s: help shows %s, number %q", x.name, x.a.Shown(), number)
		}
	}
}

func TestEveryStateOfTheDayIsTold(t *testing.T) {
	for _, st := range []schedule.State{
		schedule.CannotSay, schedule.BeforeOp, schedule.NotConfirmed, schedule.Postponed, schedule.NoPlan, schedule.Running,
		schedule.Paused, schedule.Stopped, schedule.Halted, schedule.Ended, "a state of a later version",
	} {
		s := on(t, 20, 10)
		s.a.day.State = st
		v := s.a.viewNow()
		if v.Title == "" {
			t.Errorf("%s: nothing is said", st)
		}
		if v.Main != "" && st != schedule.Running {
			t.Errorf("%s: the screen offers %q", st, v.Main)
		}
	}
}

func TestStalePlanSaysSo(t *testing.T) {
	s := on(t, 20, 10)
	s.f.now = s.f.now.Add(13 * 24 * time.Hour)
	s.a.look()
	if text := strings.Join(s.a.viewNow().Text, " "); strings.Contains(text, "13") {
		t.Errorf("after 13 days: %q", text)
	}
	s.f.now = s.f.now.Add(24 * time.Hour)
	s.a.look()
	if v := s.a.viewNow(); !strings.Contains(strings.Join(v.Text, " "), "14 days") || !v.Calls {
		t.Errorf("after 14 days: %+v", v)
	}
}

// TestOffscreenFactsDoNotClose a session: at start-up the records arrive later
// than the preferences.
func TestDraftWaitsForTheRecords(t *testing.T) {
	s := inHold(t, 2)
	facts := s.f.facts
	s.f.facts = Facts{}
	s.start()
	if len(s.f.facts.History.Sessions) != 0 || s.f.kept[draftName] == nil {
		t.Fatal("the draft was closed before the records were read")
	}
	s.f.facts = facts
	s.a.Changed()
	if !s.a.session.waits() {
		t.Error("the draft was forgotten")
	}
}

func TestBrokenStorageIsTold(t *testing.T) {
	s := on(t, 20, 10)
	s.f.facts.Trouble = TroubleRefused
	s.a.look()
	if s.a.troubleLine() != s.a.t(words.TroubleRefused) {
		t.Errorf("says %q", s.a.troubleLine())
	}
	if got := s.a.storageSays(errors.Join(ErrFull)); !strings.Contains(got, s.a.t(words.StorageFull)) {
		t.Errorf("full: %q", got)
	}
}

func TestClinicNotesAreMarkedSeenOnce(t *testing.T) {
	s := on(t, 20, 10)
	s.a.Hidden()
	note := rom.Ref{Author: clinicID, N: 50}
	s.f.facts.History.Notes = []rom.Entry[rom.Note]{{Meta: rom.Meta{Ref: note, At: s.f.now.Add(-time.Hour)}, Body: rom.Note{Episode: episodeID, Text: "Bring your sling.", By: surgeon}}}
	s.a.Changed()
	if len(s.f.appended) != 0 {
		t.Fatal("a note counts as seen while the app is hidden")
	}
	s.a.Back()
	s.a.Arrive("/help", "")
	s.a.Arrive("/", "")
	if len(s.f.appended) != 1 || s.f.appended[0].(rom.Seen) != (rom.Seen{What: note}) {
		t.Errorf("recorded %v", s.f.appended)
	}
}

// TestRevokedPhone locks sessions and measuring, and keeps warning signs, the
// number and the export.
func TestRevokedPhone(t *testing.T) {
	s := inHold(t, 1)
	s.f.facts.Account.State = Revoked
	s.a.Changed()
	if v := s.a.viewSession(); v.Kind != kindEnd {
		t.Errorf("the session goes on: %s", v.Kind)
	}
	s.a.Arrive("/", "")
	if v := s.a.viewNow(); v.Main != "" || v.Card != nil || len(v.May) != 0 || !v.Calls || v.Title != s.a.t(words.Revoked) {
		t.Errorf("the first screen shows %+v", v)
	}
	if v := s.a.viewMeasureList(); len(v.Asked)+len(v.Others) != 0 {
		t.Errorf("measuring offers %+v", v)
	}
	s.a.chooseSign(rom.SignFever)
	s.a.sendSign(false)
	s.a.export()
	if _, number := s.a.clinic(); len(s.f.facts.History.Signs) != 1 || s.f.file == nil || number == "" {
		t.Error("signs, number or export are gone")
	}
}

func TestUpdateWaitsForTheSession(t *testing.T) {
	s := inHold(t, 1)
	s.f.about.Updating = true
	s.a.look()
	s.a.update()
	if s.f.updates != 0 || s.a.viewNow().Update {
		t.Error("an update is let in during a session")
	}
	s.a.stopFor(rom.StopTired)
	s.a.leaveSession()
	if !s.a.viewNow().Update {
		t.Error("the update is not offered afterwards")
	}
	s.a.update()
	if s.f.updates != 1 {
		t.Error("the update was not let in")
	}
	s.f.updateErr = ErrBusy
	s.a.update()
	if s.a.aloud != s.a.t(words.UpdateLater) {
		t.Errorf("a session in another window: %q", s.a.aloud)
	}
	s.f.updateErr = ErrAbsent
	s.a.update()
	if s.a.aloud != s.a.t(words.UpdateBad) {
		t.Errorf("an update that does not come in: %q", s.a.aloud)
	}
}

// TestSourceKeepsTheRules reads the package: no style attribute, markup only
// through svg, every handler with a scope, no clock of its own, links only to
// a number.
func TestSourceKeepsTheRules(t *testing.T) {
	entries, err := os.ReadDir(".")
	if err != nil {
		t.Fatal(err)
	}
	rules := map[string]*regexp.Regexp{
		"a style attribute":             regexp.MustCompile(`\.Style\(|Attr\("style"`),
		"an empty alternative text":     regexp.MustCompile(`Alt\(""\)`),
		"a clock of its own":            regexp.MustCompile(`time\.(Now|Sleep|After|Tick|NewTimer|NewTicker)\(`),
		"a handler without a scope":     regexp.MustCompile(`\.(On[A-Z]\w*)\((?:h|up|down|move|gone|keys)\)|\.On(Click|Input|Change|Key\w+|Touch\w+|Mouse\w+)\(func`),
		"an address outside of the app": regexp.MustCompile(`https?://[^w]`),
	}
	only := map[string]struct {
		file string
		re   *regexp.Regexp
	}{
		"raw markup":  {"picture.go", regexp.MustCompile(`app\.Raw\(`)},
		"an anchor":   {"ui.go", regexp.MustCompile(`app\.A\(\)`)},
		"a bare link": {"ui.go", regexp.MustCompile(`\.Href\(`)},
	}
	seen := 0
	for _, e := range entries {
		if !strings.HasSuffix(e.Name(), ".go") || strings.HasSuffix(e.Name(), "_test.go") {
			continue
		}
		text, err := os.ReadFile(e.Name())
		if err != nil {
			t.Fatal(err)
		}
		seen++
		for what, re := range rules {
			if m := re.FindString(string(text)); m != "" {
				t.Errorf("%s: %s: %s", e.Name(), what, m)
			}
		}
		for what, r := range only {
			if m := r.re.FindString(string(text)); m != "" && e.Name() != r.file {
				t.Errorf("%s: %s outside of %s", e.Name(), what, r.file)
			}
		}
	}
	if seen < 20 {
		t.Fatalf("read only %d files", seen)
	}
}
