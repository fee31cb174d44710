package screen

import (
	"slices"
	"strings"
	"testing"
	"time"

	"unsling/app/words"
	"unsling/engine/rom"
)

func TestWeekTellsWhatWentWellAndNothingElse(t *testing.T) {
	s := on(t, 60, 10)
	s.reading(48, rom.ForwardFlexion, 84)
	s.reading(58, rom.ForwardFlexion, 106) // 22 degrees more: beyond 1.96 * sqrt 2 * 7 (gonio.MDC95)
	s.reading(48, rom.ERSide, 10)
	s.reading(58, rom.ERSide, 16) // within the error of measuring
	s.a.look()
	well := strings.Join(s.a.viewWeekly().Well, "|")
	if !strings.Contains(well, "22 degrees more") || strings.Contains(well, "6 degrees") {
		t.Errorf("what went well: %s", well)
	}
	for _, m := range []int{-1, 0} { // what is past a limit is never praised
		s := on(t, 60, 10)
		s.reading(48, rom.ForwardFlexion, 84)
		limit := s.a.day.Motion(rom.ForwardFlexion).Limit.Ceiling.Whole()
		s.reading(60+m, rom.ForwardFlexion, limit+30)
		s.a.look()
		if well := strings.Join(s.a.viewWeekly().Well, "|"); strings.Contains(well, "more than") {
			t.Errorf("praise for %d degrees with a limit of %d: %s", limit+30, limit, well)
		}
	}
	quiet := on(t, 20, 10).a.viewWeekly()
	if len(quiet.Well) != 2 || !strings.Contains(quiet.Well[1], "Each week is new") {
		t.Errorf("a quiet week: %q", quiet.Well)
	}
}

func TestNightsAreAskedOnceAWeek(t *testing.T) {
	s := on(t, 20, 10)
	if !s.a.viewWeekly().Night {
		t.Fatal("the nights are not asked")
	}
	s.a.askNights()
	s.a.keepNights()
	if len(s.f.appended) != 0 {
		t.Fatal("kept without an answer")
	}
	s.a.setNight(0)
	s.a.setSleep(rom.SleptWoke)
	s.a.setMedicine(false)
	s.f.full = ErrFull
	s.a.keepNights()
	if v := s.a.viewWeekly(); v.Problem == "" || s.a.weekly.sleep != rom.SleptWoke {
		t.Errorf("a full phone: %+v, what was told is gone: %+v", v, s.a.weekly)
	}
	s.f.full = nil
	s.a.keepNights()
	no := false
	want := rom.Pain{Episode: episodeID, Score: 0, When: rom.PainAtNight, Sleep: rom.SleptWoke, Medicine: &no}
	got, ok := s.f.appended[0].(rom.Pain)
	if !ok || got.Score != want.Score || got.When != want.When || got.Sleep != want.Sleep || got.Medicine == nil || *got.Medicine || got.Validate() != nil {
		t.Errorf("kept %+v, want %+v", s.f.appended, want)
	}
	if v := s.a.viewWeekly(); v.Night || v.Told == "" {
		t.Errorf("asked again at once: %+v", v)
	}
	s.f.now = s.f.now.Add(8 * 24 * time.Hour)
	s.a.look()
	if !s.a.viewWeekly().Night {
		t.Error("not asked again after a week")
	}
}

func TestQuestionsForTheVisit(t *testing.T) {
	s := on(t, 20, 10)
	s.a.askForVisit()
	s.a.weekly.text = "  "
	s.a.keepForVisit()
	if s.a.weekly.problem == "" || len(s.f.appended) != 0 {
		t.Error("an empty question was kept")
	}
	s.a.weekly.text = " May I drive? "
	s.a.keepForVisit()
	if q, ok := s.f.appended[0].(rom.Question); !ok || q.Text != "May I drive?" || q.For != rom.ForVisit || q.Validate() != nil {
		t.Errorf("kept %+v", s.f.appended)
	}
	v := s.a.viewWeekly()
	if len(v.Take) != 1 || !strings.Contains(v.Take[0].State, "Nobody has read it yet.") {
		t.Errorf("to take there: %+v", v.Take)
	}
	h := &s.f.facts.History // once the visit has been, they are done with
	h.Visits = append(h.Visits, rom.Entry[rom.Visit]{Meta: s.meta(70, s.a.day.Date.Add(1)), Body: rom.Visit{Episode: episodeID, On: s.a.day.Date.Add(1), By: surgeon}})
	s.f.now = s.f.now.Add(48 * time.Hour)
	s.a.look()
	if v := s.a.viewWeekly(); len(v.Take) != 0 {
		t.Errorf("after the visit: %+v", v.Take)
	}
}

func TestRemindersFollowThePlanUntilChosen(t *testing.T) {
	s := on(t, 20, 10)
	plan := s.a.reminderTimes()
	if len(plan) == 0 || !slices.IsSorted(plan) {
		t.Fatalf("times of the plan: %v", plan)
	}
	for _, m := range plan { // inside the part of the day that belongs to a session
		in := false
		for i := range 7 {
			for _, d := range s.a.on(s.f.facts.History, s.a.episode, s.a.day.Date.Add(i), 0, s.a.with()).Due {
				in = in || m >= d.From-reminderStep && m < d.To
			}
		}
		if !in {
			t.Errorf("%s lies in no session's time", clockOf(m))
		}
	}
	s.a.moveTime(plan[0], -reminderStep)
	if got := s.a.reminderTimes(); got[0] != plan[0]-reminderStep || !s.a.viewReminders().Plan {
		t.Errorf("a quarter of an hour earlier: %v", got)
	}
	s.a.planTimes()
	if !slices.Equal(s.a.reminderTimes(), plan) {
		t.Error("back to the plan's times")
	}
	for range 9 {
		s.a.moreTime()
	}
	if n := len(s.a.reminderTimes()); n != mostTimes {
		t.Errorf("%d times", n)
	}
	s.a.setTimes([]int{0})
	s.a.moveTime(0, -reminderStep)
	if got := s.a.reminderTimes(); !slices.Equal(got, []int{23*60 + 45}) {
		t.Errorf("earlier than midnight: %v", got)
	}
}

