package badgerstore

import (
	"errors"
	"fmt"
	"time"

	"unsling/engine/rom"
	"unsling/server/ledger"
	"unsling/sync/replica"
	"unsling/sync/wire"
)

// Exchange implements ledger.Log. What is accepted is decided by package
// replica; this stores it, moves the marks, and reads what goes back.
func (s *Store) Exchange(req ledger.ExchangeRequest) (ledger.ExchangeReply, error) {
	var out ledger.ExchangeReply
	update := s.update
	if len(req.Request.Lines)+len(req.Request.Returned) > 0 {
		update = s.updateMuch
	}
	err := update(func(t *txn) error {
		row, err := s.author(t, req.Author)
		if err != nil {
			return err
		}
		switch row.State {
		case ledger.Pending:
			out = ledger.ExchangeReply{Code: wire.Pending}
			return nil
		case ledger.Revoked:
			out, err = s.exchangeSealed(t, row, req)
		default:
			out, err = s.exchangeOpen(t, row, req)
		}
		if errors.Is(err, ledger.ErrUnknown) { // the author is known: its rows should be there
			err = fmt.Errorf("%w: a row is missing", ledger.ErrDamaged)
		}
		return err
	})
	if err != nil {
		return ledger.ExchangeReply{}, fmt.Errorf("exchange: %w", err)
	}
	return out, nil
}

func (s *Store) exchangeOpen(t *txn, row ledger.Author, req ledger.ExchangeRequest) (ledger.ExchangeReply, error) {
	p, head := row.Patient, req.Request.Header
	log, err := s.openLog(t, p)
	if err != nil {
		return ledger.ExchangeReply{}, err
	}
	verdict, err := replica.Accept(row.Mark, head, req.Request.Lines, func(n int64) (wire.Hash, error) {
		at, err := t.place(p, row.ID, n)
		return at.hash, err
	})
	if err != nil {
		return ledger.ExchangeReply{}, err
	}
	for _, l := range verdict.Store {
		if _, err := log.add(ledger.Line{Author: row.ID, N: l.N, Hash: l.Hash, Bytes: l.Bytes}); err != nil {
			return ledger.ExchangeReply{}, err
		}
	}
	for _, q := range verdict.Quarantine {
		if err := s.setAside(t, log, row.ID, q, req.At); err != nil {
			return ledger.ExchangeReply{}, err
		}
	}
	returned, err := s.takeReturned(t, log, req)
	if err != nil {
		return ledger.ExchangeReply{}, err
	}
	if verdict.Mark != row.Mark {
		if err := t.putRow(markKey(p, row.ID), verdict.Mark); err != nil {
			return ledger.ExchangeReply{}, err
		}
	}
	if err := log.close(); err != nil {
		return ledger.ExchangeReply{}, err
	}
	if n := len(verdict.Store) + len(verdict.Quarantine) + returned; n > 0 {
		what := fmt.Sprintf("%d stored, %d set aside, %d returned", len(verdict.Store), len(verdict.Quarantine), returned)
		if err := t.audit(req.Trail, "exchange", string(p), what); err != nil {
			return ledger.ExchangeReply{}, err
		}
	}
	took := ledger.Took{Stored: len(verdict.Store), Known: verdict.Ignored, Aside: len(verdict.Quarantine), Returned: returned}
	out := ledger.ExchangeReply{Code: verdict.Code, Took: took, Reply: wire.Reply{
		State: wire.Active, Ack: verdict.Mark, BackedUp: row.BackedUp, Head: log.head.cursor(),
	}}
	lost := verdict.Lost
	if verdict.Lost {
		err = s.rewind(t, log, req)
	} else if out.Code == "" {
		lost, err = s.answer(t, log, req, &out)
	}
	if err != nil {
		return ledger.ExchangeReply{}, err
	}
	out.Reply.Epoch = log.life().Epoch
	elsewhere := head.Epoch != "" && head.Epoch != out.Reply.Epoch // the phone comes from another life of the log
	row.Following, row.FollowingSince = following(row, head, log.head.Last, lost || elsewhere, req.At)
	if err := t.seen(row, head, req.At); err != nil {
		return ledger.ExchangeReply{}, err
	}
	return out, nil
}

