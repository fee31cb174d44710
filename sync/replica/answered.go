package replica

import (
	"fmt"
	"hash/fnv"

	"unsling/engine/rom"
	"unsling/sync/wire"
)

// answered takes in an answer: what is believed of it, and the records.
func (p *Phone) answered(e Answered) []Effect {
	r, next := e.Reply, p.state.clone()
	s := Save{}
	p.grow()
	if r.State == wire.Revoked && !next.Revoked {
		next.Revoked = true
		p.note(NowRevoked)
	}
	back := p.believe(&next, r.Ack, e.Mine, e.Tail) || next.Rewound
	next.Rewound = false
	if r.Epoch != next.Epoch {
		if next.Epoch != "" {
			p.note(NewEpoch)
			back = true // the cursor may fit by accident only
		}
		if next.Epoch != "" && next.Acked != r.Ack {
			next.Acked = wire.Mark{}
		}
		next.Epoch = r.Epoch
	}
	// What a verified backup has stays in it, whatever an older state of the
	// same store says; of another life only that one's word counts.
	if r.BackedUp > next.BackedUp || next.Epoch != p.state.Epoch {
		next.BackedUp = r.BackedUp
	}
	next.Contact, next.Unknown = r.ServerTime, false
	p.gaveBack(&next)

	tail, fits := e.Tail, true
	if r.State != wire.Revoked {
		switch {
		case r.Seq == 1 && next.Since.Seq > 0:
			p.restart(&next)
			back = false
		case r.Seq != next.Since.Seq+1:
			p.note(OutOfOrder)
			fits = false
		}
		switch {
		case back: // the cursor may be of a log that is no more
			p.restart(&next)
		case fits:
			tail = p.pull(&s, &next, e)
		}
	}
	moved := next.Acked != p.state.Acked || next.Since != p.state.Since || next.Again != p.state.Again ||
		next.Return != p.state.Return || next.ReturnAfter != p.state.ReturnAfter || tail != e.Tail
	if p.idle++; moved {
		p.idle = 0
	}
	s.State = next
	return p.save(s, p.ending(next, tail, r.More, fits))
}

// ending decides whether the run is over: everything is exchanged, or the
// answers lead nowhere.
func (p *Phone) ending(next State, tail wire.Mark, more, fits bool) *Rest {
	left := tail.N > next.Acked.N
	if !next.Revoked {
		left = left || more || next.Again || next.Return
	}
	switch {
	case !left && fits:
		return &Rest{Done: true}
	case !fits, p.idle >= 2, p.restarts > 3:
		return &Rest{}
	}
	return nil
}

// believe moves Acked if the acknowledgement bears the own hash (rule 4), and
// reports whether it went backwards (rule 5).
func (p *Phone) believe(next *State, ack wire.Mark, mine wire.Hash, tail wire.Mark) (back bool) {
	switch {
	case ack == next.Acked:
		return false
	case ack.N == 0 || ack.N <= tail.N && ack.Hash == mine:
	case ack.N <= p.pruned && ack.N < next.Acked.N:
		// The line was dropped here and cannot be compared; that the
		// server is behind is sure all the same.
	case ack.N > tail.N:
		// Own lines that this disk has lost; they come with the log. Those
		// just sent were compared there, and were no fork.
		if end := p.sent.Header.From + int64(len(p.sent.Lines)) - 1; end == tail.N && end > next.Acked.N {
			next.Acked = tail
		}
		return false
	default:
		p.note(NotBelieved)
		return false
	}
	back = ack.N < next.Acked.N
	next.Acked = ack
	if back {
		p.note(ServerRewound)
	}
	return back
}

// restart begins a pass over the server's log from its start. What the phone
// holds stays; rows that the pass does not show keep the name of an earlier
// one. The name is made of the epoch, so that a window which still speaks of
// an earlier epoch does not give the same.
func (p *Phone) restart(next *State) {
	p.restarts++
	next.Since, next.Again = wire.Cursor{}, true
	next.Passes++
	h := fnv.New64a()
	fmt.Fprintf(h, "%s %d", next.Epoch, next.Passes)
	next.Pull = int64(h.Sum64()>>12) &^ seqMask // a whole number in JavaScript
	next.Return, next.ReturnAfter = false, rom.Ref{}
}

// gaveBack notes how far the clinic's lines were returned (rule 14). Whether
// the server took them is its business: it has seen them.
func (p *Phone) gaveBack(next *State) {
	if n := len(p.sent.Returned); n > 0 {
		if rec, err := wire.Decode(p.sent.Returned[n-1]); err == nil {
			next.ReturnAfter = rec.Ref()
		}
	}
	if p.returned {
		next.Return, next.ReturnAfter = false, rom.Ref{}
	}
}

// pull files the lines of the answer and moves the cursor past them (rule 7).
func (p *Phone) pull(s *Save, next *State, e Answered) (tail wire.Mark) {
	tail = e.Tail
	for _, l := range e.Lines {
		next.Since = wire.Cursor{Seq: l.Seq, Hash: l.Hash}
		if l.Erased {
			continue
		}
		rec, err := wire.Decode(l.Bytes)
		if err != nil {
			p.note(LineDamaged)
			continue
		}
		if rec.Author != next.Author {
			s.Put = append(s.Put, Row{rec.Author, rec.N, l.Bytes, next.Pull | min(l.Seq, seqMask)})
			p.learned = append(p.learned, l.Bytes)
			continue
		}
		follows := rec.Prev == tail.Prev() || next.Acked.N == tail.N && rec.Prev == next.Acked.Hash // should the tail be damaged
		if rec.N == tail.N+1 && follows {
			s.Add = append(s.Add, Row{rec.Author, rec.N, l.Bytes, 0})
			p.learned = append(p.learned, l.Bytes)
			tail = wire.Mark{N: rec.N, Hash: l.Hash}
			p.note(TailRestored)
		}
	}
	// The rows that give way to another copy's go on under this name.
	tail = p.move(s, next.Author, tail, e.Clash, false)
	next.Head = e.Reply.Head
	if next.Again && !e.Reply.More {
		next.Again, next.Return, next.ReturnAfter = false, true, rom.Ref{}
	}
	return tail
}

// grow lets the batches become larger again after they were too big.
func (p *Phone) grow() {
	p.lines = min(wire.MaxLines, p.lines*2)
	p.bytes = min(wire.MaxRecords, p.bytes*2)
}
