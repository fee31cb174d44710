package badgerstore

import (
	"errors"
	"fmt"
	"io"
	"strconv"

	"unsling/engine/rom"
	"unsling/server/ledger"
	"unsling/sync/replica"
	"unsling/sync/wire"
)

// Append implements ledger.Log.
func (s *Store) Append(p rom.PatientID, drafts []ledger.Draft, base *ledger.Base, trail ledger.Trail) ([]ledger.Line, error) {
	var lines []ledger.Line
	err := s.update(func(t *txn) (err error) {
		lines, err = s.appendClinic(t, p, drafts, base, trail)
		return err
	})
	if err != nil {
		return nil, fmt.Errorf("append clinic records: %w", err)
	}
	return lines, nil
}

// appendClinic makes lines of drafts: the next ones of the clinic's author of
// this epoch, sealed with the clinic's MAC.
func (s *Store) appendClinic(t *txn, p rom.PatientID, drafts []ledger.Draft, base *ledger.Base, trail ledger.Trail) ([]ledger.Line, error) {
	log, err := s.openLog(t, p)
	if err != nil {
		return nil, err
	}
	if base != nil && base.Base != log.head.Plans[base.Episode] {
		return nil, log.stale(base.Episode, base.Base)
	}
	author := log.life().Clinic
	mark, err := t.mark(markKey(p, author))
	if err != nil {
		return nil, err
	}
	var lines []ledger.Line
	for _, d := range drafts {
		if err := s.checkDraft(t, log, d, base != nil && base.Tightens); err != nil {
			return nil, err
		}
		text, err := s.sealDraft(d, author, mark, p)
		if err != nil {
			return nil, err
		}
		mark = wire.Mark{N: mark.N + 1, Hash: wire.HashOf(text)}
		line, err := log.add(ledger.Line{Author: author, N: mark.N, Hash: mark.Hash, Bytes: text})
		if err != nil {
			return nil, err
		}
		log.remember(text)
		lines = append(lines, line)
		if err := t.audit(trail, "record."+string(d.Kind), string(p), string(author)+" "+strconv.FormatInt(mark.N, 10)); err != nil {
			return nil, err
		}
	}
	if err := t.putRow(markKey(p, author), mark); err != nil {
		return nil, err
	}
	return lines, log.close()
}

// checkDraft holds a draft to its kind, and plans and episodes to their chains
// of revisions (replica rule 10). tightens is what the clinic says of a plan;
// a stop or a pause says so itself.
func (s *Store) checkDraft(t *txn, log *logged, d ledger.Draft, tightens bool) error {
	info, known := wire.Info(d.Kind)
	if !known || !info.Clinic {
		return fmt.Errorf("the clinic writes no records of kind %q", d.Kind)
	}
	body, err := wire.DecodeBody(d.Kind, d.V, d.Body)
	if err != nil {
		return fmt.Errorf("a %s record: %w", d.Kind, err)
	}
	if e, ok := body.(rom.Episode); ok && e.Version != log.head.Episodes[e.ID]+1 {
		return &ledger.StaleError{Episode: e.ID, Base: e.Version - 1, Newest: log.head.Episodes[e.ID], Last: log.head.Last}
	}
	plan, ok := body.(rom.Plan)
	if !ok {
		return nil
	}
	following := 0
	phones, err := s.authors(t, log.p)
	if err != nil {
		return err
	}
	for _, a := range phones {
		if a.State == ledger.Active && a.Following <= log.head.Last+replica.LostMost { // an older program took any number
			following = max(following, a.Following)
		}
	}
	err = replica.CheckRevision(plan.Base, plan.Rev, log.head.Plans[plan.Episode], log.head.Last, following, tightens || plan.State != rom.Running)
	if errors.Is(err, ledger.ErrStale) {
		return log.stale(plan.Episode, plan.Base)
	}
	return err
}

func (l *logged) stale(e rom.EpisodeID, base int) error {
	return &ledger.StaleError{Episode: e, Base: base, Newest: l.head.Plans[e], Last: l.head.Last}
}

func (s *Store) sealDraft(d ledger.Draft, author rom.Author, mark wire.Mark, p rom.PatientID) ([]byte, error) {
	var salt [16]byte
	if _, err := io.ReadFull(s.opt.Chance, salt[:]); err != nil {
		return nil, fmt.Errorf("draw salt: %w", err)
	}
	zone := d.Zone
	if zone == "" {
		zone = "UTC"
	}
	return wire.Seal(wire.Record{
		Author: author, N: mark.N + 1, Prev: mark.Prev(), Salt: wire.Salt(salt),
		Kind: d.Kind, V: d.V, Run: s.opt.Run, Mono: max(0, d.At.Sub(s.opt.Started).Milliseconds()),
		At: d.At, TZ: zone, Rev: d.Rev, Body: d.Body,
	}, s.opt.ClinicMAC, p)
}

// Read implements ledger.Log.
func (s *Store) Read(p rom.PatientID, from int64, most int) ([]ledger.Line, error) {
	var lines []ledger.Line
	err := s.view(func(t *txn) error {
		if ok, err := t.has(headKey(p)); err != nil {
			return err
		} else if !ok {
			return ledger.ErrUnknown
		}
		content, err := s.contentKey(t, p)
		if err != nil && !errors.Is(err, ledger.ErrErased) {
			return err
		}
		lines, err = t.lines(p, content, max(1, from), most, 0)
		return err
	})
	return lines, err
}
