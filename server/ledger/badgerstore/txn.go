package badgerstore

import (
	"encoding/binary"
	"encoding/json"
	"errors"
	"fmt"
	"hash/crc32"
	"strings"

	"github.com/dgraph-io/badger/v4"

	"unsling/server/ledger"
)

// txn is one transaction. Values carry a checksum, because badger can return
// a wrong one without an error.
type txn struct {
	*badger.Txn
	done  []func()      // run after the commit, still alone
	about *ledger.About // a new life that begins with the commit
}

// update runs f in a transaction that nobody else writes beside, and commits
// it to the disk. On an error nothing is written.
func (s *Store) update(f func(*txn) error) error {
	if s.room.Load() >= int32(ledger.None) {
		return ledger.ErrFull
	}
	return s.updateAlways(f)
}

// updateMuch is update for what can wait until there is plenty of room.
func (s *Store) updateMuch(f func(*txn) error) error {
	if s.room.Load() >= int32(ledger.Little) {
		return ledger.ErrFull
	}
	return s.updateAlways(f)
}

// updateAlways is update whatever the room.
func (s *Store) updateAlways(f func(*txn) error) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	return guard(func() error {
		t := &txn{Txn: s.db.NewTransaction(true)}
		defer t.Discard()
		if err := f(t); err != nil {
			return err
		}
		if err := t.Commit(); err != nil {
			return fmt.Errorf("commit: %w", err)
		}
		for _, after := range t.done {
			after()
		}
		return nil
	})
}

// view runs f on one consistent state of the store.
func (s *Store) view(f func(*txn) error) error {
	return guard(func() error {
		t := &txn{Txn: s.db.NewTransaction(false)}
		defer t.Discard()
		return f(t)
	})
}

// guard turns a panic of badger over damaged files into ErrDamaged.
func guard(f func() error) (err error) {
	defer func() {
		if r := recover(); r != nil {
			err = fmt.Errorf("%w: badger: %v", ledger.ErrDamaged, r)
		}
	}()
	return f()
}

var castagnoli = crc32.MakeTable(crc32.Castagnoli)

// put stores a value after its checksum. The key is part of what is summed:
// a value that turns up under another key is damage too.
func (t *txn) put(key, value []byte) error {
	b := make([]byte, 4, 4+len(value))
	b = append(b, value...)
	binary.BigEndian.PutUint32(b, checksum(key, value))
	if err := t.Set(key, b); err != nil {
		return fmt.Errorf("write: %w", err)
	}
	return nil
}

func checksum(key, value []byte) uint32 {
	return crc32.Update(crc32.Checksum(key, castagnoli), castagnoli, value)
}

// get returns a copy of the value; ErrUnknown if there is none, ErrDamaged
// if it is not what was stored.
func (t *txn) get(key []byte) ([]byte, error) {
	item, err := t.Get(key)
	if errors.Is(err, badger.ErrKeyNotFound) {
		return nil, ledger.ErrUnknown
	}
	if err != nil {
		return nil, fmt.Errorf("read: %w", err)
	}
	return value(item)
}

func value(item *badger.Item) ([]byte, error) {
	b, err := item.ValueCopy(nil)
	if err != nil {
		return nil, fmt.Errorf("%w: read: %w", ledger.ErrDamaged, err)
	}
	if len(b) < 4 || binary.BigEndian.Uint32(b) != checksum(item.Key(), b[4:]) {
		return nil, fmt.Errorf("%w: row in space %.2s", ledger.ErrDamaged, item.Key())
	}
	return b[4:], nil
}

func (t *txn) has(key []byte) (bool, error) {
	_, err := t.Get(key)
	if errors.Is(err, badger.ErrKeyNotFound) {
		return false, nil
	}
	if err != nil {
		return false, fmt.Errorf("read: %w", err)
	}
	return true, nil
}

// row reads a JSON row into v.
func (t *txn) row(key []byte, v any) error {
	b, err := t.get(key)
	if err != nil {
		return err
	}
	if err := json.Unmarshal(b, v); err != nil {
		return fmt.Errorf("%w: row in space %.2s: %w", ledger.ErrDamaged, key, err)
	}
	return nil
}

func (t *txn) putRow(key []byte, v any) error {
	b, err := json.Marshal(v)
	if err != nil {
		return fmt.Errorf("write row: %w", err)
	}
	return t.put(key, b)
}

var errStop = errors.New("stop")

// each calls f for the keys from start on that begin with prefix, in order,
// until f returns an error; errStop ends the walk without one. ahead is how
// many values are fetched together.
func (t *txn) each(prefix, start []byte, ahead int, f func(key, value []byte) error) error {
	return t.walk(prefix, start, ahead, func(item *badger.Item) error {
		v, err := value(item)
		if err != nil {
			return err
		}
		return f(item.KeyCopy(nil), v)
	})
}

// keys is each without the values.
func (t *txn) keys(prefix []byte, f func(key []byte) error) error {
	return t.walk(prefix, prefix, 0, func(item *badger.Item) error { return f(item.KeyCopy(nil)) })
}

func (t *txn) walk(prefix, start []byte, ahead int, f func(*badger.Item) error) error {
	o := badger.IteratorOptions{Prefix: prefix, PrefetchValues: ahead > 0, PrefetchSize: ahead}
	it := t.NewIterator(o)
	defer it.Close()
	for it.Seek(start); it.ValidForPrefix(prefix); it.Next() {
		if err := f(it.Item()); errors.Is(err, errStop) {
			return nil
		} else if err != nil {
			return err
		}
	}
	return nil
}

// errID means that an id could not be part of a key.
var errID = errors.New("id must be 1 to 64 letters, digits, dots, dashes or underscores")

func checkID(ids ...string) error {
	for _, id := range ids {
		if id == "" || len(id) > 64 {
			return errID
		}
		for _, c := range []byte(id) {
			if !(c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z' || c >= '0' && c <= '9' || c == '-' || c == '_' || c == '.') {
				return errID
			}
		}
	}
	return nil
}

func metaKey(name string) []byte { return []byte("00/" + name) }

// key joins a space and ids; under ends it with a slash, for use as a prefix.
func key(space string, ids ...string) []byte { return []byte(space + "/" + strings.Join(ids, "/")) }
func under(space string, ids ...string) []byte {
	return append(key(space, ids...), '/')
}

func withN(prefix []byte, n int64) []byte {
	return binary.BigEndian.AppendUint64(prefix, uint64(n))
}

func lastN(key []byte) int64 { return int64(binary.BigEndian.Uint64(key[len(key)-8:])) }

func lastPart(key []byte) string { return string(key[strings.LastIndexByte(string(key), '/')+1:]) }
