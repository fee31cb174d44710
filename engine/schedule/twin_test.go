package schedule

import (
	"fmt"
	"testing"
	"time"

	"pgregory.net/rapid"

	"unsling/engine/protocol"
	"unsling/engine/rom"
)

// A slow and obvious twin: it lives through every day from the operation on,
// as a receptionist with a calendar would, and crosses off what is done.

type twinDay struct {
	phase    string
	since    rom.Date
	locked   map[rom.ExerciseID]bool
	sessions []string
}

func twin(p rom.Plan, e rom.Episode, acts []rom.Clearance, therapy map[rom.Date]bool, today rom.Date) twinDay {
	granted := map[string]rom.Date{}
	for _, a := range acts { // in the order in which one clinic wrote them
		if a.On > today {
			continue
		}
		latest := true
		for _, b := range acts {
			if b.Phase == a.Phase && b.On <= today && b.On > a.On {
				latest = false
			}
		}
		if !latest {
			continue
		}
		delete(granted, a.Phase)
		if !a.Withdrawn {
			granted[a.Phase] = a.On
		}
	}
	out := twinDay{since: e.Surgery, locked: map[rom.ExerciseID]bool{}}
	at := -1
	for day := e.Surgery; day <= today; day++ {
		for at+1 < len(p.Phases) {
			next := p.Phases[at+1]
			if day.Sub(e.Surgery) < next.From {
				break
			}
			if next.Gate.Clearance && next.Gate.Waived == "" {
				on, ok := granted[next.Key]
				if !ok || day < on {
					break
				}
			}
			at++
			out.since = day
		}
	}
	if at < 0 {
		return out
	}
	ph := p.Phases[at]
	out.phase = ph.Key
	for _, ex := range protocol.Catalogue() {
		shut := false
		for _, l := range ex.Locks {
			for _, done := range e.Procedures {
				if l.Procedure == done && (l.Until == 0 || today < e.Surgery.Add(l.Until)) {
					shut = true
				}
			}
		}
		for _, o := range p.Opened {
			if o == ex.ID {
				shut = false
			}
		}
		for _, c := range p.Closed {
			if c == ex.ID {
				shut = true
			}
		}
		permitted := len(ex.Motions) == 0 && !ex.Shoulder
		for _, l := range ph.Limits {
			if l.Class < ex.Class {
				continue
			}
			if ex.Shoulder && len(ex.Motions) == 0 && l.Motion != rom.ElbowFlexion && l.Motion != rom.ElbowExtension && l.Motion != rom.ForearmRotation {
				permitted = true
			}
			for _, m := range ex.Motions {
				if l.Motion == m {
					permitted = true
				}
			}
		}
		for _, m := range ex.Also {
			if ph.Limit(m).Class < ex.Class {
				permitted = false
			}
		}
		out.locked[ex.ID] = shut || !permitted
	}
	most := 0
	var open []rom.Prescription
	for _, x := range ph.Prescriptions {
		ex, _ := protocol.Lookup(x.Exercise)
		fits := x.Motion == "" && len(ex.Motions) == 0
		for _, m := range ex.Motions {
			if (x.Motion == "" || x.Motion == m) && ph.Limit(m).Class >= ex.Class {
				fits = true
			}
		}
		if !out.locked[x.Exercise] && fits {
			open = append(open, x)
			most = max(most, x.Dose.PerDay)
		}
	}
	for most > 1 && most*p.LeastGap > p.WakeTo-p.WakeFrom {
		most--
	}
	used := make([]int, len(open))
	for i := 1; i <= most; i++ {
		s := ""
		for j, x := range open {
			share := float64(min(x.Dose.PerDay, most)) * float64(i) / float64(most)
			if float64(used[j]) < share-1e-9 {
				used[j]++
				s += string(x.Exercise) + " "
			}
		}
		out.sessions = append(out.sessions, s)
	}
	if therapy[today] {
		out.sessions = out.sessions[:max(0, len(out.sessions)-p.TherapyDayLess)]
	}
	return out
}

