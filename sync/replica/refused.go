package replica

import "unsling/sync/wire"

// refused takes in a refusal.
func (p *Phone) refused(e Refused) []Effect {
	switch e.Err.Code {
	case wire.TooBig:
		return p.halve()
	case wire.Fork:
		if p.phase == sending {
			return p.register(p.from())
		}
	case wire.Gap:
		if p.phase == sending {
			return p.gap(e)
		}
	case wire.Forbidden:
		if p.phase == registering && !p.asked {
			return p.ask()
		}
	case wire.UnknownDevice:
		if !p.state.Unknown {
			next := p.state.clone()
			next.Unknown = true
			p.note(NotKnown)
			return p.save(Save{State: next}, &Rest{Code: wire.UnknownDevice})
		}
	}
	return p.rest(e.Err.Code)
}

// ask sends nothing and wants to know only how this phone stands: it may not
// become another device, perhaps because it was revoked, and would not hear
// of that from the refusal of what it sends.
func (p *Phone) ask() []Effect {
	p.asked, p.phase = true, sending
	p.sent = wire.Request{Header: wire.Header{
		Proto: wire.Proto, App: p.wake.App, Author: p.state.Author, From: 1,
		Since: p.state.Since, Epoch: p.state.Epoch, Following: p.wake.Following,
	}}
	return []Effect{Send{p.sent}}
}

// halve sends half of what was too big.
func (p *Phone) halve() []Effect {
	n := len(p.sent.Lines) + len(p.sent.Returned)
	if p.phase != sending || n < 2 {
		return p.rest(wire.TooBig)
	}
	p.lines = n / 2
	p.bytes = max(wire.MaxLine+1, p.bytes/2)
	return p.read()
}

// gap restarts at the server's mark (rules 3 and 5). Where that leads
// nowhere, the numbers are another's, or what is missing was dropped here
// after a verified backup: all that is left goes on under a new name.
func (p *Phone) gap(e Refused) []Effect {
	var ack wire.Mark
	if e.Err.Ack != nil {
		ack = *e.Err.Ack
	}
	next := p.state.clone()
	switch {
	case ack.N < p.pruned:
		p.note(TooLate)
		return p.register(p.pruned + 1)
	case ack.N > e.Tail.N:
		next.Acked = e.Tail // the disk has lost its tail; the log brings it
	case ack.N == 0 || ack.Hash == e.Mine:
		next.Acked = ack
	}
	if next.Acked == p.state.Acked {
		return p.register(p.pruned + 1)
	}
	p.note(ServerRewound)
	next.Rewound = true
	return p.save(Save{State: next}, nil)
}
