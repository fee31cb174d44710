package replica

import (
	"time"

	"unsling/engine/rom"
	"unsling/sync/wire"
)

// register asks for a new name, under which the lines from number from on
// are appended again (rule 12).
func (p *Phone) register(from int64) []Effect {
	if p.state.Revoked { // it would not be permitted
		return p.rest(wire.Forbidden)
	}
	p.phase, p.moveFrom = registering, from
	return []Effect{Register{From: from}}
}

// registered makes the phone another author: its tail is written again under
// the new name, each line naming what it was and keeping its salt, by which
// readers know it again. Barriers take the place of the old rows, since the
// numbers belong to the other copy, and the log is pulled anew.
func (p *Phone) registered(e Registered) []Effect {
	old, next := p.state.Author, p.state.clone()
	s := Save{}
	next.Old = append(next.Old, old)
	next.Author = e.Author
	next.Acked, next.BackedUp, p.pruned = wire.Mark{}, 0, 0
	p.restart(&next)

	p.move(&s, e.Author, wire.Mark{}, e.Own, !p.state.Unknown)
	for _, b := range e.Own {
		if rec, err := wire.Decode(b); err == nil {
			s.Put = append(s.Put, Row{rec.Author, rec.N, []byte(BarrierLine), 0})
		}
	}
	last := p.moveFrom + int64(len(e.Own)) - 1
	for _, n := range []int64{last + 1, Barrier} {
		s.Add = append(s.Add, Row{old, n, []byte(BarrierLine), 0})
	}
	p.note(NowOther)
	s.State, s.Moved = next, true
	return p.save(s, nil)
}

// rejoined is registered for a phone that the server had forgotten: all it
// holds goes on under the new name. What the server has of it all the same,
// readers know again.
func (p *Phone) rejoined(e Rejoined) []Effect {
	p.moveFrom = max(1, e.First)
	out := p.registered(Registered{Author: e.Author, Own: e.Own})
	s := out[0].(Save)
	s.State.Unknown, s.State.Revoked, s.State.Epoch = false, false, e.Epoch
	return p.save(s, &Rest{})
}

// move appends lines of an earlier author after mark under the name of a.
// Lines that do not decode any more stay where they are. A line that was moved
// before goes on naming what it was first, since the name in between may be
// lost at the server; with follow the first line names it all the same, so
// that readers know whose later self this is.
func (p *Phone) move(s *Save, a rom.Author, mark wire.Mark, lines [][]byte, follow bool) wire.Mark {
	names := map[rom.Ref]rom.Ref{}
	for i, b := range lines {
		rec, err := wire.Decode(b)
		if err != nil || rec.Author == a {
			continue
		}
		was, to := rec.Ref(), rom.Ref{Author: a, N: mark.N + 1}
		names[was] = to
		if rec.Was.IsZero() || follow && i == 0 {
			rec.Was = was
		}
		rec.Author, rec.N, rec.Prev = to.Author, to.N, mark.Prev()
		rec.Body = retarget(rec, names)
		line, err := wire.Encode(rec)
		if err != nil {
			continue // cannot be: Writer leaves room for was
		}
		mark = wire.Mark{N: rec.N, Hash: wire.HashOf(line)}
		s.Add = append(s.Add, Row{rec.Author, rec.N, line, 0})
		p.learned = append(p.learned, line)
	}
	return mark
}

// takeStrays moves what this phone wrote under an earlier name and the server
// has not shown in its last pass: it was lost there, and the other copy may
// be gone, or a window wrote it while the name changed. The rows stay, marked
// as settled.
func (p *Phone) takeStrays(e GotLines) []Effect {
	s := Save{State: p.state.clone()}
	p.move(&s, p.state.Author, e.Tail, e.Strays, false)
	if len(s.Add) == 0 {
		return nil
	}
	for _, b := range e.Strays {
		if rec, err := wire.Decode(b); err == nil {
			s.Put = append(s.Put, Row{rec.Author, rec.N, b, Barrier})
		}
	}
	return p.save(s, nil)
}

// retarget returns the body of a moved record with the names it speaks of
// moved as well.
func retarget(rec wire.Record, names map[rom.Ref]rom.Ref) []byte {
	body, err := wire.DecodeBody(rec.Kind, rec.V, rec.Body)
	if err != nil {
		return rec.Body
	}
	move := func(r *rom.Ref) bool {
		to, ok := names[*r]
		if ok {
			*r = to
		}
		return ok
	}
	var moved bool
	switch b := body.(type) {
	case rom.Amend:
		moved = move(&b.Target)
		body = b
	case rom.Void:
		moved = move(&b.Target)
		body = b
	case rom.Seen:
		moved = move(&b.What)
		body = b
	}
	if !moved {
		return rec.Body
	}
	raw, _, err := wire.EncodeBody(rec.Kind, body)
	if err != nil {
		return rec.Body
	}
	return raw
}

// KeepFor is how long a phone keeps its own records although a verified
// backup has them.
const KeepFor = 90 * 24 * time.Hour

// prune drops the oldest own lines that a verified backup has and that are
// older than KeepFor (rule 4); never the last one, on which the chain goes on.
// A barrier stays in the place of each, so that a window which slept since
// cannot give its number away again.
func (p *Phone) prune(e Prune) []Effect {
	next := p.state.clone()
	s := Save{}
	for i, b := range e.Own {
		rec, err := wire.Decode(b)
		if err != nil || rec.Author != next.Author || rec.N != e.First+int64(i) || i == len(e.Own)-1 ||
			rec.N > min(next.BackedUp, next.Acked.N) || e.Now.Sub(rec.At) < KeepFor {
			break
		}
		s.Put = append(s.Put, Row{rec.Author, rec.N, []byte(BarrierLine), 0})
	}
	if len(s.Put) == 0 {
		return p.rest("")
	}
	s.State = next
	return p.save(s, &Rest{})
}
