package badgerstore

import (
	"crypto/cipher"
	"encoding/base64"
	"encoding/binary"
	"errors"
	"fmt"
	"strconv"
	"time"

	"unsling/engine/rom"
	"unsling/server/ledger"
	"unsling/sync/wire"
)

// head is the end of one patient's log.
type head struct {
	Seq   int64                 `json:"seq"`
	Hash  wire.Hash             `json:"hash"`
	Plans map[rom.EpisodeID]int `json:"plans,omitempty"` // newest revision of each episode
	Last  int                   `json:"last,omitempty"`  // highest revision of all

	Episodes map[rom.EpisodeID]int `json:"episodes,omitempty"` // newest version of each
	Aside    int                   `json:"aside,omitempty"`    // lines in quarantine

	Life *life `json:"life,omitempty"` // the latest that this log began by itself
}

// life is an epoch of one patient's log, begun because a phone said that the
// store lost the log's end. It counts within the store's epoch Of.
type life struct {
	Of     string     `json:"of"`
	Epoch  string     `json:"epoch"`
	Clinic rom.Author `json:"clinic"` // author of the clinic's lines in it
	Since  time.Time  `json:"since"`
}

func (h head) cursor() wire.Cursor { return wire.Cursor{Seq: h.Seq, Hash: h.Hash} }

func headKey(p rom.PatientID) []byte { return key("hd", string(p)) }

func lineKey(p rom.PatientID, seq int64) []byte { return withN(under("lg", string(p)), seq) }

func indexKey(p rom.PatientID, a rom.Author, n int64) []byte {
	return withN(under("ix", string(p), string(a)), n)
}

func markKey(p rom.PatientID, a rom.Author) []byte { return key("mk", string(p), string(a)) }

func (t *txn) mark(k []byte) (wire.Mark, error) {
	var m wire.Mark
	if err := t.row(k, &m); err != nil && !errors.Is(err, ledger.ErrUnknown) {
		return m, err
	}
	return m, nil
}

// place is an entry of the index: where line n of an author is, and what it
// is. Seq is 0 for a line that was set aside.
type place struct {
	seq  int64
	hash wire.Hash
}

func (t *txn) putPlace(p rom.PatientID, a rom.Author, n int64, at place) error {
	b := binary.BigEndian.AppendUint64(nil, uint64(at.seq))
	return t.put(indexKey(p, a, n), append(b, at.hash...))
}

func (t *txn) place(p rom.PatientID, a rom.Author, n int64) (place, error) {
	b, err := t.get(indexKey(p, a, n))
	if err != nil {
		return place{}, err
	}
	if len(b) < 8 {
		return place{}, fmt.Errorf("%w: index", ledger.ErrDamaged)
	}
	return place{int64(binary.BigEndian.Uint64(b)), wire.Hash(b[8:])}, nil
}

// belongs is the additional data of a line: it cannot be moved to another
// patient, author or number. use keeps logged, sealed and quarantined lines
// apart.
func belongs(use string, p rom.PatientID, a rom.Author, n int64) string {
	return use + "|" + string(p) + "|" + string(a) + "|" + strconv.FormatInt(n, 10)
}

// A stored line is the length of the author, the author, n, the hash (32
// bytes), and the encrypted text.
func (s *Store) packLine(content cipher.AEAD, use string, p rom.PatientID, l ledger.Line) ([]byte, error) {
	hash, err := base64.RawURLEncoding.DecodeString(string(l.Hash))
	if err != nil || len(hash) != 32 || len(l.Author) > 64 {
		return nil, errors.New("store line: author or hash is not as it must be")
	}
	b := make([]byte, 0, 1+len(l.Author)+8+32+12+len(l.Bytes)+16)
	b = append(b, byte(len(l.Author)))
	b = append(b, l.Author...)
	b = binary.BigEndian.AppendUint64(b, uint64(l.N))
	b = append(b, hash...)
	return seal(content, s.opt.Chance, b, l.Bytes, belongs(use, p, l.Author, l.N))
}

