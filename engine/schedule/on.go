package schedule

import (
	"unsling/engine/protocol"
	"unsling/engine/rom"
)

// staleAfter is how many days without contact make the plan unconfirmed.
const staleAfter = 14

// farthest is how many days from surgery a day can be spoken of: a clock
// years off is a fault of the clock.
const farthest = 20 * 366

// On says what the phone shows on a date at a minute after midnight (0 to
// 1440), both in the patient's zone. It never panics: what cannot be said has
// State CannotSay and permits nothing.
func On(h rom.History, ep rom.EpisodeID, today rom.Date, minute int, with With) Day {
	return on(h, ep, today, minute, with, 1<<31-1)
}

// on is On with reports after a date left out.
func on(h rom.History, ep rom.EpisodeID, today rom.Date, minute int, with With, reports rom.Date) Day {
	d := Day{Date: today, Minute: minute, ContactDays: -1}
	d.Episode, _ = h.Episode(ep)
	d.State, d.Problem = stateOf(h, ep, today, minute, with, &d)
	d.contact(today, with)
	d.Practice = practice(h, &d, with)
	if d.State == Running || d.State == Paused || d.State == Halted || d.State == Stopped {
		halts := Halts(h, ep)
		if with.Told != nil {
			halts = append(halts, *with.Told)
		}
		if d.State != Stopped {
			for i := range halts {
				if halts[i].On <= reports {
					d.State, d.Halt = Halted, &halts[i]
					break
				}
			}
		}
		d.phase(h, today, with.LastContact)
	}
	d.motions(with)
	d.exercises()
	d.therapy(h, today)
	if d.State == Running && d.InPhase {
		d.due(h, today, minute)
		d.measures(h, today)
		d.PainRest = painRest(h, with, &d)
		d.rest()
	}
	return d
}

// stateOf decides how far the episode has come and fills in plan and days.
func stateOf(h rom.History, ep rom.EpisodeID, today rom.Date, minute int, with With, d *Day) (State, string) {
	e := d.Episode
	if e.Version == 0 {
		return CannotSay, "there is no such episode"
	}
	if err := e.Validate(); err != nil {
		return CannotSay, "the episode is not valid: " + err.Error()
	}
	if today < rom.MakeDate(1900, 1, 1) || today > rom.MakeDate(2199, 12, 31) || today.IsZero() {
		return CannotSay, "the date lies outside the years 1900 to 2199"
	}
	if minute < 0 || minute > 24*60 {
		return CannotSay, "the minute lies outside the day"
	}
	d.Plan, _ = h.Plan(ep)
	switch {
	case e.State.Ended():
		return Ended, ""
	case e.Postponed:
		return Postponed, ""
	}
	if !e.Surgery.IsZero() {
		n := today.Sub(e.Surgery)
		if n > farthest || n < -farthest {
			return CannotSay, "the date lies more than twenty years from the operation"
		}
		d.Dated, d.Number = true, n
		d.Week = n / 7
		if n < 0 {
			d.Week = 0
		}
	}
	before := !d.Dated || d.Number < 0
	switch {
	case before && e.State.Operated():
		// The arm was operated on, whatever the clock says: nothing is free.
		d.Dated, d.Number, d.Week = false, 0, 0
		return CannotSay, "the date lies before the operation, which is confirmed"
	case before && (!d.Dated || with.LastContact < e.Surgery):
		d.Baseline = d.Plan.Rev == 0 || d.Plan.State == rom.Running
		return BeforeOp, ""
	case !e.State.Operated():
		return NotConfirmed, ""
	case d.Plan.Rev == 0:
		return NoPlan, ""
	}
	if err := d.Plan.Validate(); err != nil {
		return CannotSay, "the plan is not valid: " + err.Error()
	}
	switch d.Plan.State {
	case rom.Stopped:
		d.Why = d.Plan.Why
		return Stopped, ""
	case rom.Paused:
		d.Why = d.Plan.Why
		return Paused, ""
	}
	return Running, ""
}

// contact judges the age of the plan and the clock.
func (d *Day) contact(today rom.Date, with With) {
	if !with.LastContact.IsZero() {
		d.ContactDays = max(today.Sub(with.LastContact), 0)
		d.Stale = d.ContactDays >= staleAfter
	}
	for _, dated := range []rom.Date{with.LastContact, d.Plan.On, d.Episode.ConfirmedOn} {
		if today < dated {
			d.ClockBehind = true
		}
	}
}

// phase finds the phase in force and the next one.
func (d *Day) phase(h rom.History, today, contact rom.Date) {
	cleared := func(key string) (rom.Date, bool) {
		since, ok := h.Cleared(d.Episode.ID, key, today)
		if ok && !contact.IsZero() {
			// What was taken back by the last contact holds though the date
			// here is behind the clinic's: a day for zones.
			_, ok = h.Cleared(d.Episode.ID, key, max(today, contact).Add(1))
		}
		return since, ok
	}
	i, since := inForce(d.Plan, d.Episode.Surgery, today, cleared)
	if d.Sling = rom.SlingAlways; i >= 0 {
		d.InPhase, d.Phase, d.Since = true, d.Plan.Phases[i], since
		d.Sling, d.Forbidden, d.PainCap = d.Phase.Sling, d.Phase.Forbidden, d.Phase.PainCap
		for _, m := range d.Plan.MayI {
			if m.Phase == d.Phase.Key {
				d.MayI = append(d.MayI, m)
			}
		}
	}
	if i+1 >= len(d.Plan.Phases) {
		return
	}
	next := d.Plan.Phases[i+1]
	n := Next{Phase: next, Earliest: d.Episode.Surgery.Add(next.From), Waits: ForDate, Review: next.Gate.Review}
	if next.NeedsClearance() {
		if _, ok := cleared(next.Key); !ok {
			n.Waits = ForBoth
			if n.Earliest <= today {
				n.Waits = ForClearance
			}
		}
	}
	d.Next = &n
}

