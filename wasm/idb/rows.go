//go:build js && wasm

package idb

import (
	"bytes"
	"context"
	"errors"
	"strconv"
	"strings"

	"unsling/engine/rom"
	"unsling/sync/journal"
)

// The stored form of a row is a head, a line feed, and the line as it was written, encrypted: nonce and ciphertext. The head
// stays in clear: "author n pull 1". A row from before there was encryption has "author n pull" and the line itself. A
// program of before finds no such head and stops, which is better than taking ciphertext for a record and sending it.

const encryptedHead = " 1"

var errUnreadable = errors.New("a value in the phone's storage cannot be read")

// DamagedLine stands for a line that does not decrypt: it is no record, so that readers skip it and the server sets it aside,
// and it holds up nothing.
const DamagedLine = "!damaged on the phone"

// stored is a row as it lies in the database. line is encrypted or not.
type stored struct {
	journal.Row
	encrypted bool
}

func headOf(r journal.Row) string {
	return string(r.Author) + " " + strconv.FormatInt(r.N, 10) + " " + strconv.FormatInt(r.Pull, 10)
}

func (s stored) piece() piece { return piece{placeOf(Log, headOf(s.Row)), s.Line} }

// packRows encrypts rows.
func (c *cipher) packRows(ctx context.Context, rows []journal.Row) ([][]byte, error) {
	if len(rows) == 0 {
		return nil, nil
	}
	list := make([]piece, len(rows))
	for i, r := range rows {
		list[i] = stored{Row: r}.piece()
	}
	out, err := c.encrypt(ctx, list)
	if err != nil {
		return nil, err
	}
	for i, r := range rows {
		out[i] = append([]byte(headOf(r)+encryptedHead+"\n"), out[i]...)
	}
	return out, nil
}

func unpack(packed []byte) (stored, error) {
	head, line, ok := bytes.Cut(packed, []byte("\n"))
	text, encrypted := strings.CutSuffix(string(head), encryptedHead)
	parts := strings.Split(text, " ")
	if len(parts) == 2 { // a row of before whose pull is 1
		parts, encrypted = append(parts, strings.TrimSpace(encryptedHead)), false
	}
	if !ok || len(parts) != 3 {
		return stored{}, errUnreadable
	}
	n, err1 := strconv.ParseInt(parts[1], 10, 64)
	pull, err2 := strconv.ParseInt(parts[2], 10, 64)
	if err1 != nil || err2 != nil {
		return stored{}, errUnreadable
	}
	return stored{journal.Row{Author: rom.Author(parts[0]), N: n, Pull: pull, Line: line}, encrypted}, nil
}

func unpackAll(list [][]byte) ([]stored, error) {
	rows := make([]stored, 0, len(list))
	for _, packed := range list {
		r, err := unpack(packed)
		if err != nil {
			return nil, err
		}
		rows = append(rows, r)
	}
	return rows, nil
}

// openRows decrypts rows, and tells whether one of them lay there in clear.
func (c *cipher) openRows(ctx context.Context, packed [][]byte) (rows []journal.Row, clear bool, err error) {
	list, err := unpackAll(packed)
	if err != nil {
		return nil, false, err
	}
	var pieces []piece
	var at []int
	rows = make([]journal.Row, len(list))
	for i, s := range list {
		rows[i] = s.Row
		if !s.encrypted {
			clear = true
			continue
		}
		pieces, at = append(pieces, s.piece()), append(at, i)
	}
	if len(pieces) == 0 {
		return rows, clear, nil
	}
	lines, err := c.decrypt(ctx, pieces)
	if err != nil {
		return nil, false, err
	}
	for k, i := range at {
		rows[i].Line = lines[k]
		if lines[k] == nil {
			rows[i].Line = []byte(DamagedLine)
		}
	}
	return rows, clear, nil
}

// eachPage rows are held at once while all are read.
const eachPage = 2000

// eachStored calls f with page after page of the log, in the order of keys.
func (d *DB) eachStored(ctx context.Context, f func([]stored) error) error {
	return d.pages(ctx, func(packed [][]byte) error {
		list, err := unpackAll(packed)
		if err != nil {
			return err
		}
		return f(list)
	})
}

// pages calls f with page after page of the log as it is stored.
func (d *DB) pages(ctx context.Context, f func(packed [][]byte) error) error {
	span := All
	for {
		list, err := d.Range(ctx, Log, span, eachPage)
		if err != nil || len(list) == 0 {
			return err
		}
		if err := f(list); err != nil {
			return err
		}
		if len(list) < eachPage {
			return nil
		}
		last, err := unpack(list[len(list)-1])
		if err != nil {
			return err
		}
		span = Span{From: Line(string(last.Author), last.N), After: true}
	}
}
