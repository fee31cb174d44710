package rom

// Dose is how much of an exercise is done in one session and how often.
type Dose struct {
	Hold   int `json:"hold"`    // seconds at the end range; the usual 20 is common practice, no source
	Reps   int `json:"reps"`    // repetitions in one session
	Rest   int `json:"rest"`    // seconds between repetitions
	PerDay int `json:"per_day"` // sessions a day
}

// Prescription is an exercise with its dose in one phase.
type Prescription struct {
	Exercise ExerciseID `json:"ex"`
	Motion   Motion     `json:"m,omitempty"` // the motion it serves; empty for hand and scapula work
	Dose     Dose       `json:"dose"`
	From     Source     `json:"src"`
}

// Validate checks p by itself.
func (p Prescription) Validate() error {
	d := p.Dose
	switch {
	case !p.Exercise.Valid():
		return invalid("ex", "is not an exercise of the catalogue")
	case p.Motion != "" && !p.Motion.Valid():
		return invalid("m", "is not a known motion")
	case d.Hold < 0 || d.Hold > 600:
		return invalid("dose.hold", "must lie between 0 and 600 seconds")
	case d.Reps < 1 || d.Reps > 100:
		return invalid("dose.reps", "must lie between 1 and 100")
	case d.Rest < 0 || d.Rest > 600:
		return invalid("dose.rest", "must lie between 0 and 600 seconds")
	case d.PerDay < 1 || d.PerDay > 12:
		return invalid("dose.per_day", "must lie between 1 and 12")
	case !p.From.Mark.Valid():
		return invalid("src", "must name a source and its mark")
	}
	return nil
}
