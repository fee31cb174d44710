//go:build js && wasm

package idb

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"strconv"
	"strings"

	"unsling/engine/rom"
	"unsling/sync/journal"
)

// Journal is the phone's log in a DB; it is a journal.Store. Errors are those of that package, and wrap those of this one.
type Journal struct{ db *DB }

var _ journal.Store = (*Journal)(nil)

// NewJournal keeps a journal in db.
func NewJournal(db *DB) *Journal { return &Journal{db: db} }

// Commit writes a batch as one strict transaction.
func (j *Journal) Commit(ctx context.Context, b journal.Batch) error {
	ops := make([]Op, 0, len(b.Delete)+len(b.Add)+len(b.Put)+len(b.Meta)+len(b.Blobs))
	for _, ref := range b.Delete {
		ops = append(ops, Delete(Log, Line(string(ref.Author), ref.N)))
	}
	for _, r := range b.Add {
		ops = append(ops, Add(Log, Line(string(r.Author), r.N), pack(r)))
	}
	for _, r := range b.Put {
		ops = append(ops, Put(Log, Line(string(r.Author), r.N), pack(r)))
	}
	for store, items := range map[Store][]journal.Item{Meta: b.Meta, Blobs: b.Blobs} {
		for _, it := range items {
			if it.Value == nil {
				ops = append(ops, Delete(store, Name(it.Name)))
				continue
			}
			ops = append(ops, Put(store, Name(it.Name), it.Value))
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
	row, err = unpack(packed)
	return row, err == nil, err
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
	return unpackAll(list)
}

// eachPage rows are held at once while all are read.
const eachPage = 2000

// Each calls f for every row, in the order of keys.
func (j *Journal) Each(ctx context.Context, f func(journal.Row) error) error {
	span := All
	for {
		list, err := j.db.Range(ctx, Log, span, eachPage)
		if err != nil {
			return j.translate(err)
		}
		rows, err := unpackAll(list)
		if err != nil {
			return err
		}
		for _, r := range rows {
			if err := f(r); err != nil {
				return err
			}
		}
		if len(list) < eachPage {
			return nil
		}
		last := rows[len(rows)-1]
		span = Span{From: Line(string(last.Author), last.N), After: true}
	}
}

// Meta gives the small value of a name.
func (j *Journal) Meta(ctx context.Context, name string) ([]byte, error) {
	b, err := j.db.Get(ctx, Meta, Name(name))
	return b, j.translate(err)
}

// Blob gives the picture of a name.
func (j *Journal) Blob(ctx context.Context, name string) ([]byte, error) {
	b, err := j.db.Get(ctx, Blobs, Name(name))
	return b, j.translate(err)
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

// pack is the stored form of a row: "author n pull", a line feed, and the line as it was written.
func pack(r journal.Row) []byte {
	head := string(r.Author) + " " + strconv.FormatInt(r.N, 10) + " " + strconv.FormatInt(r.Pull, 10) + "\n"
	return append([]byte(head), r.Line...)
}

func unpack(packed []byte) (journal.Row, error) {
	head, line, ok := bytes.Cut(packed, []byte("\n"))
	parts := strings.Split(string(head), " ")
	if !ok || len(parts) != 3 {
		return journal.Row{}, errUnreadable
	}
	n, err1 := strconv.ParseInt(parts[1], 10, 64)
	pull, err2 := strconv.ParseInt(parts[2], 10, 64)
	if err1 != nil || err2 != nil {
		return journal.Row{}, errUnreadable
	}
	return journal.Row{Author: rom.Author(parts[0]), N: n, Pull: pull, Line: line}, nil
}

var errUnreadable = errors.New("a row of the phone's log cannot be read")

func unpackAll(list [][]byte) ([]journal.Row, error) {
	rows := make([]journal.Row, 0, len(list))
	for _, packed := range list {
		r, err := unpack(packed)
		if err != nil {
			return nil, err
		}
		rows = append(rows, r)
	}
	return rows, nil
}
