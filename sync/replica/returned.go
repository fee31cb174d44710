package replica

import (
	"errors"
	"fmt"

	"unsling/engine/rom"
	"unsling/sync/wire"
)

// ReturnedLine is a clinic line that a phone gave back and that the server
// appends again, with the very bytes, under its old name.
type ReturnedLine struct {
	Ref   rom.Ref
	Hash  wire.Hash
	Bytes []byte
}

// AcceptReturned judges the clinic lines at the end of a request (rule 14).
// markOf returns the mark of a clinic author in this patient's log, and
// sealed reports whether a line bears the clinic's MAC for this patient
// (wire.Sealed). Lines that are known, not sealed, or not next in their chain
// are left out; the caller appends the rest and moves the marks.
func AcceptReturned(markOf func(rom.Author) (wire.Mark, error), lines [][]byte, sealed func([]byte) bool) ([]ReturnedLine, error) {
	marks := map[rom.Author]wire.Mark{}
	var out []ReturnedLine
	for _, b := range lines {
		rec, err := wire.Decode(b)
		if err != nil || !rec.Author.FromClinic() || !sealed(b) {
			continue
		}
		mark, ok := marks[rec.Author]
		if !ok {
			if mark, err = markOf(rec.Author); err != nil {
				return nil, fmt.Errorf("look up a clinic author: %w", err)
			}
			marks[rec.Author] = mark
		}
		if rec.N != mark.N+1 || rec.Prev != mark.Prev() {
			continue
		}
		h := wire.HashOf(b)
		marks[rec.Author] = wire.Mark{N: rec.N, Hash: h}
		out = append(out, ReturnedLine{Ref: rec.Ref(), Hash: h, Bytes: b})
	}
	return out, nil
}

// ErrPlanLost means that a phone of the patient follows a revision that this
// server does not have: until phones have returned it, nothing is revised.
var ErrPlanLost = errors.New("a phone follows a plan that this server has lost; wait until the phone has returned it")

// LostMost is how many revisions a store can have lost at most for a phone to be
// believed that it follows one of them. A plan has a few a year.
const LostMost = 1000

// Following is what a server remembers of the revision that a phone says it
// follows. last is the highest revision of the patient that the server has, had
// what it remembered before, and lost says that this phone comes from another
// life of the store or has just shown that the store lost something. Only then
// can it follow what the server does not have; any other claim above last is
// none, and what was remembered stays.
func Following(claimed, had, last int, lost bool) int {
	if claimed <= last || lost && claimed-last <= LostMost {
		return claimed
	}
	return had
}

// CheckRevision reports whether revision rev, made from base, may be appended
// to a plan whose newest revision is newest (0 for none) while the patient's
// phones that still have access follow up to following (see Following). last is
// the highest revision of any plan of the patient. tightens says that the
// revision stops, pauses or only narrows: no phone holds that up, but its number
// has to be above what each of them follows, or they would not take it. Errors
// are rom.ErrStale and ErrPlanLost.
func CheckRevision(base, rev, newest, last, following int, tightens bool) error {
	switch {
	case following > last && !tightens:
		return ErrPlanLost
	case base != newest:
		return rom.ErrStale
	case rev <= max(last, following):
		return fmt.Errorf("revision %d is not above %d: %w", rev, max(last, following), rom.ErrStale)
	}
	return nil
}
