// Package csv writes tables as comma-separated values that a spreadsheet, a
// statistics program and the next clinic read alike, and reads those that
// people bring.
//
// Written: RFC 4180 with CRLF, UTF-8 without a mark, a header row, dates as
// 2026-01-31, a full stop as decimal sign. A cell that a spreadsheet would run
// as a formula is led by an apostrophe (OWASP, "CSV injection"); plain numbers,
// negative ones included, stay numbers.
//
// Each table carries its dictionary: what every column means, its unit, its
// range, and where the value comes from.
package csv

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"regexp"
	"strings"
)

// Column is one column with its entry in the dictionary.
type Column struct {
	Name   string // lower case, words joined by underscores
	Means  string // one sentence
	Unit   string // UCUM where there is one, else "date", "text", "code"
	Range  string // what may stand there
	Source string // who or what the value comes from
}

// Table is a table with its dictionary. Every row has as many cells as there
// are columns; an empty cell is "not known".
type Table struct {
	Name    string // of the file, without ".csv"
	Columns []Column
	Rows    [][]string
}

// Add appends a row.
func (t *Table) Add(cells ...string) { t.Rows = append(t.Rows, cells) }

// Bytes returns the file. A row of the wrong length is an error.
func (t Table) Bytes() ([]byte, error) { return t.Lines(true) }

// Lines returns the rows as they stand in the file, after the header row with
// head: what is too large to be held at once is written part by part.
func (t Table) Lines(withHead bool) ([]byte, error) {
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	w.UseCRLF = true
	head := make([]string, len(t.Columns))
	for i, c := range t.Columns {
		head[i] = c.Name
	}
	if withHead {
		if err := w.Write(head); err != nil {
			return nil, err
		}
	}
	for i, row := range t.Rows {
		if len(row) != len(head) {
			return nil, fmt.Errorf("csv %s: row %d has %d cells for %d columns", t.Name, i+1, len(row), len(head))
		}
		safe := make([]string, len(row))
		for k, cell := range row {
			safe[k] = Safe(cell)
		}
		if err := w.Write(safe); err != nil {
			return nil, err
		}
	}
	w.Flush()
	return b.Bytes(), w.Error()
}

// Dictionary is the table of every column of some tables.
func Dictionary(tables ...Table) Table {
	d := Table{Name: "dictionary", Columns: []Column{
		{"file", "the file that has the column", "text", "a name ending in .csv", "this program"},
		{"column", "the name in the header row", "text", "", "this program"},
		{"means", "what a cell of it says", "text", "", "this program"},
		{"unit", "the unit of a number (UCUM), or the form of the cell", "text", "", "this program"},
		{"range", "what may stand there; an empty cell is not known", "text", "", "this program"},
		{"source", "who or what the value comes from", "text", "", "this program"},
	}}
	for _, t := range tables {
		for _, c := range t.Columns {
			d.Add(t.Name+".csv", c.Name, c.Means, c.Unit, c.Range, c.Source)
		}
	}
	return d
}

var plainNumber = regexp.MustCompile(`^-?[0-9]+(\.[0-9]+)?$`)

// Safe returns a cell that no spreadsheet runs. What begins like a formula
// (= + - @, a tab or a line break, in their wide forms too) is led by an
// apostrophe; NUL is dropped and what is not UTF-8 is replaced.
func Safe(cell string) string {
	cell = strings.ReplaceAll(strings.ToValidUTF8(cell, "\uFFFD"), "\x00", "")
	if plainNumber.MatchString(cell) {
		return cell
	}
	first := strings.TrimLeft(cell, " \u00a0")
	if first != "" && strings.ContainsRune("=+-@\t\r\n\uFF1D\uFF0B\uFF0D\uFF20|%", []rune(first)[0]) {
		return "'" + cell
	}
	return cell
}
