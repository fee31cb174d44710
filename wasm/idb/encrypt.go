//go:build js && wasm

package idb

import (
	"bytes"
	"context"
	"errors"

	"unsling/sync/journal"
)

// encryptPage rows are encrypted in one transaction.
const encryptPage = 200

// Clear reports whether something was read that lies in the database in clear: it was written by a program of before.
func (j *Journal) Clear() bool { return j.clear.Load() }

// EncryptOld encrypts what lies in the database in clear, page by page, each page in one strict transaction that writes only
// over what was read. It may be stopped at any point and begun again; nothing is ever missing meanwhile. It gives how many
// values it has encrypted. A full disk is journal.ErrFull: the rest stays readable as it is.
func (j *Journal) EncryptOld(ctx context.Context) (done int, err error) {
	err = j.db.pages(ctx, func(packed [][]byte) error {
		for len(packed) > 0 {
			page := packed[:min(len(packed), encryptPage)]
			packed = packed[len(page):]
			n, err := j.encryptRows(ctx, page)
			done += n
			if err != nil {
				return err
			}
		}
		return nil
	})
	for _, s := range []Store{Meta, Blobs} {
		if err != nil {
			break
		}
		n := 0
		n, err = j.encryptItems(ctx, s)
		done += n
	}
	if err == nil {
		j.clear.Store(false)
	}
	return done, j.translate(err)
}

func (j *Journal) encryptRows(ctx context.Context, packed [][]byte) (done int, err error) {
	list, err := unpackAll(packed)
	if err != nil {
		return 0, err
	}
	var rows []journal.Row
	var checks []Check
	for i, s := range list {
		if !s.encrypted {
			rows = append(rows, s.Row)
			checks = append(checks, Check{Log, Line(string(s.Author), s.N), packed[i]})
		}
	}
	if len(rows) == 0 {
		return 0, nil
	}
	values, err := j.cipher.packRows(ctx, rows)
	if err != nil {
		return 0, err
	}
	return j.replace(ctx, checks, values)
}

func (j *Journal) encryptItems(ctx context.Context, s Store) (done int, err error) {
	names, err := j.db.Names(ctx, s)
	if err != nil {
		return 0, err
	}
	for _, name := range names {
		old, err := j.db.Get(ctx, s, Name(name))
		if err != nil {
			return done, err
		}
		if old == nil || bytes.HasPrefix(old, mark1) { // nil: a key of the browser's, or gone meanwhile
			continue
		}
		value, err := j.cipher.encryptItem(ctx, s, name, old)
		if err != nil {
			return done, err
		}
		n, err := j.replace(ctx, []Check{{s, Name(name), old}}, [][]byte{value})
		if done += n; err != nil {
			return done, err
		}
	}
	return done, nil
}

// replace writes the values over what the checks say is there. What another window has changed meanwhile is left to the next
// pass: whoever changed it has encrypted it.
func (j *Journal) replace(ctx context.Context, checks []Check, values [][]byte) (done int, err error) {
	ops := make([]Op, len(checks))
	for i, c := range checks {
		ops[i] = Put(c.Store, c.Key, values[i])
	}
	err = j.db.Write(ctx, checks, ops...)
	switch {
	case err == nil:
		return len(ops), nil
	case !errors.Is(err, ErrChanged):
		return 0, err
	case len(ops) == 1:
		return 0, nil
	}
	for i := range ops {
		n, err := j.replace(ctx, checks[i:i+1], values[i:i+1])
		if done += n; err != nil {
			return done, err
		}
	}
	return done, nil
}
