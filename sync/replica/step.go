package replica

import (
	"unsling/engine/rom"
	"unsling/sync/wire"
)

// Phone is the phone's side of the agreement. It has no memory but its State:
// what it decides counts only once the driver has saved it.
type Phone struct {
	state State
	next  State // being saved
	wake  Wake
	// pruned is the highest own n that was dropped from the disk. It is seen
	// on the disk and never remembered: a second window may have pruned.
	pruned int64
	phase  phase

	lines, bytes int // how much to send at once; halved when it was too big
	sent         wire.Request
	returned     bool  // nothing is left to be given back
	rewound      bool  // a gap told that the server lost records
	moveFrom     int64 // first own line to be moved under a new name
	idle         int   // answers in a row that changed nothing
	restarts     int   // passes begun in this run
	asked        bool  // how this phone stands was asked for in this run

	learned [][]byte // to be told once saved
	notices []Notable
	end     *Rest // ends the run once saved; nil to go on
}

type phase int

const (
	resting phase = iota
	reading
	sending
	saving
	registering
)

// NewPhone returns a phone at rest with the state that was saved.
func NewPhone(s State) *Phone {
	return &Phone{state: s.clone(), lines: wire.MaxLines, bytes: wire.MaxRecords}
}

// State returns the state as it was last saved.
func (p *Phone) State() State { return p.state.clone() }

// Step takes in what happened and returns what to do. An event that answers
// no question of this phone, such as a late answer, does nothing.
func (p *Phone) Step(e Event) []Effect {
	switch e := e.(type) {
	case Wake:
		if p.phase != resting || p.state.Author == "" {
			return nil
		}
		p.pruned = max(0, e.First-1)
		if e.Check && !p.state.Again && !p.state.Return {
			p.state.Return, p.state.ReturnAfter = true, rom.Ref{}
		}
		p.wake, p.idle, p.restarts, p.asked = e, 0, 0, false
		return p.read()
	case Prune:
		if p.phase != resting {
			return nil
		}
		return p.prune(e)
	case Rejoined:
		if p.phase != resting || !p.state.Unknown || e.Author == p.state.Author {
			return nil
		}
		return p.rejoined(e)
	case GotLines:
		if p.phase == reading {
			if out := p.takeStrays(e); out != nil {
				return out
			}
			return p.send(e)
		}
	case Answered:
		if p.phase == sending {
			return p.answered(e)
		}
	case Refused:
		if p.phase == sending || p.phase == registering {
			return p.refused(e)
		}
	case Failed:
		if p.phase != resting {
			return p.rest("")
		}
	case Registered:
		if p.phase == registering {
			return p.registered(e)
		}
	case Saved:
		if p.phase == saving {
			return p.saved()
		}
	case NotSaved:
		if p.phase == saving {
			return p.rest("")
		}
	}
	return nil
}

// from is the number of the next own line that the server needs.
func (p *Phone) from() int64 { return max(p.state.Acked.N, p.pruned) + 1 }

func (p *Phone) read() []Effect {
	p.phase = reading
	return []Effect{Read{
		From: p.from(), Lines: p.lines, Bytes: p.bytes,
		Return: p.state.Return, Pull: p.state.Pull, Seq: p.state.Since.Seq, After: p.state.ReturnAfter, Old: p.state.Old,
	}}
}

func (p *Phone) send(e GotLines) []Effect {
	own := e.Own[:wire.Fit(e.Own, p.lines, p.bytes)]
	size := 0
	for _, l := range own {
		size += len(l) + 1
	}
	back := e.Returned[:wire.Fit(e.Returned, p.lines-len(own), p.bytes-size)]
	p.sent = wire.Request{
		Header: wire.Header{
			Proto: wire.Proto, App: p.wake.App, Author: p.state.Author, From: p.from(),
			Since: p.state.Since, Epoch: p.state.Epoch, Following: p.wake.Following,
			Returned: len(back),
		},
		Lines: own, Returned: back,
	}
	if p.from() == p.state.Acked.N+1 {
		p.sent.Header.Prev = p.state.Acked.Hash
	}
	p.returned = p.state.Return && len(e.Returned) == 0
	p.phase = sending
	return []Effect{Send{p.sent}}
}

// save asks for one transaction; end ends the run once it is on the disk.
func (p *Phone) save(s Save, end *Rest) []Effect {
	p.next, p.end, p.phase = s.State.clone(), end, saving
	return []Effect{s}
}

func (p *Phone) saved() []Effect {
	p.state = p.next
	var out []Effect
	for _, n := range p.notices {
		out = append(out, Notice{n})
	}
	if len(p.learned) > 0 {
		out = append(out, Learned{p.learned})
	}
	p.learned, p.notices = nil, nil
	if p.end != nil {
		p.phase = resting
		return append(out, *p.end)
	}
	return append(out, p.read()...)
}

// rest ends the run; what was not saved is as if it had not happened.
func (p *Phone) rest(c wire.Code) []Effect {
	p.phase, p.learned, p.notices = resting, nil, nil
	return []Effect{Rest{Code: c}}
}

func (p *Phone) note(n Notable) { p.notices = append(p.notices, n) }
