package csv

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"unicode/utf8"
)

// The largest file that Read takes.
const (
	MostBytes = 1 << 20
	MostRows  = 5000
)

// Row is one row of a file with the line on which it begins, the header being
// a line too.
type Row struct {
	Line  int
	Cells map[string]string
	Fault string // why the row cannot be read, "" for none
}

// ErrFile is wrapped by every reason why nothing of a file can be read; the
// text after it is one sentence for people.
var ErrFile = errors.New("the file cannot be read")

func unreadable(format string, args ...any) error {
	return fmt.Errorf("%w: "+format, append([]any{ErrFile}, args...)...)
}

// Why returns the sentence of an ErrFile.
func Why(err error) string { return strings.TrimPrefix(err.Error(), ErrFile.Error()+": ") }

// Read reads a table that somebody brings: UTF-8, with or without its mark,
// divided by commas, semicolons or tabs (taken from the header row), with a
// header of names from known, in any order and case. Names in must have to be
// there. Faults of a row stand in the row; the rest is read.
func Read(file []byte, known, must []string) ([]Row, error) {
	file = bytes.TrimPrefix(file, []byte("\xef\xbb\xbf"))
	switch {
	case len(file) > MostBytes:
		return nil, unreadable("it is larger than %d KiB. Please divide it.", MostBytes>>10)
	case len(bytes.TrimSpace(file)) == 0:
		return nil, unreadable("it is empty.")
	case bytes.HasPrefix(file, []byte("\xff\xfe")), bytes.HasPrefix(file, []byte("\xfe\xff")):
		return nil, unreadable("it is written in UTF-16. Please save it as CSV UTF-8.")
	case bytes.HasPrefix(file, []byte("PK\x03\x04")), bytes.HasPrefix(file, []byte("\xd0\xcf\x11\xe0")):
		return nil, unreadable("it is a spreadsheet. Please save the sheet as CSV UTF-8.")
	case bytes.IndexByte(file, 0) >= 0:
		return nil, unreadable("it holds bytes that no text has. Please save it as CSV UTF-8.")
	case !utf8.Valid(file):
		line := 1 + bytes.Count(file[:firstBad(file)], []byte("\n"))
		return nil, unreadable("it is not UTF-8: the first letter that cannot be read stands in line %d. Please save it as CSV UTF-8.", line)
	}
	head, _, _ := strings.Cut(string(file), "\n")
	r := csv.NewReader(bytes.NewReader(file))
	r.Comma = divider(head)
	r.FieldsPerRecord = -1
	names, err := r.Read()
	if err != nil {
		return nil, unreadable("the header row in line 1 is broken.")
	}
	for i := range names {
		names[i] = strings.ReplaceAll(strings.ToLower(strings.TrimSpace(names[i])), " ", "_")
		if names[i] != "" && !slices.Contains(known, names[i]) {
			return nil, unreadable("the column %q is not known. The columns are: %s.", names[i], strings.Join(known, ", "))
		}
		if names[i] != "" && slices.Index(names, names[i]) < i {
			return nil, unreadable("the column %q stands there twice.", names[i])
		}
	}
	for _, m := range must {
		if !slices.Contains(names, m) {
			return nil, unreadable("the column %q is missing in line 1. The columns are: %s.", m, strings.Join(known, ", "))
		}
	}
	return rows(r, names)
}

func rows(r *csv.Reader, names []string) ([]Row, error) {
	var out []Row
	for {
		cells, err := r.Read()
		if errors.Is(err, io.EOF) {
			if len(out) == 0 {
				return nil, unreadable("there is nobody in it, only the header row.")
			}
			return out, nil
		}
		var bad *csv.ParseError
		if errors.As(err, &bad) {
			// Where a quote was opened and never closed nobody knows where the next row begins.
			return nil, unreadable("a quotation mark in line %d is not closed or stands in the wrong place.", bad.StartLine)
		} else if err != nil {
			return nil, unreadable("%v.", err)
		}
		line, _ := r.FieldPos(0)
		row := Row{Line: line, Cells: map[string]string{}}
		if len(cells) > len(names) && strings.TrimSpace(strings.Join(cells[len(names):], "")) != "" {
			row.Fault = fmt.Sprintf("has %d cells, the header has %d", len(cells), len(names))
		}
		empty := true
		for i, c := range cells {
			if i < len(names) && names[i] != "" {
				row.Cells[names[i]] = strings.TrimSpace(c)
				empty = empty && strings.TrimSpace(c) == ""
			}
		}
		if empty && row.Fault == "" {
			continue
		}
		if out = append(out, row); len(out) > MostRows {
			return nil, unreadable("it has more than %d rows. Please divide it.", MostRows)
		}
	}
}

// divider is what divides the cells of the header row.
func divider(head string) rune {
	best := ','
	for _, d := range ";\t" {
		if strings.Count(head, string(d)) > strings.Count(head, string(best)) {
			best = d
		}
	}
	return best
}

func firstBad(b []byte) int {
	for i := 0; i < len(b); {
		r, n := utf8.DecodeRune(b[i:])
		if r == utf8.RuneError && n == 1 {
			return i
		}
		i += n
	}
	return len(b)
}
