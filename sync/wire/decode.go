package wire

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"time"
	"unicode/utf8"

	"unsling/engine/rom"
)

// ErrTooLong means that a line exceeds MaxLine.
var ErrTooLong = errors.New("record is longer than 8 KiB")

// LineError means that a line is framed (it is one line of permitted size)
// but is not a record: such a line is put into quarantine and acknowledged,
// and never blocks those after it. Field names where the line departs from
// the form.
type LineError struct{ Field string }

func (e *LineError) Error() string {
	return "line is not a record: " + e.Field + " is not as it must be"
}

func lineError(field string) error { return &LineError{Field: field} }

// Decode takes a line apart. It accepts exactly what Encode writes. Errors
// are ErrTooLong and *LineError. The body shares memory with line.
func Decode(line []byte) (Record, error) { return decode(line, true) }

// DecodeStored is Decode for a line that was accepted before: it takes the
// body for what its braces enclose and leaves the rest to DecodeBody.
func DecodeStored(line []byte) (Record, error) { return decode(line, false) }

func decode(line []byte, strict bool) (Record, error) {
	if len(line) > MaxLine {
		return Record{}, fmt.Errorf("decode %d bytes: %w", len(line), ErrTooLong)
	}
	// One copy serves all texts of the envelope; none of them holds a quote.
	head := line
	if i := bytes.Index(line, []byte(`,"body":`)); i >= 0 {
		head = line[:i]
	}
	s := scanner{rest: line, whole: string(head)}
	var r Record
	r.Author = rom.Author(s.text(`{"author":"`, "author"))
	r.N = s.int(`","n":`, "n")
	r.Prev = Hash(s.text(`,"prev":"`, "prev"))
	r.Salt = s.text(`","salt":"`, "salt")
	r.Kind = Kind(s.text(`","kind":"`, "kind"))
	r.V = s.small(`","v":`, "v")
	r.Run = s.text(`,"run":"`, "run")
	r.Mono = s.int(`","mono":`, "mono")
	at := s.text(`,"at":"`, "at")
	r.TZ = s.text(`","tz":"`, "tz")
	r.Rev = s.small(`","rev":`, "rev")
	s.lit(`,"body":`, "body")
	r.Body = s.object("body")
	if s.try(`,"was":{"author":"`) {
		r.Was.Author = rom.Author(s.text("", "was"))
		r.Was.N = s.int(`","n":`, "was")
		s.lit("}", "was")
		if r.Was.IsZero() {
			s.fail("was")
		}
	}
	if s.try(`,"mac":"`) {
		r.MAC = s.text("", "mac")
		s.lit(`"`, "mac")
		if r.MAC == "" {
			s.fail("mac")
		}
	}
	s.lit("}", "end")
	if s.err == nil && len(s.rest) != 0 {
		s.fail("end")
	}
	if s.err != nil {
		return Record{}, s.err
	}
	var ok bool
	if r.At, ok = parseAt(at); !ok {
		return Record{}, lineError("at")
	}
	if err := r.check(strict); err != nil {
		return Record{}, err
	}
	return r, nil
}

// parseAt reads what formatAt writes.
func parseAt(at string) (t time.Time, ok bool) {
	if t, ok = quickAt(at); ok {
		return t, true
	}
	t, err := time.Parse(atLayout, at)
	if err != nil || formatAt(t) != at {
		return time.Time{}, false
	}
	// Parse may name the zone of this machine; the offset is all there is.
	if _, off := t.Zone(); off != 0 {
		return t.In(time.FixedZone("", off)), true
	}
	return t.UTC(), true
}

// quickAt reads the usual times: a day of the calendar, "Z" or an offset of up
// to 12 hours. It leaves all others to the library.
func quickAt(at string) (t time.Time, ok bool) {
	if len(at) != 24 && len(at) != 29 || at[10] != 'T' || at[13] != ':' || at[16] != ':' || at[19] != '.' {
		return t, false
	}
	y, mo, d, ok0 := civil(at[:10])
	h, ok1 := digits(at[11:13])
	mi, ok2 := digits(at[14:16])
	s, ok3 := digits(at[17:19])
	ms, ok4 := digits(at[20:22])
	tenth := int(at[22] - '0')
	if !ok0 || !ok1 || !ok2 || !ok3 || !ok4 || tenth > 9 || h > 23 || mi > 59 || s > 59 {
		return t, false
	}
	t = time.Date(y, time.Month(mo), d, h, mi, s, (ms*10+tenth)*int(time.Millisecond), time.UTC)
	if len(at) == 24 {
		return t, at[23] == 'Z'
	}
	oh, ok5 := digits(at[24:26])
	om, ok6 := digits(at[27:29])
	off := time.Duration(oh)*time.Hour + time.Duration(om)*time.Minute
	if !ok5 || !ok6 || at[26] != ':' || oh > 12 || om > 59 || off == 0 {
		return t, false
	}
	switch at[23] {
	case '+':
	case '-':
		off = -off
	default:
		return t, false
	}
	return t.Add(-off).In(time.FixedZone("", int(off/time.Second))), true
}