// TestReminderFilesFollowOneAnother: the same ids for ever, a higher sequence
// with each file, and what falls away is taken out (RFC 5545, 3.8.4.7, 3.8.7.4).
func TestReminderFilesFollowOneAnother(t *testing.T) {
	s := on(t, 20, 10)
	field := func(name string) (out []string) {
		for _, l := range strings.Split(string(s.f.file), "\r\n") {
			if v, ok := strings.CutPrefix(l, name+":"); ok {
				out = append(out, v)
			}
		}
		return out
	}
	s.a.setTimes([]int{540, 780, 1020})
	s.a.saveReminders()
	first := field("UID")
	if len(first) != 3 || !slices.Equal(field("SEQUENCE"), []string{"0", "0", "0"}) || len(field("ACTION")) != 3 {
		t.Fatalf("the first file:\n%s", s.f.file)
	}
	s.a.setTimes([]int{555})
	if v := s.a.viewReminders(); v.Old == "" {
		t.Error("the calendar has other times, and the page does not say so")
	}
	s.a.saveReminders()
	if !slices.Equal(field("UID"), first) || !slices.Equal(field("SEQUENCE"), []string{"1", "1", "1"}) || !slices.Equal(field("STATUS"), []string{"CONFIRMED", "CANCELLED", "CANCELLED"}) {
		t.Errorf("the second file:\n%s", s.f.file)
	}
	if v := s.a.viewReminders(); v.Old != "" || !v.Given {
		t.Errorf("after it: %+v", v)
	}
	s.a.stopReminders()
	if !slices.Equal(field("STATUS"), []string{"CANCELLED", "CANCELLED", "CANCELLED"}) || !slices.Equal(field("METHOD"), []string{"CANCEL"}) {
		t.Errorf("the last file:\n%s", s.f.file)
	}
	// it survives the app
	again := readPrefs(s.a.prefs.encode(), s.f.about)
	if again.Reminders.ID == "" || again.Reminders.Sequence != 2 || again.Reminders.Most != 3 {
		t.Errorf("kept: %+v", again.Reminders)
	}
}

// TestReminderWordsAreNeutral: a lock screen shows them to everybody.
func TestReminderWordsAreNeutral(t *testing.T) {
	s := on(t, 20, 10)
	for _, l := range words.Langs {
		s.a.prefs.Language = l
		s.a.saveReminders()
		low := strings.ToLower(strings.ReplaceAll(string(s.f.file), "\r\n ", ""))
		for _, line := range strings.Split(low, "\r\n") {
			if !strings.HasPrefix(line, "summary") && !strings.HasPrefix(line, "description") {
				continue
			}
			for _, bad := range []string{"shoulder", "hombro", "arm", "brazo", "exercis", "ejerc", "clinic", "clínica", "pain", "dolor", "surg", "operac", "stretch", "estir", "unsling", "session", "sesión"} {
				if strings.Contains(line, bad) && !strings.Contains(line, "alarm") {
					t.Errorf("%s: %q says %q", l, line, bad)
				}
			}
		}
	}
}

func TestOpenAppRemindsOnceAndOnlyWhenASessionWaits(t *testing.T) {
	s := on(t, 20, 9)
	s.a.setTimes([]int{9*60 + 15})
	s.f.pass(16 * time.Minute)
	s.a.Changed()
	if s.a.notice != "" {
		t.Fatal("reminded without being asked to")
	}
	s.a.setRemindOpen(true)
	s.a.Changed()
	if s.a.notice != words.RemindNow.In(words.English) {
		t.Fatalf("not reminded: %q", s.a.notice)
	}
	s.a.notice = ""
	s.f.pass(time.Minute)
	s.a.Changed()
	if s.a.notice != "" {
		t.Error("reminded twice")
	}
	s = on(t, 20, 9)
	s.a.setTimes([]int{9*60 + 15})
	s.a.setRemindOpen(true)
	s.revise(func(p *rom.Plan) { p.State, p.Why = rom.Stopped, "Stop." })
	s.f.pass(16 * time.Minute)
	s.a.Changed()
	if s.a.notice == words.RemindNow.In(words.English) {
		t.Error("reminded of a session although the plan is stopped")
	}
}

// TestNumberStandsWhenTheRecordsAreGone: a browser that removed them has left
// what the page before the program remembers.
func TestNumberStandsWhenTheRecordsAreGone(t *testing.T) {
	s := on(t, 20, 10)
	s.f.facts = Facts{Loaded: true, Trouble: TroubleLost}
	s.f.about.LastClinic, s.f.about.LastPhone = "Harbour Shoulder Clinic (invented)", "+1 555 0100"
	s.start()
	if _, number := s.a.clinic(); number != "+1 555 0100" {
		t.Errorf("the number is %q", number)
	}
	if line := s.a.troubleLine(); !strings.Contains(line, "new code") {
		t.Errorf("what happened: %q", line)
	}
}