// inForce returns the phase in force on a day, -1 for none, and since when. A
// phase begins on the first day on which its day has come, all before it have
// begun and it is cleared where it must be.
func inForce(p rom.Plan, surgery, today rom.Date, cleared func(key string) (rom.Date, bool)) (at int, since rom.Date) {
	at, start := -1, surgery
	for i, ph := range p.Phases {
		begin := max(start, surgery.Add(ph.From))
		if ph.NeedsClearance() {
			on, ok := cleared(ph.Key)
			if !ok {
				break
			}
			begin = max(begin, on)
		}
		if begin > today {
			break
		}
		at, since, start = i, begin, begin
	}
	return at, since
}

// motions fills in what each motion may do.
func (d *Day) motions(with With) {
	reason := stateReason(d.State)
	if d.State == NotConfirmed || d.State == NoPlan || d.State == CannotSay {
		d.Sling = rom.SlingAlways
	}
	d.Motions = make([]Allowance, 0, len(rom.Motions))
	for _, m := range rom.Motions {
		a := Allowance{Motion: m, Limit: rom.Limit{Motion: m}, Locked: true, Why: reason, Error: DefaultError}
		if with.Error != nil {
			a.Error = max(with.Error(m), 0)
		}
		if reason == NotLocked || reason == WhyPaused {
			a.Limit = d.Phase.Limit(m)
			a.Locked = a.Limit.Class == rom.Locked
			a.Why = NotLocked
			if a.Locked {
				a.Why = d.motionReason(m)
			}
			if !a.Locked && !a.Limit.Open && !m.ByLevel() {
				a.Aim, a.HasAim = a.Limit.Ceiling-a.Error, true
			}
		}
		d.Motions = append(d.Motions, a)
	}
}

func (d *Day) motionReason(m rom.Motion) Reason {
	for _, ph := range d.later() {
		if ph.Limit(m).Class != rom.Locked {
			return WhyNotYet
		}
	}
	return WhyMotion
}

// later returns the phases after the one in force.
func (d *Day) later() []rom.Phase {
	for i, ph := range d.Plan.Phases {
		if d.Next != nil && ph.Key == d.Next.Phase.Key {
			return d.Plan.Phases[i:]
		}
	}
	return nil
}

// stateReason is why everything is locked in a state; NotLocked when the
// phase decides.
func stateReason(s State) Reason {
	switch s {
	case Running:
		return NotLocked
	case Paused:
		return WhyPaused
	case Stopped:
		return WhyStopped
	case Halted:
		return WhyHalted
	case Postponed:
		return WhyPostponed
	case Ended:
		return WhyEnded
	case BeforeOp, NotConfirmed:
		return WhyNotConfirmed
	}
	return WhyNoPlan
}

// exercises fills in what is open and why the rest is not.
func (d *Day) exercises() {
	reason := stateReason(d.State)
	catalogue := protocol.Catalogue()
	d.Exercises = make([]Allowed, 0, len(catalogue))
	for _, e := range catalogue {
		a := Allowed{Exercise: e}
		for _, x := range d.Phase.Prescriptions {
			a.Prescribed = a.Prescribed || x.Exercise == e.ID
		}
		switch {
		case reason == NotLocked:
			d.judge(&a)
		case handOnly(d.State) && e.ID == rom.WristHand:
		default:
			a.Locked, a.Why = true, reason
		}
		d.Exercises = append(d.Exercises, a)
	}
}

// handOnly reports whether the hand may be moved though the programme does
// not run: moving the fingers is safe in a sling and keeps the hand from
// swelling.
func handOnly(s State) bool { return s == NotConfirmed || s == NoPlan || s == BeforeOp }

// judge decides on one exercise while the programme runs.
func (d *Day) judge(a *Allowed) {
	e := a.Exercise
	lock := func(why Reason) { a.Locked, a.Why = true, why }
	if has(d.Plan.Closed, e.ID) {
		lock(WhyClosed)
		return
	}
	if l, ok := e.LockedBy(d.Episode.Procedures, d.Number); ok && !has(d.Plan.Opened, e.ID) {
		lock(WhyProcedure)
		a.Until, a.From = l.Until, l.From
		return
	}
	if !d.InPhase {
		lock(WhyNotYet)
	} else if _, ok := e.Motion(d.Phase, ""); ok {
		return
	}
	for _, ph := range d.later() {
		if _, ok := e.Motion(ph, ""); ok {
			lock(WhyNotYet)
			a.Until, a.Phase, a.From = ph.From, ph.Key, ph.Basis
			return
		}
	}
	lock(WhyMotion)
	for _, ph := range d.Plan.Phases {
		for _, m := range e.Motions {
			if ph.Limit(m).Class != rom.Locked {
				lock(WhyClass)
			}
		}
	}
}

func has(list []rom.ExerciseID, e rom.ExerciseID) bool {
	for _, x := range list {
		if x == e {
			return true
		}
	}
	return false
}
