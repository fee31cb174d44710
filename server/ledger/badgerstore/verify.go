package badgerstore

import (
	"bytes"
	"context"
	"crypto/cipher"
	"errors"
	"fmt"
	"slices"

	"github.com/dgraph-io/badger/v4"

	"unsling/engine/rom"
	"unsling/server/ledger"
	"unsling/sync/wire"
)

// Health implements ledger.Upkeep.
func (s *Store) Health() (ledger.Health, error) {
	var h ledger.Health
	probe := []byte("is it still there?")
	err := s.update(func(t *txn) error { return t.put(metaKey("probe"), probe) })
	if err != nil {
		return h, fmt.Errorf("store cannot be written: %w", err)
	}
	err = s.view(func(t *txn) error {
		if got, err := t.get(metaKey("probe")); err != nil || !bytes.Equal(got, probe) {
			return errors.Join(err, errors.New("store cannot be read"))
		}
		var head auditHead
		if err := t.row([]byte("ah"), &head); err != nil && !errors.Is(err, ledger.ErrUnknown) {
			return err
		}
		h.Audit = head.Seq
		return t.keys([]byte("ck/"), func([]byte) error { h.Patients++; return nil })
	})
	if err != nil {
		return h, err
	}
	if h.Bytes, err = s.bytes(); err != nil {
		return h, fmt.Errorf("size of the store: %w", err)
	}
	return h, nil
}

// Tidy implements ledger.Upkeep. Badger never collects its value log by
// itself; lines are too short to be there.
func (s *Store) Tidy() error {
	if _, err := s.purge(); err != nil {
		return fmt.Errorf("tidy: %w", err)
	}
	if s.db.Opts().InMemory {
		return nil
	}
	err := guard(func() error { return s.db.RunValueLogGC(0.5) })
	if err != nil && !errors.Is(err, badger.ErrNoRewrite) {
		return fmt.Errorf("tidy: %w", err)
	}
	return nil
}

// Verify implements ledger.Upkeep.
func (s *Store) Verify(ctx context.Context) (ledger.Report, error) {
	var r ledger.Report
	err := s.view(func(t *txn) error {
		var patients []rom.PatientID
		if err := t.keys([]byte("ck/"), func(k []byte) error {
			patients = append(patients, rom.PatientID(lastPart(k)))
			return nil
		}); err != nil {
			return err
		}
		r.Patients = len(patients)
		for _, p := range patients {
			if err := ctx.Err(); err != nil {
				return err
			}
			c := &check{s: s, t: t, p: p, r: &r, before: map[rom.Author]wire.Mark{}}
			if err := c.run(); err != nil {
				c.fault(0, err.Error())
			}
		}
		var err error
		r.Entries, err = t.checkAudit(func(seq int64, what string) {
			r.Faults = append(r.Faults, ledger.Fault{Seq: seq, What: what})
		})
		return err
	})
	if err != nil {
		return r, fmt.Errorf("verify: %w", err)
	}
	if !s.db.Opts().InMemory {
		if err := guard(s.db.VerifyChecksum); err != nil {
			r.Faults = append(r.Faults, ledger.Fault{What: "badger's own checksums: " + err.Error()})
		}
	}
	return r, nil
}

// check walks what belongs to one patient.
type check struct {
	s       *Store
	t       *txn
	p       rom.PatientID
	r       *ledger.Report
	content cipher.AEAD
	before  map[rom.Author]wire.Mark // last line of each author on the way
}

func (c *check) fault(seq int64, what string) {
	c.r.Faults = append(c.r.Faults, ledger.Fault{Patient: c.p, Seq: seq, What: what})
}

func (c *check) run() error {
	var h head
	if err := c.t.row(headKey(c.p), &h); err != nil {
		return fmt.Errorf("head of the log: %w", err)
	}
	var err error
	if c.content, err = c.s.contentKey(c.t, c.p); err != nil {
		if errors.Is(err, ledger.ErrErased) {
			return nil
		}
		return fmt.Errorf("content key: %w", err)
	}
	if _, err := c.s.getPatient(c.t, c.p); err != nil {
		c.fault(0, "the patient's row cannot be read")
	}
	if err := c.log(h); err != nil {
		return err
	}
	if err := c.marks(); err != nil {
		return err
	}
	if aside, err := c.s.quarantine(c.t, c.p); err != nil {
		c.fault(0, "the quarantine cannot be read")
	} else if len(aside) != h.Aside {
		c.fault(0, fmt.Sprintf("%d lines are in quarantine, %d should be", len(aside), h.Aside))
	} else if len(aside) > 0 {
		of := ledger.Aside{Patient: c.p}
		for _, q := range aside {
			if q.Kind == ledger.Forked {
				of.Forked++
			} else {
				of.Malformed++
			}
		}
		c.r.Aside = append(c.r.Aside, of)
	}
	if phones, err := c.s.authors(c.t, c.p); err != nil || slices.ContainsFunc(phones, func(a ledger.Author) bool { return a.Patient != c.p }) {
		c.fault(0, "the rows of the phones cannot be read")
	}
	return c.facts(h)
}

