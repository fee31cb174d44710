package rom

// Hold is one stay at an end range.
type Hold struct {
	// Tenths is how long it lasted, in tenths of a second.
	Tenths int `json:"t"`
	// Counted says that it was long enough to count.
	Counted bool `json:"ok,omitempty"`
	// Angle is where it was held; nil means done, angle unknown.
	Angle *Degrees `json:"angle,omitempty"`
	// Tapped says that the patient counted by tap instead of the timer.
	Tapped bool `json:"tap,omitempty"`
}

// SkipReason says why an exercise was left out.
type SkipReason string

// The reasons to skip.
const (
	SkipPain     SkipReason = "pain"
	SkipTired    SkipReason = "tired"
	SkipNoTime   SkipReason = "no-time"
	SkipNoHelper SkipReason = "no-helper"
	SkipAfraid   SkipReason = "afraid"
	SkipNoPlace  SkipReason = "no-place"
	SkipStopped  SkipReason = "stopped"    // the session ended before it
	SkipNarrowed SkipReason = "narrowed"   // the clinic closed it meanwhile
	SkipOver     SkipReason = "over-limit" // a measured angle was over the limit
)

// Ending says how a session ended.
type Ending string

// The endings.
const (
	Finished    Ending = "finished"
	StoppedByMe Ending = "stopped"
	Interrupted Ending = "interrupted" // never taken up again
	ByClinic    Ending = "by-clinic"   // a stop arrived meanwhile
)

// StopReason says why the patient stopped.
type StopReason string

// The reasons to stop. StopWrong stops everything and asks for a call.
const (
	StopPain   StopReason = "too-much-pain"
	StopWrong  StopReason = "something-wrong"
	StopTired  StopReason = "tired"
	StopNoTime StopReason = "no-time"
	StopOther  StopReason = "other"
)

// SessionItem is what was done of one prescription.
type SessionItem struct {
	Exercise ExerciseID `json:"ex"`
	Motion   Motion     `json:"m,omitempty"`
	Dose     Dose       `json:"dose"` // as asked
	Holds    []Hold     `json:"holds,omitempty"`
	Skipped  SkipReason `json:"skipped,omitempty"`
}

// Session is one sitting. A session has one record, written when it ends;
// until then the phone keeps a draft after every hold.
type Session struct {
	Episode EpisodeID `json:"episode"`
	ID      SessionID `json:"id"`
	// Due and Slot say which due session it was; Slot counts from 1 within
	// the day, 0 for one that was not due.
	Due       Date          `json:"due"`
	Slot      int           `json:"slot"`
	Phase     string        `json:"phase"`
	Seconds   int           `json:"seconds"` // from start to end, pauses included
	Items     []SessionItem `json:"items"`
	Before    *int          `json:"pain_before,omitempty"` // 0 to 10
	Worst     *int          `json:"pain_worst,omitempty"`
	After     *int          `json:"pain_after,omitempty"`
	Ended     Ending        `json:"ended"`
	Stop      StopReason    `json:"stop,omitempty"`
	Resumed   int           `json:"resumed,omitempty"` // how often it was taken up again
	Medicine  *bool         `json:"medicine,omitempty"`
	ByHelper  bool          `json:"helper,omitempty"`
	Therapist bool          `json:"therapist,omitempty"`
	// By is the member of staff who wrote the session down from a paper log;
	// empty for one that a phone guided.
	By StaffID `json:"by,omitempty"`
}

// Counted returns how many holds of s count.
func (s Session) Counted() int {
	n := 0
	for _, it := range s.Items {
		for _, h := range it.Holds {
			if h.Counted {
				n++
			}
		}
	}
	return n
}

// Asked returns how many holds the prescriptions of s asked for.
func (s Session) Asked() int {
	n := 0
	for _, it := range s.Items {
		n += it.Dose.Reps
	}
	return n
}

// Validate checks s by itself.
func (s Session) Validate() error {
	switch {
	case s.Episode == "" || s.ID == "":
		return invalid("id", "and episode must be given")
	case s.Slot < 0 || s.Slot > 24:
		return invalid("slot", "must lie between 0 and 24")
	case s.Seconds < 0 || s.Seconds > 24*3600:
		return invalid("seconds", "must lie within one day")
	case len(s.Items) > 20:
		return invalid("items", "must not exceed twenty")
	}
	for _, p := range []*int{s.Before, s.Worst, s.After} {
		if p != nil && (*p < 0 || *p > 10) {
			return invalid("pain", "must lie between 0 and 10")
		}
	}
	for _, it := range s.Items {
		if !it.Exercise.Valid() {
			return invalid("items.ex", "is not an exercise of the catalogue")
		}
		if it.Motion != "" && !it.Motion.Valid() {
			return invalid("items.m", "is not a known motion")
		}
		if len(it.Holds) > 100 {
			return invalid("items.holds", "must not exceed a hundred")
		}
		for _, h := range it.Holds {
			if h.Tenths < 0 || h.Tenths > 36000 {
				return invalid("items.holds.t", "must lie between 0 and one hour")
			}
			if h.Angle != nil && it.Motion != "" {
				if err := validAngle("items.holds.angle", it.Motion, *h.Angle); err != nil {
					return err
				}
			}
		}
	}
	switch s.Ended {
	case Finished, StoppedByMe, Interrupted, ByClinic:
		return nil
	}
	return invalid("ended", "is not a way of ending a session")
}