// answer reads what the phone lacks. A cursor that is not of this log means
// that the store lost its end: a new epoch tells the patient's other phones.
func (s *Store) answer(t *txn, log *logged, req ledger.ExchangeRequest, out *ledger.ExchangeReply) (lost bool, err error) {
	head := req.Request.Header
	var from int64
	from, lost, err = replica.Resume(head.Since, log.head.cursor(), func(seq int64) (wire.Hash, error) {
		b, err := t.get(lineKey(log.p, seq))
		if err != nil {
			return "", err
		}
		l, err := unpackLine(nil, "log", log.p, b)
		return l.Hash, err
	})
	if err != nil {
		return lost, err
	}
	if lost {
		if err := s.rewind(t, log, req); err != nil {
			return lost, err
		}
	}
	out.Reply.Seq = from
	if out.Lines, err = t.lines(log.p, log.content, from, req.MaxLines, req.MaxBytes); err != nil {
		return lost, err
	}
	out.Reply.More = from+int64(len(out.Lines))-1 < log.head.Seq
	return lost, nil
}

// rewind begins a new epoch of this patient's log, if what the phone remembers
// is of the present one: then the store lost its end and did not notice. What
// a phone says proves nothing, so that other patients' logs keep theirs.
func (s *Store) rewind(t *txn, log *logged, req ledger.ExchangeRequest) error {
	now := log.life()
	if req.Request.Header.Epoch != now.Epoch || log.head.Life != nil && req.At.Sub(log.head.Life.Since).Abs() < rewindPause {
		return nil
	}
	about, err := s.newLife(req.At)
	if err != nil {
		return err
	}
	log.head.Life = &life{Of: s.about.Epoch, Epoch: about.Epoch, Clinic: about.Clinic, Since: about.Since}
	if err := t.putRow(headKey(log.p), log.head); err != nil {
		return err
	}
	return t.audit(ledger.Trail{At: req.At, Actor: "server", Request: req.Trail.Request}, "epoch.rewind", string(log.p), about.Epoch)
}

// rewindPause keeps a phone with invented cursors from making an epoch with
// every request, also across restarts. It gets the log from the start in any
// case.
const rewindPause = 10 * time.Minute

// renew begins a new epoch of the whole store. A line that the clinic sealed
// in the present one came back and was not here: that proves that the store
// lost its end, perhaps of other patients' logs as well.
func (s *Store) renew(t *txn, log *logged, trail ledger.Trail) error {
	about, err := s.newLife(trail.At)
	if err != nil {
		return err
	}
	if err := t.putRow(metaKey("about"), about); err != nil {
		return err
	}
	t.about = &about
	t.done = append(t.done, func() { s.about = about })
	return t.audit(ledger.Trail{At: trail.At, Actor: "server", Request: trail.Request}, "epoch.proven", string(log.p), about.Epoch)
}

// setAside puts a line into quarantine. All but forks are acknowledged: their
// number is taken from then on.
func (s *Store) setAside(t *txn, log *logged, a rom.Author, q replica.Quarantined, at time.Time) error {
	kind := ledger.Malformed
	if q.Why == replica.Forked {
		kind = ledger.Forked
	} else if err := t.putPlace(log.p, a, q.N, place{0, q.Hash}); err != nil {
		return err
	}
	return s.putAside(t, log, a, q.Line, kind, at)
}

// takeReturned appends clinic lines that a phone gave back (replica rule 14).
func (s *Store) takeReturned(t *txn, log *logged, req ledger.ExchangeRequest) (int, error) {
	lines := req.Request.Returned
	if len(lines) == 0 {
		return 0, nil
	}
	taken, err := replica.AcceptReturned(
		func(a rom.Author) (wire.Mark, error) { return t.mark(markKey(log.p, a)) }, lines,
		func(line []byte) bool { return wire.Sealed(line, s.opt.ClinicMAC, log.p) })
	if err != nil {
		return 0, err
	}
	for _, l := range taken {
		if _, err := log.add(ledger.Line{Author: l.Ref.Author, N: l.Ref.N, Hash: l.Hash, Bytes: l.Bytes}); err != nil {
			return 0, err
		}
		log.remember(l.Bytes)
		if err := t.putRow(markKey(log.p, l.Ref.Author), wire.Mark{N: l.Ref.N, Hash: l.Hash}); err != nil {
			return 0, err
		}
		if l.Ref.Author == s.about.Clinic && t.about == nil {
			if err := s.renew(t, log, ledger.Trail{At: req.At, Request: req.Trail.Request}); err != nil {
				return 0, err
			}
		}
	}
	return len(taken), nil
}