// log walks the lines: numbers, encryption, hashes, index, chains and seals.
func (c *check) log(h head) error {
	var seq int64
	var last wire.Hash
	prefix := under("lg", string(c.p))
	err := c.t.keys(prefix, func(k []byte) error {
		c.r.Lines++
		if seq++; lastN(k) != seq {
			c.fault(seq, "lines are missing from the log")
			seq = lastN(k)
		}
		b, err := c.t.get(k)
		if err != nil {
			c.fault(seq, "the line cannot be read")
			return nil
		}
		line, err := unpackLine(c.content, "log", c.p, b)
		if err != nil {
			c.fault(seq, "the line is not as it was written")
			return nil
		}
		last = line.Hash
		c.line(seq, line)
		return nil
	})
	if err != nil {
		return err
	}
	if h.Seq != seq || h.Hash != last {
		c.fault(seq, fmt.Sprintf("the log should end at line %d", h.Seq))
	}
	return nil
}

func (c *check) line(seq int64, line ledger.Line) {
	at, err := c.t.place(c.p, line.Author, line.N)
	if err != nil || at != (place{seq, line.Hash}) {
		c.fault(seq, "the index does not lead to the line")
	}
	rec, err := wire.Decode(line.Bytes)
	switch {
	case err != nil:
		c.fault(seq, "the line is not a record")
		return
	case rec.Author != line.Author || rec.N != line.N:
		c.fault(seq, "the line stands under another author or number")
	case line.Author.FromClinic() && !wire.Sealed(line.Bytes, c.s.opt.ClinicMAC, c.p):
		c.fault(seq, "the line of the clinic has no valid seal")
	}
	before, known := c.before[line.Author]
	if !known || before.N != line.N-1 { // the one before may have been set aside
		before = wire.Mark{N: line.N - 1}
		if line.N > 1 {
			aside, err := c.t.place(c.p, line.Author, line.N-1)
			if err != nil || aside.seq != 0 {
				c.fault(seq, "the line does not follow its author's line before")
			}
			before.Hash = aside.hash
		}
	}
	if rec.Prev != before.Prev() {
		c.fault(seq, "the line does not follow its author's line before")
	}
	c.before[line.Author] = wire.Mark{N: line.N, Hash: line.Hash}
}

// marks holds every author's mark to the index: all numbers up to it are
// there, and the last one has its hash.
func (c *check) marks() error {
	prefix := under("mk", string(c.p))
	return c.t.keys(prefix, func(k []byte) error {
		c.r.Authors++
		a := rom.Author(lastPart(k))
		mark, err := c.t.mark(k)
		if err != nil {
			c.fault(0, "an author's mark cannot be read")
			return nil
		}
		var n int64
		var last place
		err = c.t.keys(under("ix", string(c.p), string(a)), func(k []byte) error {
			if n++; lastN(k) != n {
				c.fault(0, fmt.Sprintf("number %d of an author is missing", n))
				n = lastN(k)
			}
			return nil
		})
		if err == nil && n > 0 {
			last, err = c.t.place(c.p, a, n)
		}
		if err != nil || n != mark.N || n > 0 && last.hash != mark.Hash {
			c.fault(0, fmt.Sprintf("an author's mark says %d, the index ends at %d", mark.N, n))
		}
		return nil
	})
}

// facts compares what is stored with a fresh fold.
func (c *check) facts(h head) error {
	version := c.s.opt.Fold.Version
	kept, err := c.t.keptFacts(c.p, c.content, version, true)
	if err != nil {
		c.fault(0, "the facts cannot be read")
		return nil
	}
	if kept.Seq > h.Seq {
		c.fault(kept.Seq, "the facts are of lines that the log does not have")
		return nil
	}
	fresh, err := c.s.foldOn(c.t, c.p, c.content, ledger.Facts{Version: version}, kept.Seq)
	if err != nil {
		return err
	}
	if !bytes.Equal(fresh.Data, kept.Data) {
		c.fault(kept.Seq, "the facts are not what a fresh fold of the log makes")
	}
	whole, err := c.s.foldOn(c.t, c.p, c.content, fresh, h.Seq)
	if err != nil {
		return err
	}
	read, err := c.s.foldTo(c.t, c.p, c.content, h.Seq)
	if err != nil || !bytes.Equal(read.Data, whole.Data) {
		c.fault(h.Seq, "the facts that are shown are not what a fresh fold of the log makes")
	}
	return nil
}
