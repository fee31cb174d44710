package screen

import (
	"strings"
	"testing"
	"time"

	"unsling/app/words"
	"unsling/engine/protocol"
	"unsling/engine/rom"
	"unsling/engine/schedule"
)

func (s *scene) blockHours(h int) {
	e := s.f.facts.History.Episodes
	e[len(e)-1].Body.BlockHours = h
	s.a.look()
}

func topicIDs(v daysView) string {
	var out []string
	for _, t := range v.Topics {
		out = append(out, t.ID)
	}
	return strings.Join(out, " ")
}

// TestFirstDaysByDay: the numb arm comes first while the block may work (the
// clinic sets how long), and never afterwards; before the operation only what
// two good hands can try is shown.
func TestFirstDaysByDay(t *testing.T) {
	for _, c := range []struct {
		day, hours int
		numb       bool
	}{{0, 18, true}, {1, 18, true}, {2, 18, false}, {2, 60, true}, {4, 60, false}, {1, 0, false}} {
		s := on(t, c.day, 10)
		s.blockHours(c.hours)
		if got := strings.HasPrefix(topicIDs(s.a.viewDays()), "numb"); got != c.numb {
			t.Errorf("day %d, block of %d hours: numb %v", c.day, c.hours, got)
		}
		if got := len(s.a.viewNow().Danger) == 1; got != c.numb { // above the session, too
			t.Errorf("day %d, block of %d hours: the first screen warns: %v", c.day, c.hours, got)
		}
	}
	s := on(t, 20, 10)
	s.f.facts.History = rom.History{}
	s.f.facts.Following = 0
	s.f.facts.Sending.Contact, s.f.facts.Sending.Confirmed = time.Time{}, time.Time{}
	s.episode(rom.Planned)
	s.f.now = operated.Add(-9).Time().Add(10 * time.Hour)
	s.a.look()
	if got := topicIDs(s.a.viewDays()); s.a.day.State != schedule.BeforeOp || got != "sling wash sleep dress" {
		t.Errorf("before the operation: %s", got)
	}
}

// TestHandWorkOnlyWhereAllowed: no picture and no word asks for a movement that
// is locked today.
func TestHandWorkOnlyWhereAllowed(t *testing.T) {
	s := on(t, 3, 10)
	open := s.a.handTopic()
	if len(open.Pictures) == 0 {
		t.Fatal("the scenario opens no hand work")
	}
	s.revise(func(p *rom.Plan) { p.Closed = append(p.Closed, rom.ElbowBend) })
	closed := s.a.handTopic()
	if len(closed.Pictures) != len(open.Pictures)-1 || closed.Lines[len(closed.Lines)-1] != s.a.t(words.ElbowNot) {
		t.Errorf("a locked elbow: %d pictures, %q", len(closed.Pictures), closed.Lines)
	}
	for _, d := range []int{3, 20, 100} {
		s := on(t, d, 10)
		for _, topic := range append(s.a.viewDays().Topics, s.a.viewHelper()...) {
			if len(topic.Pictures) > 2 && len(topic.Pictures) > len(topic.Lines) {
				t.Errorf("%s has more pictures than words", topic.ID)
			}
		}
	}
}

// TestWatchByDay: the signs named are those of the published watches, and none
// after their time (PAUZENBERGER2017: to day 58, IMAI2021: to day 70).
func TestWatchByDay(t *testing.T) {
	for _, day := range []int{0, 10, 30, 65, 80} {
		s := on(t, day, 10)
		want := protocol.Watch(day)
		got := s.a.watchFor(0)
		if len(got) != len(want) {
			t.Errorf("day %d: %d signs, want %d", day, len(got), len(want))
		}
		for i := range got {
			if got[i].ID != want[i].Sign || got[i].Name == "" {
				t.Errorf("day %d: %v", day, got[i])
			}
		}
	}
	if len(on(t, 10, 10).a.watchFor(0)) < 4 || len(on(t, 80, 10).a.watchFor(0)) != 0 {
		t.Error("the watches do not follow the day")
	}
}