// following is what a phone follows, as far as it is believed, and since when.
func following(row ledger.Author, h wire.Header, last int, lost bool, at time.Time) (int, time.Time) {
	rev := replica.Following(h.Following, row.Following, last, lost)
	if rev == row.Following && !row.FollowingSince.IsZero() {
		return rev, row.FollowingSince
	}
	return rev, at
}

// seen remembers what the phone said of itself.
func (t *txn) seen(row ledger.Author, h wire.Header, at time.Time) error {
	row.LastSeen, row.App = at, h.App
	return t.putRow(authorKey(row.ID), row)
}

// exchangeSealed keeps what a revoked phone sends apart, and gives it
// nothing but the acknowledgement.
func (s *Store) exchangeSealed(t *txn, row ledger.Author, req ledger.ExchangeRequest) (ledger.ExchangeReply, error) {
	log, err := s.openLog(t, row.Patient)
	if err != nil {
		return ledger.ExchangeReply{}, err
	}
	mark := row.SealedMark
	if mark.N < row.Mark.N {
		mark = row.Mark
	}
	verdict, err := replica.Accept(mark, req.Request.Header, req.Request.Lines, func(n int64) (wire.Hash, error) {
		if at, err := t.place(row.Patient, row.ID, n); !errors.Is(err, ledger.ErrUnknown) {
			return at.hash, err
		}
		b, err := t.get(sealedKey(row.ID, n))
		if err != nil {
			return "", err
		}
		l, err := unpackLine(nil, "sealed", row.Patient, b)
		return l.Hash, err
	})
	if err != nil {
		return ledger.ExchangeReply{}, err
	}
	sealed := verdict.Store
	for _, q := range verdict.Quarantine {
		if q.Why != replica.Forked { // judged again when released
			sealed = append(sealed, q.Line)
			continue
		}
		if err := s.putAside(t, log, row.ID, q.Line, ledger.Forked, req.At); err != nil {
			return ledger.ExchangeReply{}, err
		}
	}
	if err := log.close(); err != nil {
		return ledger.ExchangeReply{}, err
	}
	for _, l := range sealed {
		b, err := s.packLine(log.content, "sealed", row.Patient, ledger.Line{Author: row.ID, N: l.N, Hash: l.Hash, Bytes: l.Bytes})
		if err != nil {
			return ledger.ExchangeReply{}, err
		}
		if err := t.put(sealedKey(row.ID, l.N), b); err != nil {
			return ledger.ExchangeReply{}, err
		}
	}
	if len(sealed) > 0 {
		if err := t.putRow(sealedMarkKey(row.ID), verdict.Mark); err != nil {
			return ledger.ExchangeReply{}, err
		}
		if err := t.audit(req.Trail, "exchange.sealed", string(row.Patient), fmt.Sprintf("%d sealed", len(sealed))); err != nil {
			return ledger.ExchangeReply{}, err
		}
	}
	row.LastSeen, row.App = req.At, req.Request.Header.App
	if err := t.putRow(authorKey(row.ID), row); err != nil {
		return ledger.ExchangeReply{}, err
	}
	took := ledger.Took{Sealed: len(sealed), Known: verdict.Ignored, Aside: len(verdict.Store) + len(verdict.Quarantine) - len(sealed)}
	return ledger.ExchangeReply{Code: verdict.Code, Took: took, Reply: wire.Reply{
		Epoch: log.life().Epoch, State: wire.Revoked, Ack: verdict.Mark, BackedUp: row.BackedUp,
	}}, nil
}
