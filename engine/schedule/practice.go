package schedule

import (
	"unsling/engine/protocol"
	"unsling/engine/rom"
)

// Practice is a session to try before the operation: one exercise, a few short
// holds, done by the arm that is not to be operated, so that no sore shoulder
// is moved. It asks for nothing and is no session of the programme: whoever
// guides it writes no session.
type Practice struct {
	// Side is the arm that does it: never the one to be operated.
	Side rom.Side
	// Prescription names no motion: nothing limits the other arm, and nothing
	// of it is measured.
	Prescription rom.Prescription
	Class        rom.Class
	PainCap      int
}

// The dose of a practice. Derived: enough to hear two holds and one rest.
const (
	practiceReps = 2
	practiceHold = 8 // seconds
	practiceRest = 8 // seconds
)

// practicePhases is how many phases from the first one a practice may be
// taken from: what comes first is what has to be known first.
const practicePhases = 2

// practicePain is the cap of a practice, unless that of the plan's phase is
// lower. Derived: the lowest of the protocols that come with the program.
const practicePain = 3

// practised are the exercises in which the arm that rests does no work: the
// table carries the one and nothing holds the other. In all others of the
// early phases the sore arm would lift, push or carry the body. Derived.
var practised = []rom.ExerciseID{rom.TableSlideFlexion, rom.TableSlideAbduction}

// practice returns what may be practised before the operation, nil for
// nothing: the clinic has stopped or paused the plan, or a warning sign was
// told today or waits for an answer. What the plan closes is not practised;
// where nothing is left it is hand and wrist, which are free before the
// operation.
func practice(h rom.History, d *Day, with With) *Practice {
	if !d.Baseline || with.Told != nil || len(Halts(h, d.Episode.ID)) > 0 {
		return nil
	}
	for i := range h.Signs {
		if h.Signs[i].Day() == d.Date {
			return nil
		}
	}
	out := Practice{Side: d.Episode.Side.Other(), PainCap: practicePain}
	if hand, ok := protocol.Lookup(rom.WristHand); ok && !has(d.Plan.Closed, hand.ID) {
		out.Class = hand.Class
		out.Prescription = rom.Prescription{Exercise: hand.ID, Dose: rom.Dose{Reps: 2 * practiceReps, PerDay: 1}, From: hand.From}
	}
	for i, ph := range d.planned() {
		for _, x := range ph.Prescriptions {
			e, ok := protocol.Lookup(x.Exercise)
			if i >= practicePhases || !ok || !has(practised, x.Exercise) || has(d.Plan.Closed, x.Exercise) {
				continue
			}
			out.Class, out.PainCap = e.Class, min(practicePain, ph.PainCap)
			out.Prescription = rom.Prescription{
				Exercise: x.Exercise, From: x.From,
				Dose: rom.Dose{Reps: practiceReps, Hold: practiceHold, Rest: practiceRest, PerDay: 1},
			}
			return &out
		}
	}
	if out.Prescription.Exercise == "" {
		return nil
	}
	return &out
}

// planned returns the phases of the plan, else those of the protocols of what
// is to be done, in their order.
func (d *Day) planned() []rom.Phase {
	if d.Plan.Rev > 0 {
		return d.Plan.Phases
	}
	var out []rom.Phase
	for _, p := range d.Episode.Procedures {
		for _, x := range protocol.For(p) {
			for _, ph := range x.Phases {
				out = append(out, ph.Phase)
			}
		}
	}
	return out
}

// usual are the motions of the baseline where neither a plan nor a protocol
// measures any. Common practice, no source.
var usual = []rom.Motion{rom.ForwardFlexion, rom.ERSide}

// BaselineMotions lists what is worth measuring on both arms before the
// operation: what the plan, else the protocols of what is to be done, will
// measure afterwards, in the order of rom.Motions. It is empty while nothing
// may be measured.
func (d Day) BaselineMotions() []rom.Motion {
	if !d.Baseline {
		return nil
	}
	var out []rom.Motion
	for _, m := range rom.Motions {
		if measured(d.planned(), m) {
			out = append(out, m)
		}
	}
	if len(out) == 0 {
		return usual
	}
	return out
}

func measured(list []rom.Phase, m rom.Motion) bool {
	for _, ph := range list {
		for _, x := range ph.Measures {
			if x.Motion == m {
				return true
			}
		}
	}
	return false
}