// TestMorningAfter: asked once a day, kept as two records, answered by the
// phase's cap (P25, P26) and by whether it is more than after the session (P27).
func TestMorningAfter(t *testing.T) {
	asked := func(s *scene) bool {
		for _, x := range s.a.viewNow().Tasks {
			if x.ID == "morning" {
				return true
			}
		}
		return false
	}
	for _, c := range []struct {
		score, after int
		want         words.Text
		calls        bool
	}{{1, 1, words.MorningFine, false}, {2, 0, words.MorningEase, false}, {5, 2, words.MorningEase, false}, {7, 2, words.MorningStop, true}} {
		s := on(t, 20, 8)
		h := &s.f.facts.History
		h.Sessions = append(h.Sessions, rom.Entry[rom.Session]{Meta: rom.Meta{Ref: rom.Ref{Author: phoneID, N: 500}, At: operated.Add(19).Time()},
			Body: rom.Session{Episode: episodeID, ID: "yesterday", Due: operated.Add(19), After: &c.after}})
		s.a.look()
		if !asked(s) {
			t.Fatal("the morning is not asked about")
		}
		s.a.openMorning()
		s.a.morningScore(c.score)
		s.a.morningWorn("as-asked")
		v := s.a.viewMorning()
		found := c.calls && v.Title == s.a.t(c.want) // a danger is the headline
		for _, x := range v.Texts {
			found = found || !c.calls && x == s.a.t(c.want)
		}
		if !found || v.Calls != c.calls {
			t.Errorf("%d after %d: %q, %q, calls %v", c.score, c.after, v.Title, v.Texts, v.Calls)
		}
		if len(s.f.appended) != 2 {
			t.Fatalf("%d records", len(s.f.appended))
		}
		p, w := s.f.appended[0].(rom.Pain), s.f.appended[1].(rom.SlingReport)
		if p.When != rom.PainNextDay || p.Score != c.score || p.Validate() != nil || w.Day != operated.Add(19) || w.Worn != "as-asked" || w.Validate() != nil {
			t.Errorf("kept %+v, %+v", p, w)
		}
		s.a.Arrive("/", "")
		if asked(s) {
			t.Error("asked twice on one day")
		}
	}
	s := on(t, 20, 8)
	s.a.openMorning()
	s.f.full = ErrFull
	s.a.morningScore(3)
	if v := s.a.viewMorning(); v.Step != morningPain || s.a.notice == "" {
		t.Error("a score that was not kept went on as if it were")
	}
}

// TestMayIIsNeverComputed: what the clinic wrote for this phase and nothing
// else, whatever the day.
func TestMayIIsNeverComputed(t *testing.T) {
	for _, day := range []int{3, 30, 60, 100, 200} {
		s := on(t, day, 10)
		list := s.a.mayIList()
		n := 0
		for _, m := range s.plan.MayI {
			if m.Phase == s.a.day.Phase.Key {
				n++
			}
		}
		if len(list) != n {
			t.Errorf("day %d: %d answers, the clinic wrote %d", day, len(list), n)
		}
	}
}

// TestWhoStoppedIt and who read it: names where the clinic signed, the clinic's
// name where it did not.
func TestWhoDidIt(t *testing.T) {
	s := on(t, 20, 10)
	s.revise(func(p *rom.Plan) {
		p.State, p.Why, p.On = rom.Stopped, "We want to see you first.", operated.Add(20)
		p.Signed = rom.Signature{Name: "Ada Vega", Role: "surgeon"}
	})
	v := s.a.viewNow()
	if all := strings.Join(v.Text, "\n"); !strings.Contains(all, "By Ada Vega (surgeon), today.") || !v.Calls {
		t.Errorf("a stop says %q", v.Text)
	}
	s = on(t, 20, 10)
	s.a.chooseSign(rom.SignWound)
	s.a.sendSign(false)
	ref := *s.a.help.sent
	seen := rom.Seen{What: ref, By: "st-1", Signed: rom.Signature{Name: "Tom Quill", Role: "therapist"}}
	s.f.facts.History.Seens = append(s.f.facts.History.Seens, rom.Entry[rom.Seen]{Meta: s.meta(77, operated.Add(20)), Body: seen})
	s.a.look()
	if got := s.a.progressOf(ref); !strings.Contains(got, "Tom Quill (therapist)") {
		t.Errorf("read by: %q", got)
	}
}