// unpackLine is the inverse. With content nil the text was erased. It holds
// the text to its hash.
func unpackLine(content cipher.AEAD, use string, p rom.PatientID, b []byte) (ledger.Line, error) {
	damaged := fmt.Errorf("%w: line", ledger.ErrDamaged)
	if len(b) < 1 || len(b) < 1+int(b[0])+8+32 {
		return ledger.Line{}, damaged
	}
	var l ledger.Line
	l.Author, b = rom.Author(b[1:1+b[0]]), b[1+b[0]:]
	l.N, b = int64(binary.BigEndian.Uint64(b)), b[8:]
	l.Hash, b = wire.Hash(base64.RawURLEncoding.EncodeToString(b[:32])), b[32:]
	if content == nil {
		l.Erased = true
		return l, nil
	}
	text, err := unseal(content, b, belongs(use, p, l.Author, l.N))
	if err != nil {
		return l, err
	}
	if wire.HashOf(text) != l.Hash {
		return l, damaged
	}
	l.Bytes = text
	return l, nil
}

// logged appends lines to a log within one transaction, and writes the head
// when it is done.
type logged struct {
	s       *Store
	t       *txn
	p       rom.PatientID
	content cipher.AEAD
	head    head
	changed bool
}

func (s *Store) openLog(t *txn, p rom.PatientID) (*logged, error) {
	l := &logged{s: s, t: t, p: p}
	if err := t.row(headKey(p), &l.head); err != nil {
		return nil, fmt.Errorf("open log: %w", err)
	}
	var err error
	l.content, err = s.contentKey(t, p)
	return l, err
}

// life is the epoch the log is in: its own one, or that of the store, which
// may have begun in this transaction.
func (l *logged) life() life {
	about := l.s.about
	if l.t.about != nil {
		about = *l.t.about
	}
	if own := l.head.Life; own != nil && own.Of == about.Epoch {
		return *own
	}
	return life{Of: about.Epoch, Epoch: about.Epoch, Clinic: about.Clinic, Since: about.Since}
}

// add gives the line its place, the next one of the log.
func (l *logged) add(line ledger.Line) (ledger.Line, error) {
	line.Seq = l.head.Seq + 1
	b, err := l.s.packLine(l.content, "log", l.p, line)
	if err != nil {
		return line, err
	}
	if err := l.t.put(lineKey(l.p, line.Seq), b); err != nil {
		return line, err
	}
	if err := l.t.putPlace(l.p, line.Author, line.N, place{line.Seq, line.Hash}); err != nil {
		return line, err
	}
	l.head.Seq, l.head.Hash, l.changed = line.Seq, line.Hash, true
	return line, nil
}

// remember notes the newest revision of a plan and version of an episode.
func (l *logged) remember(line []byte) {
	rec, err := wire.Decode(line)
	if err != nil || rec.Kind != wire.KindPlan && rec.Kind != wire.KindEpisode {
		return
	}
	body, err := wire.DecodeBody(rec.Kind, rec.V, rec.Body)
	if err != nil {
		return
	}
	switch body := body.(type) {
	case rom.Plan:
		raise(&l.head.Plans, body.Episode, body.Rev)
		l.head.Last = max(l.head.Last, body.Rev)
	case rom.Episode:
		raise(&l.head.Episodes, body.ID, body.Version)
	}
}

func raise(m *map[rom.EpisodeID]int, e rom.EpisodeID, to int) {
	if *m == nil {
		*m = make(map[rom.EpisodeID]int)
	}
	(*m)[e] = max((*m)[e], to)
}

// close writes the head, and the facts when they have fallen far behind.
func (l *logged) close() error {
	if !l.changed {
		return nil
	}
	if err := l.t.putRow(headKey(l.p), l.head); err != nil {
		return err
	}
	return l.s.keepFacts(l.t, l.p, l.content, l.head.Seq)
}

// lines reads from seq on, at most max lines and size bytes (0: no bound).
func (t *txn) lines(p rom.PatientID, content cipher.AEAD, from int64, most, size int) ([]ledger.Line, error) {
	var all []ledger.Line
	ahead := 100
	if most > 0 {
		ahead = min(ahead, most)
	}
	used := 0
	prefix := under("lg", string(p))
	err := t.each(prefix, lineKey(p, from), ahead, func(k, v []byte) error {
		if most > 0 && len(all) == most {
			return errStop
		}
		l, err := unpackLine(content, "log", p, v)
		if err != nil {
			return fmt.Errorf("line %d of a log: %w", lastN(k), err)
		}
		l.Seq = lastN(k)
		if want := from + int64(len(all)); l.Seq != want {
			return fmt.Errorf("%w: line %d of a log is missing", ledger.ErrDamaged, want)
		}
		if used += max(len(l.Bytes), erasedSize) + 1; size > 0 && used > size {
			return errStop
		}
		all = append(all, l)
		return nil
	})
	return all, err
}

// erasedSize is room for what stands in for an erased line.
const erasedSize = 100
