package ledger

import "unsling/engine/rom"

// Restricting keeps a patient's data from being processed other than by being
// kept and looked at. What phones send is still taken in: keeping it is what
// a restriction allows, and losing it would be worse. Who may do what
// meanwhile is decided by package access.
type Restricting interface {
	// Restrict begins it; ErrState if it has begun already, or without a
	// reason.
	Restrict(rom.PatientID, Restriction, Trail) error
	// Lift ends it. by must be another person than who began it; ErrState
	// otherwise, and if there is none. Why stands in the trail's reason, so
	// that it is in the audit log.
	Lift(p rom.PatientID, by rom.StaffID, trail Trail) error
}
