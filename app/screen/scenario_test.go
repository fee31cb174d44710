package screen

import (
	"testing"
	"time"

	"unsling/app/words"
	"unsling/engine/protocol"
	"unsling/engine/rom"
)

// The scenarios are invented: an invented clinic, an invented patient with a
// small cuff tear of the right shoulder, operated on 2 March 2026.
const (
	episodeID = rom.EpisodeID("ep-invented")
	phoneID   = rom.Author("phone-invented")
	clinicID  = rom.Author("c-invented")
	surgeon   = rom.StaffID("Dr. Invented")
)

var operated = rom.MakeDate(2026, time.March, 2)

// scene is a phone and its app on a day after the operation.
type scene struct {
	t    testing.TB
	f    *fakePhone
	a    *App
	plan rom.Plan
}

// on makes the app on a day after surgery at an hour, with every phase whose
// day has come cleared, the first run done and the plan followed.
func on(t testing.TB, day, hour int) *scene {
	t.Helper()
	f := &fakePhone{
		mono:  1000,
		about: About{Kind: Android, Name: "invented phone", Installed: true, Online: true, Languages: []string{"en"}, Version: "0123456789ab", Persisted: Yes},
		facts: Facts{
			Loaded:  true,
			Account: Account{State: Active, Clinic: "Harbour Shoulder Clinic (invented)", Phone: "+1 555 0100", Zone: "UTC"},
			Sending: Sending{Author: phoneID},
		},
	}
	f.now = operated.Add(day).Time().Add(time.Duration(hour) * time.Hour)
	s := &scene{t: t, f: f}
	t.Cleanup(func() {
		for _, name := range f.blocked {
			t.Errorf("%s blocks and was called on the UI's thread", name)
		}
	})
	s.episode(rom.Ongoing)
	s.plan = s.makePlan()
	s.addPlan(s.plan)
	for _, ph := range s.plan.Phases {
		if ph.Gate.Clearance && ph.From <= day {
			s.clear(ph.Key, operated.Add(ph.From))
		}
	}
	f.facts.Sending.Contact = f.now.Add(-time.Hour)
	f.facts.Sending.Confirmed = f.facts.Sending.Contact
	prefs := Prefs{Language: words.English, FreeHand: rom.Left, First: FirstDone, Tapped: rom.Right}
	f.kept = map[string][]byte{prefsName: prefs.encode()}
	s.start()
	return s
}

// start makes the app anew, as a launch does.
func (s *scene) start() {
	s.a = New(s.f.deps())
	a := s.a
	a.Attach(s.f.away, func(path string) { a.Arrive(path, "") })
	s.a.Start()
	s.a.Arrive("/", "")
}

func (s *scene) meta(n int, at rom.Date) rom.Meta {
	return rom.Meta{Ref: rom.Ref{Author: clinicID, N: int64(n)}, At: at.Time().Add(9 * time.Hour)}
}

func (s *scene) episode(state rom.EpisodeState) {
	h := &s.f.facts.History
	e := rom.Episode{
		ID: episodeID, Version: len(h.Episodes) + 1, State: state, Side: rom.Right, Procedures: []rom.Procedure{rom.CuffRepair},
		Surgery: operated, ConfirmedBy: surgeon, SideBy: "Second Invented", ConfirmedOn: operated, By: surgeon,
		OtherArm: []rom.Motion{rom.ForwardFlexion, rom.ERSide},
	}
	if state == rom.Planned {
		e.ConfirmedBy, e.SideBy, e.ConfirmedOn = "", "", 0
	}
	h.Episodes = append(h.Episodes, rom.Entry[rom.Episode]{Meta: s.meta(len(h.Episodes)+1, operated), Body: e})
}

func (s *scene) makePlan() rom.Plan {
	s.t.Helper()
	p, ok := protocol.ByID("cuff-repair-small-medium")
	if !ok {
		s.t.Fatal("no protocol for a small cuff tear")
	}
	p, err := protocol.Adopt(p, surgeon, operated, nil)
	if err != nil {
		s.t.Fatal(err)
	}
	e, _ := s.f.facts.History.Episode(episodeID)
	plan, err := protocol.MakePlan([]protocol.Protocol{p}, e, protocol.Choices{
		TherapyDays: []time.Weekday{time.Monday, time.Wednesday, time.Friday}, TherapyDayLess: 1,
		Contact: rom.Contact{Clinic: "Harbour Shoulder Clinic (invented)", Phone: "+1 555 0100", AfterHours: "+1 555 0199", Emergency: "911"},
		MayI:    []rom.MayI{{Phase: "passive", Activity: "shower", Answer: "yes"}, {Phase: "passive", Activity: "drive", Answer: "no"}, {Phase: "passive", Activity: "type", Answer: "ask"}},
		By:      surgeon, On: operated, Reason: "first plan",
	})
	if err != nil {
		s.t.Fatal(err)
	}
	return plan
}

// addPlan writes a revision and lets the phone follow it.
func (s *scene) addPlan(p rom.Plan) {
	h := &s.f.facts.History
	n := len(h.Plans)
	at := s.meta(100+n, operated)
	if n > 0 {
		at.At = s.f.now
	}
	h.Plans = append(h.Plans[:n:n], rom.Entry[rom.Plan]{Meta: at, Body: p})
	h.Adoptions = append(h.Adoptions, rom.Entry[rom.Adopted]{
		Meta: rom.Meta{Ref: rom.Ref{Author: phoneID, N: int64(900 + n)}, At: at.At, Rev: p.Rev}, Body: rom.Adopted{Episode: episodeID, Rev: p.Rev}})
	s.f.facts.Following = p.Rev
	s.plan = p
}

// revise changes the plan and tells the app.
func (s *scene) revise(change func(*rom.Plan)) {
	s.t.Helper()
	next := s.plan
	next.Phases = append([]rom.Phase(nil), next.Phases...)
	for i := range next.Phases {
		next.Phases[i].Limits = append([]rom.Limit(nil), next.Phases[i].Limits...)
	}
	next.Reason = "changed for the test"
	change(&next)
	p, err := s.plan.Revise(next, s.plan.Rev, s.plan.Rev+1)
	if err != nil {
		s.t.Fatal(err)
	}
	s.addPlan(p)
	s.a.Changed()
}

func (s *scene) clear(phase string, on rom.Date) {
	h := &s.f.facts.History
	n := len(h.Clearances)
	h.Clearances = append(h.Clearances, rom.Entry[rom.Clearance]{Meta: s.meta(200+n, on), Body: rom.Clearance{Episode: episodeID, Phase: phase, On: on, By: surgeon}})
}

// reading adds an own reading of the operated arm.
func (s *scene) reading(day int, m rom.Motion, angle int) {
	h := &s.f.facts.History
	n := int64(300 + len(h.Readings))
	at := operated.Add(day).Time().Add(10 * time.Hour)
	h.Readings = append(h.Readings, rom.Entry[rom.Reading]{
		Meta: rom.Meta{Ref: rom.Ref{Author: phoneID, N: n}, At: at},
		Body: rom.Reading{Episode: episodeID, Side: rom.Right, Motion: m, Class: rom.Passive, Method: rom.Photo, Position: rom.Supine, Angle: rom.Deg(angle), SE: rom.Deg(7)},
	})
}

// tick lets time pass in steps of the quick clock.
func (s *scene) tick(d time.Duration) {
	for ; d > 0; d -= quick {
		s.f.pass(quick)
		s.a.Tick()
	}
}