// Position reads only author and n of a line that may not be a record
// otherwise. ok is false when not even they can be read.
func Position(line []byte) (ref rom.Ref, ok bool) {
	s := scanner{rest: line}
	ref.Author = rom.Author(s.text(`{"author":"`, "author"))
	ref.N = s.int(`","n":`, "n")
	return ref, s.err == nil && isName(string(ref.Author), 64) && ref.N > 0
}

// scanner walks a line from left to right; after the first departure every
// step does nothing.
type scanner struct {
	rest  []byte
	whole string // a copy of what was at first before the body; may be ""
	at    int    // how much of the line was read
	err   error
}

func (s *scanner) fail(field string) {
	if s.err == nil {
		s.err = lineError(field)
	}
}

func (s *scanner) try(lit string) bool {
	if s.err != nil || len(s.rest) < len(lit) || string(s.rest[:len(lit)]) != lit {
		return false
	}
	s.skip(len(lit))
	return true
}

func (s *scanner) lit(lit, field string) {
	if !s.try(lit) {
		s.fail(field)
	}
}

// text reads lit and then letters up to, and not including, the next quote.
// No text of the envelope needs an escape.
func (s *scanner) text(lit, field string) string {
	s.lit(lit, field)
	if s.err != nil {
		return ""
	}
	i := bytes.IndexByte(s.rest, '"')
	if i < 0 {
		s.fail(field)
		return ""
	}
	var out string
	if s.at+i <= len(s.whole) {
		out = s.whole[s.at : s.at+i]
	} else {
		out = string(s.rest[:i])
	}
	s.skip(i)
	return out
}

func (s *scanner) skip(n int) {
	s.rest = s.rest[n:]
	s.at += n
}

// int reads lit and then a number without sign or leading zero.
func (s *scanner) int(lit, field string) int64 {
	s.lit(lit, field)
	var n int64
	i := 0
	for ; i < len(s.rest) && s.rest[i] >= '0' && s.rest[i] <= '9'; i++ {
		if n > (math.MaxInt64-9)/10 {
			s.fail(field)
			return 0
		}
		n = n*10 + int64(s.rest[i]-'0')
	}
	if i == 0 || (i > 1 && s.rest[0] == '0') {
		s.fail(field)
		return 0
	}
	if s.err == nil {
		s.skip(i)
	}
	return n
}

func (s *scanner) small(lit, field string) int {
	n := s.int(lit, field)
	if n > math.MaxInt32 {
		s.fail(field)
		return 0
	}
	return int(n)
}

// object reads a JSON object by its braces; check looks at it afterwards.
func (s *scanner) object(field string) json.RawMessage {
	if s.err != nil || len(s.rest) == 0 || s.rest[0] != '{' {
		s.fail(field)
		return nil
	}
	depth, quoted := 0, false
	for i := 0; i < len(s.rest); i++ {
		switch c := s.rest[i]; {
		case quoted && c == '\\':
			i++
		case c == '"':
			quoted = !quoted
		case quoted:
		case c == '{' || c == '[':
			depth++
		case c == '}' || c == ']':
			if depth--; depth == 0 {
				out := json.RawMessage(s.rest[: i+1 : i+1])
				s.skip(i + 1)
				return out
			}
		}
	}
	s.fail(field)
	return nil
}

// isCompactObject reports whether b is one JSON object in UTF-8 without white
// space between its parts.
func isCompactObject(b []byte) bool {
	if len(b) < 2 || b[0] != '{' || b[len(b)-1] != '}' || !utf8.Valid(b) || !json.Valid(b) {
		return false
	}
	quoted := false
	for i := 0; i < len(b); i++ {
		switch c := b[i]; {
		case quoted && c == '\\':
			i++
		case c == '"':
			quoted = !quoted
		case !quoted && (c == ' ' || c == '\t' || c == '\n' || c == '\r'):
			return false
		}
	}
	return true
}

// isName reports whether s is 1 to most letters, digits, "-" or "_".
func isName(s string, most int) bool {
	if s == "" || len(s) > most {
		return false
	}
	for i := 0; i < len(s); i++ {
		if !nameByte(s[i]) {
			return false
		}
	}
	return true
}

func nameByte(c byte) bool {
	return c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z' || c >= '0' && c <= '9' || c == '-' || c == '_'
}

func isKind(s string) bool {
	if s == "" || len(s) > 32 || s[0] < 'a' || s[0] > 'z' {
		return false
	}
	for i := 0; i < len(s); i++ {
		if c := s[i]; (c < 'a' || c > 'z') && (c < '0' || c > '9') && c != '-' {
			return false
		}
	}
	return true
}

// isZone reports whether s may be the name of an IANA zone.
func isZone(s string) bool {
	if s == "" || len(s) > 64 {
		return false
	}
	for i := 0; i < len(s); i++ {
		if c := s[i]; !nameByte(c) && c != '/' && c != '+' {
			return false
		}
	}
	return true
}

// ValidAuthor reports whether a has the form of an author.
func ValidAuthor(a rom.Author) bool { return isName(string(a), 64) }
