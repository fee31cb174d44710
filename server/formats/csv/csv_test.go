package csv

import (
	"bytes"
	stdcsv "encoding/csv"
	"errors"
	"strings"
	"testing"
)

// RFC 4180 section 2: CRLF after every row (rule 1, 2), a header of as many
// cells as the rows (3, 4), quotes around cells with commas, quotes and line
// breaks (5, 6), quotes doubled (7).
func TestWrittenAsTheStandardSays(t *testing.T) {
	table := Table{Name: "x", Columns: []Column{{Name: "a"}, {Name: "b"}, {Name: "c"}}}
	table.Add("aaa", "b \"quoted\", c", "zz")
	table.Add("", "two\nlines", "ó 例")
	got, err := table.Bytes()
	if err != nil {
		t.Fatal(err)
	}
	want := "a,b,c\r\naaa,\"b \"\"quoted\"\", c\",zz\r\n,\"two\r\nlines\",ó 例\r\n"
	if string(got) != want {
		t.Errorf("%q\nwant %q", got, want)
	}
	table.Add("short")
	if _, err := table.Bytes(); err == nil {
		t.Error("a short row was written")
	}
}

// OWASP, CSV injection: cells that begin with = + - @, tab or carriage
// return, also behind a quote, a space or in full width; negative numbers
// stay numbers.
func TestNoCellIsAFormula(t *testing.T) {
	for _, bad := range []string{`=1+1`, `+1+1`, `-1+1`, `@SUM(A1)`, "\t=1", "\r=1", "\n=1", ` =HYPERLINK("x")`, "＝1+1", "-2+3+cmd|' /C calc'!A0", "-", "|x", "%0A=1"} {
		table := Table{Name: "x", Columns: []Column{{Name: "a"}}, Rows: [][]string{{bad}}}
		file, err := table.Bytes()
		if err != nil {
			t.Fatal(err)
		}
		rows, err := stdcsv.NewReader(bytes.NewReader(file)).ReadAll()
		if err != nil || !strings.HasPrefix(rows[1][0], "'") {
			t.Errorf("%q is written as %q (%v)", bad, rows[1], err)
		}
	}
	for _, good := range []string{"-5", "-12.5", "0", "", "Rowe", "2026-03-01", "a=b"} {
		if got := Safe(good); got != good {
			t.Errorf("%q became %q", good, got)
		}
	}
	if got := Safe("a\x00\xffb"); got != "a\uFFFDb" {
		t.Errorf("%q", got)
	}
}

func TestDictionaryHasEveryColumn(t *testing.T) {
	d := Dictionary(Table{Name: "x", Columns: []Column{{"a", "the a", "deg", "0 to 1", "somebody"}}}, Table{Name: "y", Columns: []Column{{Name: "b"}}})
	if len(d.Rows) != 2 || strings.Join(d.Rows[0], "|") != "x.csv|a|the a|deg|0 to 1|somebody" || d.Rows[1][0] != "y.csv" {
		t.Errorf("%q", d.Rows)
	}
}

var known, must = []string{"name", "side", "born"}, []string{"name", "side"}

// Whatever a spreadsheet saves: commas, semicolons, tabs, with a mark, any
// order and case, empty rows, CRLF; the line numbers are those of the file.
func TestReadWhatPeopleBring(t *testing.T) {
	for what, file := range map[string]string{
		"commas":     "name,side\nAda Rowe,left\n\n\"B, C\",right\n",
		"semicolons": "\xef\xbb\xbfName;Side;Born\r\nAda Rowe;left;1961-05-04\r\n;;\r\n\"B, C\";right;\r\n",
		"tabs":       "side\tname\nleft\tAda Rowe\n\nright\tB, C\n",
	} {
		rows, err := Read([]byte(file), known, must)
		if err != nil || len(rows) != 2 {
			t.Errorf("%s: %v %v", what, rows, err)
			continue
		}
		if rows[0].Line != 2 || rows[1].Line != 4 || rows[0].Cells["name"] != "Ada Rowe" || rows[1].Cells["name"] != "B, C" || rows[1].Cells["side"] != "right" {
			t.Errorf("%s: %+v", what, rows)
		}
	}
	rows, err := Read([]byte("name,side\nAda,left,extra\nBo,right\n"), known, must)
	if err != nil || rows[0].Fault == "" || rows[1].Fault != "" {
		t.Errorf("too many cells: %+v %v", rows, err)
	}
}

// What cannot be read is said in one sentence with what to do.
func TestHostileFiles(t *testing.T) {
	for what, c := range map[string]struct{ file, says string }{
		"empty":            {" \r\n", "it is empty"},
		"only a header":    {"name,side\n", "nobody in it"},
		"huge":             {"name,side\n" + strings.Repeat("x", MostBytes), "larger than 1024 KiB"},
		"many rows":        {"name,side\n" + strings.Repeat("a,left\n", MostRows+1), "more than 5000 rows"},
		"utf-16":           {"\xff\xfen\x00a\x00", "UTF-16"},
		"latin-1":          {"name,side\nAda,left\nJos\xe9,left\n", "not UTF-8: the first letter that cannot be read stands in line 3"},
		"a workbook":       {"PK\x03\x04xxxx", "it is a spreadsheet"},
		"NUL":              {"name,side\nA\x00,left\n", "bytes that no text has"},
		"unknown column":   {"name,side,shoe size\nA,left,9\n", `the column "shoe_size" is not known`},
		"missing column":   {"name,born\nA,1961-01-01\n", `the column "side" is missing`},
		"column twice":     {"name,side,name\nA,left,B\n", "stands there twice"},
		"open quote":       {"name,side\n\"Ada,left\nBo,right\n", "a quotation mark in line 2 is not closed"},
		"quote in a cell":  {"name,side\nA\"da,left\n", "a quotation mark in line 2"},
		"only other words": {"hello\n", `the column "hello" is not known`},
	} {
		_, err := Read([]byte(c.file), known, must)
		if !errors.Is(err, ErrFile) || !strings.Contains(Why(err), c.says) {
			t.Errorf("%s: %v", what, err)
		}
	}
}

// Whatever the bytes, Read ends, and what is written is read again as it was.
func FuzzRead(f *testing.F) {
	f.Add([]byte("name,side\nAda,left\n"))
	f.Add([]byte("\xef\xbb\xbfname;side\n\"a\"\"b\";right\r\n"))
	f.Fuzz(func(t *testing.T, file []byte) {
		rows, err := Read(file, known, must)
		if err != nil {
			if !errors.Is(err, ErrFile) {
				t.Fatal(err)
			}
			return
		}
		last := 1
		for _, r := range rows {
			if r.Line <= last {
				t.Fatalf("line %d after %d", r.Line, last)
			}
			last = r.Line
		}
	})
}
