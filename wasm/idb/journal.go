//go:build js && wasm

package idb

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"sync/atomic"

	"unsling/engine/rom"
	"unsling/sync/journal"
)

// Journal is the phone's log in a DB; it is a journal.Store. Errors are those of that package, and wrap those of this one.
// Everything in it is encrypted under a key that lies in the same database and cannot be read out.
type Journal struct {
	db     *DB
	cipher *cipher
	clear  atomic.Bool // something was read that lies there in clear
}

var _ journal.Store = (*Journal)(nil)

// OpenJournal opens the journal that is kept in db. ErrKeyLost: there are records and the key to them is gone; nothing may be
// written beside them.
func OpenJournal(ctx context.Context, db *DB) (*Journal, error) {
	c, err := openCipher(ctx, db)
	if err != nil {
		return nil, err
	}
	return &Journal{db: db, cipher: c}, nil
}

// Commit writes a batch as one strict transaction. All of it is encrypted before the transaction begins, since a transaction
// does not wait.
func (j *Journal) Commit(ctx context.Context, b journal.Batch) error {
	var ops []Op
	for _, ref := range b.Delete {
		ops = append(ops, Delete(Log, Line(string(ref.Author), ref.N)))
	}
	rows := append(append(make([]journal.Row, 0, len(b.Add)+len(b.Put)), b.Add...), b.Put...)
	packed, err := j.cipher.packRows(ctx, rows)
	if err != nil {
		return err
	}
	for i, r := range rows {
		write := Put
		if i < len(b.Add) {
			write = Add
		}
		ops = append(ops, write(Log, Line(string(r.Author), r.N), packed[i]))
	}
	for store, items := range map[Store][]journal.Item{Meta: b.Meta, Blobs: b.Blobs} {
		for _, it := range items {
			if it.Value == nil {
				ops = append(ops, Delete(store, Name(it.Name)))
				continue
			}
			value, err := j.cipher.encryptItem(ctx, store, it.Name, it.Value)
			if err != nil {
				return err
			}
			ops = append(ops, Put(store, Name(it.Name), value))
		}
	}
	return j.translate(j.db.Write(ctx, nil, ops...))
}

// Last gives the author's row with the highest n.
func (j *Journal) Last(ctx context.Context, a rom.Author) (row journal.Row, ok bool, err error) {
	packed, err := j.db.Last(ctx, Log, LinesOf(string(a), 0))
	if err != nil || packed == nil {
		return journal.Row{}, false, j.translate(err)
	}
	rows, err := j.open(ctx, [][]byte{packed})
	if err != nil {
		return journal.Row{}, false, err
	}
	return rows[0], true, nil
}

func (j *Journal) open(ctx context.Context, packed [][]byte) ([]journal.Row, error) {
	rows, clear, err := j.cipher.openRows(ctx, packed)
	if clear {
		j.clear.Store(true)
	}
	return rows, err
}

// Rows gives up to most rows of an author from number from on.
func (j *Journal) Rows(ctx context.Context, a rom.Author, from int64, most int) ([]journal.Row, error) {
	if most <= 0 {
		return nil, nil
	}
	list, err := j.db.Range(ctx, Log, LinesOf(string(a), from), most)
	if err != nil {
		return nil, j.translate(err)
	}
	return j.open(ctx, list)
}

// Each calls f for every row, in the order of keys.
func (j *Journal) Each(ctx context.Context, f func(journal.Row) error) error {
	err := j.db.pages(ctx, func(packed [][]byte) error {
		rows, err := j.open(ctx, packed)
		if err != nil {
			return err
		}
		for _, r := range rows {
			if err := f(r); err != nil {
				return err
			}
		}
		return nil
	})
	return j.translate(err)
}

// Meta gives the small value of a name.
func (j *Journal) Meta(ctx context.Context, name string) ([]byte, error) {
	return j.item(ctx, Meta, name)
}

// Blob gives the picture of a name.
func (j *Journal) Blob(ctx context.Context, name string) ([]byte, error) {
	return j.item(ctx, Blobs, name)
}

func (j *Journal) item(ctx context.Context, s Store, name string) ([]byte, error) {
	packed, err := j.db.Get(ctx, s, Name(name))
	if err != nil || packed == nil {
		return nil, j.translate(err)
	}
	if !bytes.HasPrefix(packed, mark1) {
		j.clear.Store(true)
	}
	return j.cipher.decryptItem(ctx, s, name, packed)
}

// BlobNames lists the pictures.
func (j *Journal) BlobNames(ctx context.Context) ([]string, error) {
	names, err := j.db.Names(ctx, Blobs)
	return names, j.translate(err)
}

// Close ends the connection.
func (j *Journal) Close() error {
	j.db.Close()
	return nil
}

func (j *Journal) translate(err error) error {
	switch {
	case err == nil:
		return nil
	case errors.Is(err, ErrExists):
		return fmt.Errorf("%w: %w", journal.ErrExists, err)
	case errors.Is(err, ErrFull):
		return fmt.Errorf("%w: %w", journal.ErrFull, err)
	case errors.Is(err, ErrLost), errors.Is(err, ErrBusy), errors.Is(err, ErrGone):
		return fmt.Errorf("%w: %w", journal.ErrClosed, err)
	}
	return err
}
