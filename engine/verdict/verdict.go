// Package verdict says how what was measured or held stands to the limit of its
// day. Phone and clinic, screen and paper ask it, so that a patient hears one
// word from all of them.
//
// # Words
//
// Set: one reading, of one to three trials in one set-up, or one held angle. A
// trial is no evidence by itself. Sitting: the sets of one hold. A second set is
// taken in the hold in which the first was over, never by going there again.
//
// Chance: the probability that the arm truly was beyond the limit in a sitting,
// from its sets, all sittings before, and the clinic's readings; never from later
// ones, so that what was said on a day can be worked out again on any other.
//
// # Decisions
//
//   - A margin in standard errors, and "over twice", called half of all sound courses passed within half a year:
//     who stops at the aim is over by error once in five times. The chance takes the past into account, and finds
//     more of those who truly go beyond (engine/review/testdata/study.txt).
package verdict

import (
	"slices"

	"unsling/engine/rom"
	"unsling/engine/schedule"
)

// Tier is how a sitting stands to the limit.
type Tier string

// The tiers in rising order.
const (
	Within Tier = ""       // nothing measured over it
	Near   Tier = "near"   // measured over it, as errors may explain
	Likely Tier = "likely" // more likely beyond it than not
	Passed Tier = "passed" // so likely beyond it that the patient stops and calls today
)

// likelyFrom is the chance, in percent, from which a pass is likely. From which
// on it counts as passed is a value of the protocol (rom.Chance).
const likelyFrom = 50

// Set is one reading or held angle.
type Set struct {
	Ref    rom.Ref
	Rev    int // plan revision followed then, 0 if not known
	Class  rom.Class
	Clinic bool
	Held   bool        // of a session, without a reading
	Angle  rom.Degrees // mean of its trials
	Level  rom.Level
	SE     rom.Degrees

	day     rom.Date
	minute  int
	session rom.SessionID
	method  rom.Method
	motion  rom.Motion
	most    rom.Degrees // farthest trial
}

// Sitting is the sets of one hold against the limit of their day.
type Sitting struct {
	Day    rom.Date
	Minute int // of the last set
	Limit  rom.Limit
	Sets   []Set
	// Angle is the mean of the sets, SE the largest of their errors.
	Angle, SE rom.Degrees
	Level     rom.Level
	// Chance is the probability of a pass in percent, 0 to 100.
	Chance int
	Tier   Tier
}

// Last returns the newest set.
func (s Sitting) Last() Set { return s.Sets[len(s.Sets)-1] }

// Over reports whether any set, or any trial of it, lies beyond the limit.
func (s Sitting) Over() bool {
	return slices.ContainsFunc(s.Sets, func(x Set) bool { return over(x, s.Limit) })
}

func over(x Set, l rom.Limit) bool {
	switch {
	case l.Class == rom.Locked:
		return true
	case l.Open:
		return false
	case l.Motion.ByLevel():
		return l.Highest != 0 && x.Level < l.Highest
	}
	return max(x.Angle, x.most) > l.Ceiling
}

// Over reports whether a reading, or any trial of it, lies beyond a limit. That
// is what "go less far" is said for; how likely the arm was there is Of's matter.
func Over(b rom.Reading, l rom.Limit) bool {
	x := Set{Angle: b.Angle, Level: b.Level, most: b.Angle}
	for _, t := range b.Trials {
		x.most = max(x.most, t.Angle)
	}
	return over(x, l)
}

// Phases tells the phase in force on the phone at the end of a day, nil for none.
type Phases func(rom.Date) *rom.Phase

// PhasesOf works the phases of an episode out from its history, each day once.
func PhasesOf(h rom.History, ep rom.EpisodeID) Phases {
	known := map[rom.Date]*rom.Phase{}
	return func(d rom.Date) *rom.Phase {
		got, ok := known[d]
		if !ok {
			if ph, in := schedule.InForce(h, ep, d); in {
				got = &ph
			}
			known[d] = got
		}
		return got
	}
}

// Of judges every sitting of m of the operated arm from surgery to a day, in
// order of time. phases may be nil.
func Of(h rom.History, ep rom.EpisodeID, m rom.Motion, to rom.Date, phases Phases) []Sitting {
	e, ok := h.Episode(ep)
	if !ok {
		return nil
	}
	if phases == nil {
		phases = PhasesOf(h, ep)
	}
	var out []Sitting
	for _, x := range sets(h, e, m, to) {
		l, ok := limitOn(h, ep, phases, x)
		if x.Clinic && (!ok || l.Class == rom.Locked) {
			continue // a clinician examines what the patient may not do
		}
		if !x.Clinic && l.Class < x.Class {
			l.Class = rom.Locked // active movement where only passive is permitted
		}
		l.Motion = m
		if n := len(out); n > 0 && out[n-1].takes(x, l) {
			out[n-1].Sets = append(out[n-1].Sets, x)
			out[n-1].Minute = x.minute
			continue
		}
		out = append(out, Sitting{Day: x.day, Minute: x.minute, Limit: l, Sets: []Set{x}})
	}
	var passive, active belief
	for i := range out {
		b := &passive
		if out[i].Sets[0].Class >= rom.Active {
			b = &active
		}
		out[i].judge(b)
	}
	return out
}

// The sets of one hold lie at most sameHold minutes apart, and are two or three.
const (
	sameHold = 15
	mostSets = 3
)

// takes reports whether x is one more set of the hold of s.
func (s Sitting) takes(x Set, l rom.Limit) bool {
	y := s.Last()
	return len(s.Sets) < mostSets && !x.Clinic && !y.Clinic && x.day == s.Day && x.session == y.session && x.Class == y.Class && x.minute-s.Minute <= sameHold &&
		l.Class == s.Limit.Class && l.Open == s.Limit.Open && l.Ceiling == s.Limit.Ceiling && l.Highest == s.Limit.Highest
}

// limitOn returns the row in force for x, as the revision has it that whoever
// moved then followed: a limit that is narrowed later judges nothing earlier.
// ok is false when no phase was in force.
func limitOn(h rom.History, ep rom.EpisodeID, phases Phases, x Set) (l rom.Limit, ok bool) {
	ph := phases(x.day)
	if ph == nil {
		return rom.Limit{}, false
	}
	if p, known := h.PlanAt(ep, x.Rev); known {
		if then, known := p.Phase(ph.Key); known {
			ph = &then
		}
	}
	return ph.Limit(x.motion).For(x.Class), true
}

func (s *Sitting) judge(b *belief) {
	n := rom.Degrees(len(s.Sets))
	for _, x := range s.Sets {
		s.Angle, s.SE = s.Angle+x.Angle, max(s.SE, x.SE)
	}
	s.Angle, s.Level = (s.Angle+n/2)/n, s.Last().Level
	switch {
	case s.Limit.Class == rom.Locked:
		s.Chance, s.Tier = 100, Passed
		return
	case s.Limit.Open, s.Limit.Motion.ByLevel() && s.Limit.Highest == 0:
		return
	}
	limit, list := s.Limit.Ceiling.Float(), []seen{}
	if s.Limit.Motion.ByLevel() {
		limit = -levelStep * float64(s.Limit.Highest)
	}
	for _, x := range s.Sets {
		list = append(list, x.seen())
	}
	s.Chance = int(float64(100*b.sit(int(s.Day), limit, list)) + .5)
	switch {
	case !s.Over():
	case s.Chance >= int(s.Limit.PassedFrom.Or()):
		s.Tier = Passed
	case s.Chance >= likelyFrom:
		s.Tier = Likely
	default:
		s.Tier = Near
	}
}
