package client

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"slices"
	"time"

	"unsling/engine/rom"
	"unsling/sync/journal"
	"unsling/sync/replica"
	"unsling/sync/wire"
)

// Server is the other side of an exchange as the Syncer needs it; a Client
// is one.
type Server interface {
	// Exchange sends and returns the answer. Errors are *wire.Error for a
	// refusal and ErrNoAnswer.
	Exchange(context.Context, wire.Request) (wire.Reply, []wire.LogLine, error)
	// Register makes a new installation under the name of old, and returns
	// its id.
	Register(ctx context.Context, old rom.Author) (rom.Author, error)
}

// Syncer brings the phone's journal and the server together. Make one for
// each start of the app. Its methods are for one goroutine at a time.
type Syncer struct {
	Store     journal.Store
	Server    Server
	App       string           // version of this program
	Following func() int       // plan revision obeyed, 0 for none
	Now       func() time.Time // wall time, only to prune
	// Learned is given lines that are new on the disk; Notice what a person
	// may want to know. Either may be nil.
	Learned func(lines [][]byte)
	Notice  func(replica.Notable)

	checked bool // the rows were looked through since this start of the app
}

// Result is where things stand after a run.
type Result struct {
	State  replica.State
	Unsent int64     // own records that the server does not have
	Done   bool      // nothing is left to be exchanged
	Code   wire.Code // the refusal that ended the run, if one did
}

// Sync runs exchanges until nothing is left or something stands in the way.
// The error is ErrNoAnswer, one of the journal's, of Keys, or that of ctx; a
// refusal of the server is no error but Result.Code. Result is valid beside
// ErrNoAnswer.
func (s *Syncer) Sync(ctx context.Context) (Result, error) {
	st, err := journal.LoadState(ctx, s.Store)
	if err != nil {
		return Result{}, err
	}
	if st.Author == "" {
		return Result{}, journal.ErrNobody
	}
	first, err := journal.First(ctx, s.Store, st.Author)
	if err != nil {
		return Result{}, err
	}
	p := replica.NewPhone(st)
	rest, err := s.run(ctx, p, replica.Wake{App: s.App, Following: s.Following(), First: first, Check: !s.checked})
	s.checked = s.checked || err == nil && rest.Done
	if errors.Is(err, journal.ErrFull) {
		if _, pruned := s.Prune(ctx); pruned != nil {
			return Result{}, pruned
		}
	}
	if err != nil && !errors.Is(err, ErrNoAnswer) {
		return Result{}, err
	}
	r := Result{State: p.State(), Done: rest.Done, Code: rest.Code}
	tail, broken := journal.Tail(ctx, s.Store, r.State.Author)
	if broken != nil {
		return Result{}, broken
	}
	r.Unsent = max(0, tail.N-r.State.Acked.N)
	return r, err
}

// Prune makes room: it drops own records that a verified backup has and that
// are old (rule 4 of package replica), and returns how many.
func (s *Syncer) Prune(ctx context.Context) (int64, error) {
	st, err := journal.LoadState(ctx, s.Store)
	if err != nil {
		return 0, err
	}
	first, err := journal.First(ctx, s.Store, st.Author)
	if err != nil {
		return 0, err
	}
	own, err := journal.Lines(ctx, s.Store, st.Author, first, 10*wire.MaxLines, 10*wire.MaxRecords)
	if err != nil {
		return 0, err
	}
	p := replica.NewPhone(st)
	if _, err := s.run(ctx, p, replica.Prune{First: first, Own: own, Now: s.Now()}); err != nil {
		return 0, err
	}
	left, err := journal.First(ctx, s.Store, st.Author)
	return left - first, err
}

// run carries out what the phone decides until it rests.
func (s *Syncer) run(ctx context.Context, p *replica.Phone, e replica.Event) (replica.Rest, error) {
	var failed error
	for {
		effects := p.Step(e)
		e = nil
		for _, f := range effects {
			switch f := f.(type) {
			case replica.Rest:
				return f, failed
			case replica.Learned:
				if s.Learned != nil {
					s.Learned(f.Lines)
				}
			case replica.Notice:
				if s.Notice != nil {
					s.Notice(f.What)
				}
			default:
				if err := ctx.Err(); err != nil {
					return replica.Rest{}, err
				}
				var err error
				if e, err = s.answer(ctx, p.State(), f); err != nil {
					failed = err
				}
			}
		}
		if e == nil {
			return replica.Rest{}, failed
		}
	}
}

// answer does what the phone asks for. Beside an error the event is nil when
// the run cannot go on.
func (s *Syncer) answer(ctx context.Context, st replica.State, f replica.Effect) (replica.Event, error) {
	author := st.Author
	switch f := f.(type) {
	case replica.Read:
		return s.read(ctx, author, f)
	case replica.Save:
		return s.save(ctx, st, f)
	case replica.Send:
		return s.send(ctx, st.Old, f)
	case replica.Register:
		own, err := journal.Lines(ctx, s.Store, author, f.From, maxTail, maxTail*wire.MaxLine)
		if err != nil {
			return nil, err
		}
		id, err := s.Server.Register(ctx, author)
		if err != nil {
			return s.noAnswer(ctx, author, err)
		}
		return replica.Registered{Author: id, Own: own}, nil
	}
	panic(fmt.Sprintf("effect %T is not known here", f))
}

// maxTail bounds how many lines are moved to a new name in one transaction.
const maxTail = 1 << 16

