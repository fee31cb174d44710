package badgerstore

import (
	"bytes"
	"compress/gzip"
	"crypto/cipher"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"slices"
	"sync"

	"unsling/engine/rom"
	"unsling/server/ledger"
)

// Facts are kept as of some line of the log; what came later is folded when
// somebody reads. They are written again when that rest has grown to a
// quarter of what they cover, so that the cost of keeping them stays in
// proportion to what is appended, however long the log.
const (
	restLeast = 64
	restShare = 4
)

func factsKey(p rom.PatientID) []byte { return key("fa", string(p)) }

// keepFacts writes the facts if they have fallen behind the head.
func (s *Store) keepFacts(t *txn, p rom.PatientID, content cipher.AEAD, head int64) error {
	kept, err := t.keptFacts(p, content, s.opt.Fold.Version, false)
	if err != nil {
		return err
	}
	if rest := head - kept.Seq; rest < restLeast || rest*restShare < kept.Seq {
		return nil
	}
	fresh, err := s.foldTo(t, p, content, head)
	if err != nil {
		return err
	}
	return s.putFacts(t, p, content, fresh)
}

var packers = sync.Pool{New: func() any {
	w, err := gzip.NewWriterLevel(nil, gzip.BestSpeed)
	if err != nil {
		panic(err) // only of a level that there is not
	}
	return w
}}

func (s *Store) putFacts(t *txn, p rom.PatientID, content cipher.AEAD, f ledger.Facts) error {
	var small bytes.Buffer
	w := packers.Get().(*gzip.Writer)
	defer packers.Put(w)
	w.Reset(&small)
	_, err := w.Write(f.Data)
	if err = errors.Join(err, w.Close()); err != nil {
		return fmt.Errorf("write facts: %w", err)
	}
	b := binary.BigEndian.AppendUint64(nil, uint64(f.Version))
	b = binary.BigEndian.AppendUint64(b, uint64(f.Seq))
	if b, err = seal(content, s.opt.Chance, b, small.Bytes(), belongs("facts", p, "", f.Seq)); err != nil {
		return err
	}
	return t.put(factsKey(p), b)
}

// keptFacts returns the facts that are stored, or none if they are of
// another version. Without data it reads only what they cover.
func (t *txn) keptFacts(p rom.PatientID, content cipher.AEAD, version int, data bool) (ledger.Facts, error) {
	none := ledger.Facts{Version: version}
	b, err := t.get(factsKey(p))
	if errors.Is(err, ledger.ErrUnknown) {
		return none, nil
	}
	if err != nil {
		return none, err
	}
	if len(b) < 16 {
		return none, fmt.Errorf("%w: facts", ledger.ErrDamaged)
	}
	f := ledger.Facts{Version: int(binary.BigEndian.Uint64(b)), Seq: int64(binary.BigEndian.Uint64(b[8:]))}
	if f.Version != version {
		return none, nil
	}
	if !data {
		return f, nil
	}
	small, err := unseal(content, b[16:], belongs("facts", p, "", f.Seq))
	if err != nil {
		return none, err
	}
	r, err := gzip.NewReader(bytes.NewReader(small))
	if err == nil {
		f.Data, err = io.ReadAll(r)
	}
	if err != nil {
		return none, fmt.Errorf("%w: facts", ledger.ErrDamaged)
	}
	return f, nil
}

// foldTo returns the facts as of line head: those remembered or stored, with
// the rest of the log added. Damaged facts are no loss: they are made again.
func (s *Store) foldTo(t *txn, p rom.PatientID, content cipher.AEAD, head int64) (ledger.Facts, error) {
	f, ok := s.cache.get(p)
	if !ok || f.Version != s.opt.Fold.Version || f.Seq > head {
		var err error
		if f, err = t.keptFacts(p, content, s.opt.Fold.Version, true); err != nil || f.Seq > head {
			f = ledger.Facts{Version: s.opt.Fold.Version}
		}
	}
	return s.foldOn(t, p, content, f, head)
}

// foldOn adds the lines after f up to head.
func (s *Store) foldOn(t *txn, p rom.PatientID, content cipher.AEAD, f ledger.Facts, head int64) (ledger.Facts, error) {
	for f.Seq < head {
		lines, err := t.lines(p, content, f.Seq+1, int(min(head-f.Seq, 1000)), 0)
		if err != nil {
			return f, fmt.Errorf("fold: %w", err)
		}
		if len(lines) == 0 {
			return f, fmt.Errorf("%w: the log ends at line %d and not at %d", ledger.ErrDamaged, f.Seq, head)
		}
		if f.Data, err = s.opt.Fold.Add(f.Data, lines); err != nil {
			return f, fmt.Errorf("fold: %w", err)
		}
		f.Data = slices.Clip(f.Data)
		f.Seq = lines[len(lines)-1].Seq
	}
	return f, nil
}

// factsTo returns the facts of the whole log and remembers them. It must be
// called in a transaction that only reads, where head is the end of the log.
func (s *Store) factsTo(t *txn, p rom.PatientID, content cipher.AEAD, head int64) (ledger.Facts, error) {
	if head == 0 {
		return ledger.Facts{Version: s.opt.Fold.Version}, nil
	}
	f, err := s.foldTo(t, p, content, head)
	if err == nil {
		s.cache.put(p, f)
	}
	return f, err
}

// Facts implements ledger.Log.
func (s *Store) Facts(p rom.PatientID) (ledger.Facts, error) {
	var f ledger.Facts
	err := s.view(func(t *txn) error {
		var h head
		if err := t.row(headKey(p), &h); err != nil {
			return err
		}
		content, err := s.contentKey(t, p)
		if err != nil {
			return err
		}
		f, err = s.factsTo(t, p, content, h.Seq)
		return err
	})
	return f, err
}

// factsCache remembers facts that were made, up to a number of bytes.
type factsCache struct {
	mu   *sync.Mutex
	made map[rom.PatientID]ledger.Facts
	size int
}

const cacheBytes = 16 << 20

func newFactsCache() factsCache {
	return factsCache{mu: new(sync.Mutex), made: make(map[rom.PatientID]ledger.Facts)}
}

func (c *factsCache) get(p rom.PatientID) (ledger.Facts, bool) {
	c.mu.Lock()
	defer c.mu.Unlock()
	f, ok := c.made[p]
	return f, ok
}

// drop forgets the facts of one patient.
func (c *factsCache) drop(p rom.PatientID) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.size -= len(c.made[p].Data)
	delete(c.made, p)
}

func (c *factsCache) put(p rom.PatientID, f ledger.Facts) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if old, ok := c.made[p]; ok {
		if old.Version == f.Version && old.Seq >= f.Seq {
			return
		}
		c.size -= len(old.Data)
		delete(c.made, p)
	}
	for other, old := range c.made { // any will do: all can be made again
		if c.size+len(f.Data) <= cacheBytes {
			break
		}
		c.size -= len(old.Data)
		delete(c.made, other)
	}
	if len(f.Data) <= cacheBytes {
		c.made[p] = f
		c.size += len(f.Data)
	}
}
