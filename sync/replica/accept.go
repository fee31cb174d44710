package replica

import (
	"fmt"

	"unsling/sync/wire"
)

// Reason says why a line was put into quarantine.
type Reason string

// The reasons.
const (
	NotARecord Reason = "not-a-record" // the line does not decode
	WrongPrev  Reason = "wrong-prev"   // it does not follow its predecessor
	Forked     Reason = "forked"       // its number is taken by other bytes
)

// Line is one accepted line.
type Line struct {
	N     int64
	Hash  wire.Hash
	Bytes []byte
}

// Quarantined is a line that is kept apart and is a finding. All but Forked
// are acknowledged: their hash counts as that of (author, n) from then on. A
// copy that cannot become a device of its own sends its fork again and again:
// keep a line once.
type Quarantined struct {
	Line
	Why Reason
}

// Verdict is what a server does with the lines of one request: store Store in
// its order, keep Quarantine apart, set the author's mark to Mark and answer
// it as ack, all in one transaction. With a Code the answer is that refusal
// (with the mark), and the transaction is committed all the same.
type Verdict struct {
	Code       wire.Code // "", wire.Gap or wire.Fork
	Store      []Line
	Quarantine []Quarantined
	Ignored    int // lines that were there already
	Mark       wire.Mark
	// Lost says that the author claims to have been told of more than the
	// store has. If that was in the log's present epoch, which the header
	// names, then this patient's log needs a new epoch; a claim of one phone is
	// no reason to touch the others'.
	Lost bool
}

// Stored returns the hash under which the server has line n of the author,
// in the log or acknowledged in quarantine. It is asked for n up to the mark.
type Stored func(n int64) (wire.Hash, error)

// Accept judges the lines h.From, h.From+1, ... of an author whose mark is
// mark (rules 3 and 6). The framing was checked by wire.ReadRequest. It
// returns an error only if stored does.
func Accept(mark wire.Mark, h wire.Header, lines [][]byte, stored Stored) (Verdict, error) {
	v := Verdict{Mark: mark}
	lost := h.From > mark.N+1
	if !lost && h.Prev != "" && h.From > 1 {
		was, err := stored(h.From - 1)
		if err != nil {
			return Verdict{}, fmt.Errorf("look up record %d: %w", h.From-1, err)
		}
		lost = was != h.Prev // another copy has taken the numbers since
	}
	if lost {
		v.Code, v.Lost = wire.Gap, true
		return v, nil
	}
	for i, b := range lines {
		l := Line{N: h.From + int64(i), Hash: wire.HashOf(b), Bytes: b}
		if l.N <= mark.N {
			was, err := stored(l.N)
			if err != nil {
				return Verdict{}, fmt.Errorf("look up record %d: %w", l.N, err)
			}
			if was != l.Hash {
				v.Code = wire.Fork
				v.Quarantine = append(v.Quarantine, Quarantined{l, Forked})
				return v, nil
			}
			v.Ignored++
			continue
		}
		rec, err := wire.Decode(b)
		switch {
		case err != nil:
			v.Quarantine = append(v.Quarantine, Quarantined{l, NotARecord})
		case rec.Prev != v.Mark.Prev():
			v.Quarantine = append(v.Quarantine, Quarantined{l, WrongPrev})
		default:
			v.Store = append(v.Store, l)
		}
		v.Mark = wire.Mark{N: l.N, Hash: l.Hash}
	}
	return v, nil
}

// Resume returns the sequence number from which a phone that stands at since
// is to be given the log whose end is head. lost is true if since is not of
// this log: as far as the phone says the store went backwards, this log needs
// a new epoch, and the phone gets everything from 1 on. hashAt returns the hash of the line at a number.
func Resume(since, head wire.Cursor, hashAt func(seq int64) (wire.Hash, error)) (from int64, lost bool, err error) {
	if since.Seq == 0 {
		return 1, false, nil
	}
	if since.Seq > head.Seq {
		return 1, true, nil
	}
	h, err := hashAt(since.Seq)
	if err != nil {
		return 0, false, fmt.Errorf("look up line %d of the log: %w", since.Seq, err)
	}
	if h != since.Hash {
		return 1, true, nil
	}
	return since.Seq + 1, false, nil
}