// save saves what follows from the state was, unless another window has moved
// on since: a cursor taken back would pass over rows that the server has lost
// meanwhile, and they would never be given back.
func (s *Syncer) save(ctx context.Context, was replica.State, f replica.Save) (replica.Event, error) {
	now, err := journal.LoadState(ctx, s.Store)
	if err != nil {
		return replica.NotSaved{}, err
	}
	now.Return, now.ReturnAfter = was.Return, was.ReturnAfter // a start asks for it before it is saved
	if !bytes.Equal(now.Encode(), was.Encode()) {
		return replica.NotSaved{}, nil // the next run begins with what is there
	}
	b := journal.Batch{
		Add: rows(f.Add), Put: rows(f.Put), Meta: journal.StateItems(f.State, f.Moved),
	}
	err = s.Store.Commit(ctx, b)
	switch {
	case err == nil:
		return replica.Saved{}, nil
	case errors.Is(err, journal.ErrExists):
		return replica.NotSaved{}, nil // another window was first; the next run sees what it did
	}
	return replica.NotSaved{}, fmt.Errorf("save the exchange: %w", err)
}

func rows(in []replica.Row) []journal.Row {
	out := make([]journal.Row, len(in))
	for i, r := range in {
		out[i] = journal.Row(r)
	}
	return out
}

func (s *Syncer) send(ctx context.Context, old []rom.Author, f replica.Send) (replica.Event, error) {
	author := f.Request.Header.Author
	reply, lines, err := s.Server.Exchange(ctx, f.Request)
	if err != nil {
		return s.noAnswer(ctx, author, err)
	}
	mine, tail, err := s.mine(ctx, author, reply.Ack.N)
	if err != nil {
		return nil, err
	}
	clash, err := s.clash(ctx, old, lines)
	if err != nil {
		return nil, err
	}
	return replica.Answered{Reply: reply, Lines: lines, Mine: mine, Tail: tail, Clash: clash}, nil
}

// clash returns the rows under an earlier name that the lines would replace by
// other bytes.
func (s *Syncer) clash(ctx context.Context, old []rom.Author, lines []wire.LogLine) ([][]byte, error) {
	var out [][]byte
	for _, l := range lines {
		ref, ok := wire.Position(l.Bytes)
		if !ok || !slices.Contains(old, ref.Author) {
			continue
		}
		rows, err := s.Store.Rows(ctx, ref.Author, ref.N, 1)
		if err != nil {
			return nil, fmt.Errorf("read what a line replaces: %w", err)
		}
		if len(rows) == 1 && rows[0].N == ref.N && rows[0].Pull != replica.Barrier && !bytes.Equal(rows[0].Line, l.Bytes) {
			out = append(out, rows[0].Line)
		}
	}
	return out, nil
}

// noAnswer makes an event of the error of a question to the server.
func (s *Syncer) noAnswer(ctx context.Context, author rom.Author, err error) (replica.Event, error) {
	refused, ok := wire.AsError(err)
	if !ok {
		return replica.Failed{}, err
	}
	e := replica.Refused{Err: refused}
	var n int64
	if refused.Ack != nil {
		n = refused.Ack.N
	}
	if e.Mine, e.Tail, err = s.mine(ctx, author, n); err != nil {
		return nil, err
	}
	return e, nil
}

// mine returns the hash of the own line n, "" if it is not known, and the end
// of the own chain. The line after n knows it as well, should n be pruned.
func (s *Syncer) mine(ctx context.Context, author rom.Author, n int64) (h wire.Hash, tail wire.Mark, err error) {
	if tail, err = journal.Tail(ctx, s.Store, author); err != nil {
		return "", tail, err
	}
	if n < 1 {
		return "", tail, nil
	}
	lines, err := journal.Lines(ctx, s.Store, author, n, 1, wire.MaxLine+1)
	if err != nil || len(lines) > 0 {
		return hashOfFirst(lines), tail, err
	}
	if lines, err = journal.Lines(ctx, s.Store, author, n+1, 1, wire.MaxLine+1); err != nil || len(lines) == 0 {
		return "", tail, err
	}
	next, err := wire.Decode(lines[0])
	if err != nil {
		return "", tail, nil
	}
	return next.Prev, tail, nil
}

func hashOfFirst(lines [][]byte) wire.Hash {
	if len(lines) == 0 {
		return ""
	}
	return wire.HashOf(lines[0])
}

func (s *Syncer) read(ctx context.Context, author rom.Author, f replica.Read) (replica.Event, error) {
	own, err := journal.Lines(ctx, s.Store, author, f.From, f.Lines, f.Bytes)
	if err != nil {
		return nil, err
	}
	out := replica.GotLines{Own: own}
	if out.Tail, err = journal.Tail(ctx, s.Store, author); err != nil || !f.Return {
		return out, err
	}
	err = s.Store.Each(ctx, func(r journal.Row) error {
		switch {
		case f.Seen(r.Pull):
		case r.Author.FromClinic():
			if len(out.Returned) < f.Lines && replica.Before(f.After, r.Key()) {
				out.Returned = append(out.Returned, r.Line)
			}
		case slices.Contains(f.Old, r.Author) && len(out.Strays) < f.Lines:
			if ref, ok := wire.Position(r.Line); ok && ref == r.Key() {
				out.Strays = append(out.Strays, r.Line)
			}
		}
		return nil
	})
	if err != nil {
		return nil, fmt.Errorf("read the clinic's records: %w", err)
	}
	return out, nil
}
