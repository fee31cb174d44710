package rom

import "slices"

// EpisodeState is how far an episode of care has come.
type EpisodeState string

// The states in their order; discharged and withdrawn end an episode.
const (
	Planned    EpisodeState = "planned"    // enrolled at booking, not operated or not confirmed
	Confirmed  EpisodeState = "confirmed"  // the surgeon confirmed what was done
	Ongoing    EpisodeState = "active"     // the programme runs
	Discharged EpisodeState = "discharged" // monitoring has ended
	Withdrawn  EpisodeState = "withdrawn"
)

// CanBecome reports whether an episode may go from state s to state next.
func (s EpisodeState) CanBecome(next EpisodeState) bool {
	switch s {
	case Planned:
		return next == Planned || next == Confirmed || next == Withdrawn
	case Confirmed:
		return next == Confirmed || next == Ongoing || next == Withdrawn
	case Ongoing:
		return next == Ongoing || next == Discharged || next == Withdrawn
	}
	return false
}

// Ended reports whether nobody monitors the episode any more.
func (s EpisodeState) Ended() bool { return s == Discharged || s == Withdrawn }

// Operated reports whether the surgeon has confirmed the operation.
func (s EpisodeState) Operated() bool { return s == Confirmed || s == Ongoing || s == Discharged }

// Episode is the care of one operated shoulder from booking to discharge.
// Each change is a new version that names the one it replaces.
type Episode struct {
	ID      EpisodeID    `json:"id"`
	Version int          `json:"version"` // 1, 2, 3...
	State   EpisodeState `json:"state"`
	Side    Side         `json:"side"`
	// Procedures has the one whose protocol governs first.
	Procedures []Procedure `json:"procedures"`
	// Surgery is day 0: booked while planned, done once confirmed. Zero
	// while it is not booked.
	Surgery Date `json:"surgery"`
	// Postponed freezes everything until a new date is given.
	Postponed bool `json:"postponed,omitempty"`
	// OtherArm lists the motions for which the other arm is a usable
	// reference.
	OtherArm []Motion `json:"other_arm,omitempty"`
	// ConfirmedBy is the surgeon; SideBy the second person who compared the
	// side with the operation note.
	ConfirmedBy StaffID `json:"confirmed_by,omitempty"`
	SideBy      StaffID `json:"side_by,omitempty"`
	ConfirmedOn Date    `json:"confirmed_on,omitempty"`
	// BlockHours is when the clinic expects the nerve block to have worn
	// off, in hours after surgery; 0 when there was none.
	BlockHours int `json:"block_hours,omitempty"`
	// BornYear serves age-aware norms; 0 when unknown.
	BornYear int     `json:"born_year,omitempty"`
	Ended    Date    `json:"ended,omitempty"`
	Reason   string  `json:"reason,omitempty"`
	By       StaffID `json:"by"`
	// Correction is a change of side or date that one person has asked for
	// and no second person has answered yet; nil for none.
	Correction *Correction `json:"correction,omitempty"`
	// Transfer is where the care goes on after the episode has ended here;
	// nil when it does not.
	Transfer *Transfer `json:"transfer,omitempty"`
}

// Correction is a change of side or date of surgery that waits for a second
// person. The plan is stopped meanwhile.
type Correction struct {
	Side    Side    `json:"side"`
	Surgery Date    `json:"surgery"`
	Reason  string  `json:"reason"`
	By      StaffID `json:"by"`
	On      Date    `json:"on"`
	// Rev is the plan revision that stopped the plan for this; 0 when there
	// was nothing to stop.
	Rev int `json:"rev,omitempty"`
}

// Transfer names the clinic that goes on with the care.
type Transfer struct {
	Clinic string `json:"clinic"`
	Phone  string `json:"phone"`
}

// Usable reports whether the other arm may serve as reference for m.
func (e Episode) Usable(m Motion) bool { return slices.Contains(e.OtherArm, m) }

// Has reports whether p was done.
func (e Episode) Has(p Procedure) bool { return slices.Contains(e.Procedures, p) }

// Repair reports whether any procedure of e left tissue that must heal.
func (e Episode) Repair() bool { return slices.ContainsFunc(e.Procedures, Procedure.Repair) }

// Validate checks e by itself.
func (e Episode) Validate() error {
	switch {
	case e.ID == "":
		return invalid("id", "is missing")
	case e.Version < 1:
		return invalid("version", "must be 1 or more")
	case !e.Side.Valid():
		return invalid("side", "must be left or right")
	case len(e.Procedures) == 0:
		return invalid("procedures", "must name what is or will be done")
	case e.By == "":
		return invalid("by", "must name who wrote this")
	}
	for _, p := range e.Procedures {
		if !p.Valid() {
			return invalid("procedures", "holds an unknown procedure")
		}
	}
	for _, m := range e.OtherArm {
		if !m.Valid() {
			return invalid("other_arm", "holds an unknown motion")
		}
	}
	if c := e.Correction; c != nil {
		switch {
		case !c.Side.Valid():
			return invalid("correction.side", "must be left or right")
		case c.By == "" || c.Reason == "":
			return invalid("correction.reason", "and who asked must be named")
		}
	}
	if t := e.Transfer; t != nil && (t.Clinic == "" || t.Phone == "") {
		return invalid("transfer.phone", "and the clinic must be named: the patient must be able to call")
	}
	switch e.State {
	case Planned, Withdrawn:
	case Confirmed, Ongoing, Discharged:
		if e.Surgery.IsZero() {
			return invalid("surgery", "must be a date once the operation is confirmed")
		}
		if e.ConfirmedBy == "" || e.SideBy == "" {
			return invalid("confirmed_by", "and the second person for the side must both be named")
		}
		if e.ConfirmedBy == e.SideBy {
			return invalid("side_by", "must be another person than the one who confirmed")
		}
	default:
		return invalid("state", "is not a state of an episode")
	}
	return nil
}