// randomPlan draws phases whose classes rise behind gates, with rows and
// prescriptions that need not agree.
func randomPlan(r *rapid.T) rom.Plan {
	src := rom.Source{Key: "OWN", Mark: rom.Clinic}
	p := rom.Plan{Episode: ep, Rev: 1, By: "dr-example", On: surgery, State: rom.Running, Reason: "x",
		WakeFrom: rapid.IntRange(0, 600).Draw(r, "wake"), LeastGap: rapid.IntRange(0, 300).Draw(r, "gap"),
		TherapyDayLess: rapid.IntRange(0, 3).Draw(r, "less"), Contact: rom.Contact{Phone: "0"}}
	p.WakeTo = p.WakeFrom + rapid.IntRange(240, 840).Draw(r, "awake")
	p.TherapyDays = []time.Weekday{time.Weekday(rapid.IntRange(0, 6).Draw(r, "weekday"))}
	exercise := rapid.SampledFrom(rom.Exercises)
	p.Opened = rapid.SliceOfNDistinct(exercise, 0, 2, rapid.ID).Draw(r, "opened")
	p.Closed = rapid.SliceOfNDistinct(exercise, 0, 2, rapid.ID).Draw(r, "closed")
	from := 0
	for i := range rapid.IntRange(1, 6).Draw(r, "phases") {
		ph := rom.Phase{Key: fmt.Sprint("p", i), From: from, Sling: rom.SlingOff, PainCap: 3, Basis: src}
		from += rapid.IntRange(0, 40).Draw(r, "days")
		for _, m := range rom.Motions {
			if c := rom.Class(rapid.IntRange(0, 4).Draw(r, "class")); c > 0 {
				ph.Limits = append(ph.Limits, rom.Limit{Motion: m, Class: c, Open: true, From: src})
			}
		}
		for _, e := range rapid.SliceOfNDistinct(exercise, 0, 5, rapid.ID).Draw(r, "exercises") {
			x := rom.Prescription{Exercise: e, Dose: rom.Dose{Reps: 3, PerDay: rapid.IntRange(1, 6).Draw(r, "a day")}, From: src}
			if rapid.Bool().Draw(r, "with a motion") {
				x.Motion = rapid.SampledFrom(rom.Motions).Draw(r, "motion")
			}
			ph.Prescriptions = append(ph.Prescriptions, x)
		}
		ph.Gate.Clearance = i > 0 && (ph.RaisesClass(p.Phases[i-1]) || rapid.Bool().Draw(r, "gate"))
		if ph.Gate.Clearance && rapid.IntRange(0, 4).Draw(r, "waived") == 0 {
			ph.Gate.Waived = "dr-example"
		}
		p.Phases = append(p.Phases, ph)
	}
	return p
}

func TestTwin(t *testing.T) {
	phases, sessions := map[string]int{}, 0
	rapid.Check(t, func(r *rapid.T) {
		e := episodeOf(rapid.SliceOfNDistinct(rapid.SampledFrom(rom.Procedures), 1, 3, rapid.ID).Draw(r, "procedures")...)
		p := randomPlan(r)
		if err := p.Validate(); err != nil {
			r.Fatal(err)
		}
		h := rom.History{
			Episodes: []rom.Entry[rom.Episode]{{Meta: meta("c-1", 1, 0, 0), Body: e}},
			Plans:    []rom.Entry[rom.Plan]{{Meta: meta("c-1", 2, 0, 0), Body: p}},
		}
		var acts []rom.Clearance
		for i, ph := range p.Phases {
			for range rapid.IntRange(0, 2).Draw(r, "acts") {
				c := rom.Clearance{Episode: ep, Phase: ph.Key, On: surgery.Add(rapid.IntRange(-5, 200).Draw(r, "on")), By: "dr-example"}
				c.Withdrawn = rapid.IntRange(0, 3).Draw(r, "withdrawn") == 0
				acts = append(acts, c)
				h.Clearances = append(h.Clearances, rom.Entry[rom.Clearance]{Meta: meta("c-1", int64(10+len(acts)), i, 0), Body: c})
			}
		}
		therapy := map[rom.Date]bool{}
		for range rapid.IntRange(0, 3).Draw(r, "therapies") {
			on := surgery.Add(rapid.IntRange(0, 250).Draw(r, "therapy"))
			therapy[on] = true
			h.Therapies = append(h.Therapies, rom.Entry[rom.Therapy]{Body: rom.Therapy{Episode: ep, On: on, Outcome: "attended", By: "pt-example"}})
		}
		days := []rom.Date{surgery.Add(rapid.IntRange(0, 250).Draw(r, "today"))}
		for on := range therapy {
			days = append(days, on)
		}
		for _, today := range days {
			want := twin(p, e, acts, therapy, today)
			got := On(h, ep, today, 0, With{})
			if got.State != Running || got.Phase.Key != want.phase || (got.InPhase && got.Since != want.since) {
				r.Fatalf("day %d: %s %q since %s, the twin says %q since %s", got.Number, got.State, got.Phase.Key, got.Since, want.phase, want.since)
			}
			phases[want.phase]++
			if want.phase == "" {
				continue
			}
			for id, locked := range want.locked {
				if got.Exercise(id).Locked != locked {
					r.Fatalf("day %d: %s locked %v (%s), the twin says %v", got.Number, id, got.Exercise(id).Locked, got.Exercise(id).Why, locked)
				}
			}
			var slots []string
			for _, x := range got.Due {
				s := ""
				for _, rx := range x.Prescriptions {
					s += string(rx.Exercise) + " "
				}
				slots = append(slots, s)
			}
			if fmt.Sprint(slots) != fmt.Sprint(want.sessions) {
				r.Fatalf("day %d: sessions %q, the twin says %q", got.Number, slots, want.sessions)
			}
			sessions += len(slots)
		}
	})
	if len(phases) < 4 || sessions < 50 {
		t.Fatalf("the random plans reached only phases %v and %d sessions", phases, sessions)
	}
}

