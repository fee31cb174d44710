package badgerstore

import (
	"crypto/cipher"
	"errors"
	"fmt"
	"strconv"

	"github.com/dgraph-io/badger/v4"

	"unsling/engine/rom"
	"unsling/server/ledger"
)

// rewrapAtOnce keeps a transaction within what badger takes.
const rewrapAtOnce = 300

// rewrapKey is the row that marks a change of the content key under way; it
// holds the witness under the key to come.
func rewrapKey() []byte { return metaKey("rewrap") }

// Rewrapped is what a change of the content key came to.
type Rewrapped struct {
	Patients int             // whose keys were wrapped anew, this time
	Damaged  []rom.PatientID // whose wrapped keys neither key opens
	Already  bool            // an earlier change to the same key had finished
	// Purged tells whether what the old key opens is gone from the store's
	// files too; if not, do it again later.
	Purged bool
}

// Rewrap wraps the content key of every patient under the key fresh instead
// of opt.Content. What patients wrote is not touched. It may be broken off at
// any time: until it has been called again with the same two keys and has
// finished, the store opens with neither (ErrKeyChange). What the store
// remembers of its backup is forgotten, so that the next one holds the new
// wrapping of every key.
func Rewrap(dir string, opt Options, fresh []byte, trail ledger.Trail) (Rewrapped, error) {
	return rewrap(dir, opt, fresh, trail, func() error { return nil })
}

// rewrap calls between before every transaction.
func rewrap(dir string, opt Options, fresh []byte, trail ledger.Trail, between func() error) (Rewrapped, error) {
	var out Rewrapped
	next, err := gcm(fresh)
	if err != nil {
		return out, fmt.Errorf("new content key: %w", err)
	}
	s, err := openDB(dir, opt)
	if err != nil {
		return out, err
	}
	w := &rewrapping{s: s, next: next, out: &out, between: between}
	if err = w.run(trail); err != nil {
		err = fmt.Errorf("change the content key: %w", err)
	}
	return out, errors.Join(err, s.db.Close())
}

type rewrapping struct {
	s       *Store
	next    cipher.AEAD
	out     *Rewrapped
	between func() error
}

func (w *rewrapping) run(trail ledger.Trail) error {
	if err := w.begin(); err != nil {
		return err
	}
	for after := []byte("ck/"); !w.out.Already && after != nil; {
		if err := w.between(); err != nil {
			return err
		}
		if err := w.s.update(func(t *txn) (err error) {
			after, err = w.some(t, after)
			return err
		}); err != nil {
			return err
		}
	}
	if err := w.between(); err != nil {
		return err
	}
	if !w.out.Already {
		if err := w.s.update(func(t *txn) error { return w.finish(t, trail) }); err != nil {
			return err
		}
	}
	if err := w.between(); err != nil {
		return err
	}
	var err error
	w.out.Purged, err = w.purge()
	return err
}

// begin looks at how far an earlier one came, and leaves the mark.
func (w *rewrapping) begin() error {
	return w.s.update(func(t *txn) error {
		if err := t.row(metaKey("about"), &w.s.about); err != nil {
			return err
		}
		if err := w.s.checkLayout(t); err != nil {
			return err
		}
		mark, err := t.get(rewrapKey())
		if err == nil {
			if plain, err := unseal(w.next, mark, "witness"); err != nil || string(plain) != witness {
				return fmt.Errorf("%w, and it was to another key than this one", ledger.ErrKeyChange)
			}
			return nil
		}
		if !errors.Is(err, ledger.ErrUnknown) {
			return err
		}
		have, err := t.get(metaKey("witness"))
		if err != nil {
			return err
		}
		if plain, err := unseal(w.next, have, "witness"); err == nil && string(plain) == witness {
			w.out.Already = true
			return nil
		}
		if err := w.s.checkKEK(t); err != nil {
			return err
		}
		sealed, err := seal(w.next, w.s.opt.Chance, nil, []byte(witness), "witness")
		if err != nil {
			return err
		}
		return t.put(rewrapKey(), sealed)
	})
}

// some wraps some keys anew and returns from where to go on, nil at the end.
func (w *rewrapping) some(t *txn, from []byte) (next []byte, err error) {
	var keys [][]byte
	err = t.walk([]byte("ck/"), from, 0, func(item *badger.Item) error {
		k := item.KeyCopy(nil)
		if len(keys) == rewrapAtOnce {
			next = k
			return errStop
		}
		keys = append(keys, k)
		return nil
	})
	for _, k := range keys {
		if err == nil {
			err = w.one(t, k)
		}
	}
	return next, err
}

func (w *rewrapping) one(t *txn, k []byte) error {
	p := lastPart(k)
	what := "content " + p
	wrapped, err := t.get(k)
	if errors.Is(err, ledger.ErrDamaged) {
		w.out.Damaged = append(w.out.Damaged, rom.PatientID(p))
		return nil
	}
	if err != nil || len(wrapped) == 0 { // erased
		return err
	}
	if _, err := unseal(w.next, wrapped, what); err == nil {
		return nil
	}
	raw, err := w.s.vault.unwrap(wrapped, what)
	if err != nil {
		w.out.Damaged = append(w.out.Damaged, rom.PatientID(p))
		return nil
	}
	if wrapped, err = seal(w.next, w.s.opt.Chance, nil, raw, what); err != nil {
		return err
	}
	w.out.Patients++
	return t.put(k, wrapped)
}

func (w *rewrapping) finish(t *txn, trail ledger.Trail) error {
	sealed, err := seal(w.next, w.s.opt.Chance, nil, []byte(witness), "witness")
	if err != nil {
		return err
	}
	return errors.Join(t.put(metaKey("witness"), sealed), t.Delete(rewrapKey()), t.putRow(metaKey("backup"), ledger.BackupState{}),
		t.audit(trail, "content-key.change", "", strconv.Itoa(w.out.Patients)))
}

// purge makes badger write its files anew and reports whether only one
// version of every wrapped key is left in them.
func (w *rewrapping) purge() (bool, error) {
	if w.s.db.Opts().InMemory {
		return true, nil
	}
	if err := w.s.rewrite(nil); err != nil {
		return false, err
	}
	gone := true
	err := w.s.view(func(t *txn) error {
		it := t.NewIterator(badger.IteratorOptions{Prefix: []byte("ck/"), AllVersions: true})
		defer it.Close()
		last := ""
		for it.Rewind(); it.Valid(); it.Next() {
			if k := string(it.Item().Key()); k == last {
				gone = false
			} else {
				last = k
			}
		}
		return nil
	})
	return gone, err
}
