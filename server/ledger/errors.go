package ledger

import (
	"errors"
	"fmt"

	"unsling/engine/rom"
)

// The errors a caller can act on. Anything else is a failure of the store.
var (
	ErrUnknown     = errors.New("no such row")
	ErrTaken       = errors.New("already taken")
	ErrExpired     = errors.New("invitation has expired")
	ErrUsed        = errors.New("invitation was already used")
	ErrWrongPIN    = errors.New("the number that belongs to the invitation is wrong")
	ErrTooMany     = errors.New("too many tries on this invitation")
	ErrDeviceTaken = errors.New("this device id or key belongs to another enrolment")
	ErrStale       = rom.ErrStale
	ErrState       = errors.New("not possible in this state")
	ErrErased      = errors.New("the patient's data was erased")
	ErrLocked      = errors.New("another process has this store open")
	ErrDamaged     = errors.New("stored data does not match its own hash")
	ErrFull        = errors.New("the disk is nearly full")
	ErrWentBack    = errors.New("the store has less than was backed up")
	ErrUnfinished  = errors.New("a restore into this store did not finish")
	ErrNewer       = errors.New("the store was written by a newer version of this program")
	ErrOlder       = errors.New("the store has an older layout than this program writes")
	ErrKeyChange   = errors.New("a change of content.key did not finish")
)

// StaleError is ErrStale with the facts: the newest revision of the plan, or
// version of the episode.
type StaleError struct {
	Episode rom.EpisodeID
	Base    int // the revision the change was made from
	Newest  int // the newest revision of this plan
	Last    int // the highest revision of any plan of this patient
}

func (e *StaleError) Error() string {
	return fmt.Sprintf("%v: made from revision %d, newest is %d", ErrStale, e.Base, e.Newest)
}

// Unwrap makes errors.Is(err, ErrStale) true.
func (e *StaleError) Unwrap() error { return ErrStale }