// TestRangeEnds asks for the last dates that a Date can hold, where counting
// on would never end.
func TestRangeEnds(t *testing.T) {
	const last = rom.Date(1<<31 - 1)
	if n := len(Range(rom.History{}, "e", last-1, last, With{})); n != 2 {
		t.Errorf("%d days, want 2", n)
	}
	if n := len(Range(rom.History{}, "e", -last, last, With{})); n != 0 {
		t.Errorf("%d days of an endless range, want none", n)
	}
}

func TestNeverPanics(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		h := history(t, rapid.SampledFrom(rom.Procedures).Draw(r, "procedure"))
		date := rapid.OneOf(rapid.Int32(), rapid.Int32Range(20000, 21000))
		d := func(label string) rom.Date { return rom.Date(date.Draw(r, label)) }
		e, p := &h.Episodes[0].Body, &h.Plans[0].Body
		e.Surgery, e.ConfirmedOn, p.On = d("surgery"), d("confirmed"), d("plan")
		p.LeastGap = rapid.Int().Draw(r, "gap")
		p.WakeFrom, p.WakeTo = rapid.Int().Draw(r, "wake"), rapid.Int().Draw(r, "sleep")
		if rapid.Bool().Draw(r, "valid hours") {
			p.LeastGap, p.WakeFrom, p.WakeTo = 0, 0, 1440
		}
		p.TherapyDayLess = rapid.IntRange(-3, 15).Draw(r, "less")
		for i := range p.Phases {
			p.Phases[i].From = rapid.IntRange(-10, 800).Draw(r, "from")
			for j := range p.Phases[i].Prescriptions {
				p.Phases[i].Prescriptions[j].Dose.PerDay = rapid.IntRange(-2, 14).Draw(r, "per day")
			}
		}
		h.Sessions = []rom.Entry[rom.Session]{{Body: rom.Session{Episode: ep, Due: d("due"), Slot: rapid.Int().Draw(r, "slot"),
			Items: []rom.SessionItem{{Exercise: "x", Dose: rom.Dose{Reps: -5}, Holds: []rom.Hold{{Tenths: -9, Counted: true}}}}}}}
		h.Readings = []rom.Entry[rom.Reading]{{Body: rom.Reading{Episode: ep, Motion: rom.ForwardFlexion, Side: rom.Right, On: d("reading")}}}
		minute := rapid.OneOf(rapid.Int(), rapid.IntRange(0, 1440)).Draw(r, "minute")
		today := d("today")
		got := On(h, ep, today, minute, With{LastContact: d("contact")})
		if minute < 0 || minute > 1440 {
			if got.State != CannotSay {
				r.Fatalf("minute %d: %s", minute, got.State)
			}
		}
		if got.State == CannotSay {
			for _, m := range got.Motions {
				if !m.Locked {
					r.Fatalf("cannot say, and yet %s is open", m.Motion)
				}
			}
		}
		from := d("from")
		if n := len(Range(h, ep, from, from.Add(rapid.IntRange(-2, 3).Draw(r, "days")), With{})); n > 4 {
			r.Fatalf("%d days", n)
		}
	})
}