// TestLearnShowsNoLockedStart: before the operation exercises are looked at,
// nothing can be begun or recorded.
func TestLearnRecordsNothing(t *testing.T) {
	s := on(t, 20, 10)
	s.f.facts.History = rom.History{}
	s.f.facts.Following = 0
	s.f.facts.Sending.Contact, s.f.facts.Sending.Confirmed = time.Time{}, time.Time{}
	s.episode(rom.Planned)
	s.f.now = operated.Add(-9).Time().Add(10 * time.Hour)
	s.a.look()
	s.a.openLearn()
	n := len(s.a.learnable())
	if n < 3 {
		t.Fatalf("%d exercises to look at", n)
	}
	for range n + 1 {
		s.tick(5 * time.Second)
		if s.a.Ticking() {
			t.Error("the picture moves on for more than five seconds (WCAG 2.2, 2.2.2)")
		}
		s.a.learnStep(1)
	}
	s.a.learnSound()
	if s.a.learn.at != 1 || len(s.f.appended) != 0 || s.a.session.waits() {
		t.Errorf("at %d, %d records", s.a.learn.at, len(s.f.appended))
	}
}

// TestPlanOfANewerApp: a plan that cannot be read closes everything, says what
// to do and shows the number; nothing of an older plan goes on.
func TestPlanOfANewerApp(t *testing.T) {
	s := on(t, 20, 10)
	s.a.startMain()
	s.a.sessionPain(1)
	s.f.facts.NeedsUpdate = true
	s.a.Changed()
	if s.a.session.running() || !final(s.a.session.view.State) {
		t.Error("a session goes on by a plan that was replaced")
	}
	s.a.Arrive("/", "")
	v := s.a.viewNow()
	if v.Title != s.a.t(words.UpdateMust) || !v.Calls || v.Main != "" || len(v.May) > 0 {
		t.Errorf("the first screen: %+v", v)
	}
}

// TestNumberWhileTheDiskHangs: before the journal answers the number of an
// earlier start can be called.
func TestNumberWhileTheDiskHangs(t *testing.T) {
	s := on(t, 20, 10)
	s.f.facts = Facts{}
	s.f.about.LastClinic, s.f.about.LastPhone = "Harbour Shoulder Clinic (invented)", "+1 555 0100"
	s.start()
	if d := document(s.a, ""); !strings.Contains(d, "tel:+15550100") || !strings.Contains(d, s.a.t(words.Loading)) {
		t.Error("no number while the disk hangs")
	}
}

// TestPainRulesAreOneRule: every score has exactly one answer, by the phase's
// cap and the published 6 (P25, P26).
func TestPainRulesAreOneRule(t *testing.T) {
	s := on(t, 20, 10)
	for limit, want := range map[int]string{
		3: "0 to 3: go on gently. 4 to 5: rest, then go less far. 6 or more: stop for now.",
		2: "0 to 2: go on gently. 3 to 5: rest, then go less far. 6 or more: stop for now.",
		5: "0 to 5: go on gently. 6 or more: stop for now.",
	} {
		if got := strings.Join(s.a.painRules(limit), " "); got != want {
			t.Errorf("cap %d: %q", limit, got)
		}
	}
}

// TestForbiddenByProcedure: the page of what the arm must not do names the
// operation and every forbidden thing of the phase.
func TestForbiddenByProcedure(t *testing.T) {
	s := on(t, 3, 10)
	lines := strings.Join(s.a.notTopic().Lines, "\n")
	if !strings.Contains(lines, words.Procedure(words.English, rom.CuffRepair)) {
		t.Errorf("the operation is not named: %s", lines)
	}
	for _, f := range s.a.day.Forbidden {
		if w := words.Forbidden(words.English, f); f != "active-lifting" && !strings.Contains(lines, w) {
			t.Errorf("%q is missing", w)
		}
	}
}
