package protocol

import (
	"unsling/engine/rom"
)

// Exercise is what the catalogue knows of one exercise.
type Exercise struct {
	ID    rom.ExerciseID `json:"id"`
	Class rom.Class      `json:"class"` // the class that its motion must be permitted
	// Motions are those it can serve, the usual one first; empty for hand
	// and scapula work, and for the pendulum. Also are motions it moves
	// besides, which must be permitted too.
	Motions []rom.Motion `json:"motions,omitempty"`
	Also    []rom.Motion `json:"also,omitempty"`
	// Shoulder says that it moves the operated shoulder, so that the phase
	// must permit its class in some motion even when Motions is empty.
	Shoulder bool         `json:"shoulder,omitempty"`
	Position rom.Position `json:"position"`
	// EndRange says that it is held at an end range and counts as
	// end-range time.
	EndRange bool       `json:"end_range,omitempty"`
	Locks    []Lock     `json:"locks,omitempty"`
	From     rom.Source `json:"src"`
}

// Lock closes an exercise after a procedure.
type Lock struct {
	Procedure rom.Procedure `json:"procedure"`
	// Until is the day after surgery on which the lock ends by itself; 0
	// means that only the surgeon opens it.
	Until int        `json:"until,omitempty"`
	From  rom.Source `json:"src"`
}

// Catalogue returns every exercise in the order of rom.Exercises. The caller
// must not change it.
func Catalogue() []Exercise { return tables().exercises }

// Lookup returns one exercise of the catalogue.
func Lookup(id rom.ExerciseID) (Exercise, bool) {
	for _, e := range tables().exercises {
		if e.ID == id {
			return e, true
		}
	}
	return Exercise{}, false
}

// Motion returns the motion that e serves in a phase that permits it: the
// first of Motions whose row allows e's class. wanted narrows the choice when
// it is not empty. ok is false when no row permits e.
func (e Exercise) Motion(ph rom.Phase, wanted rom.Motion) (m rom.Motion, ok bool) {
	for _, x := range e.Also {
		if ph.Limit(x).Class < e.Class {
			return "", false
		}
	}
	if len(e.Motions) == 0 {
		return "", wanted == "" && (!e.Shoulder || ph.HighestClass() >= e.Class)
	}
	for _, x := range e.Motions {
		if (wanted == "" || wanted == x) && ph.Limit(x).Class >= e.Class {
			return x, true
		}
	}
	return "", false
}

// Serves reports whether m is one of the motions e can serve, or empty.
func (e Exercise) Serves(m rom.Motion) bool {
	for _, x := range e.Motions {
		if x == m {
			return true
		}
	}
	return m == ""
}

// LockedBy returns the lock of e that holds on a day after an operation with
// the given procedures, the longest one, if any.
func (e Exercise) LockedBy(procedures []rom.Procedure, day int) (Lock, bool) {
	var longest Lock
	found := false
	for _, l := range e.Locks {
		if l.Until != 0 && day >= l.Until {
			continue
		}
		for _, p := range procedures {
			if p == l.Procedure && (!found || l.longer(longest)) {
				longest, found = l, true
			}
		}
	}
	return longest, found
}

func (l Lock) longer(o Lock) bool {
	return o.Until != 0 && (l.Until == 0 || l.Until > o.Until)
}
