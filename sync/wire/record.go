package wire

import (
	"encoding/base64"
	"encoding/json"
	"fmt"
	"strconv"
	"time"

	"unsling/engine/rom"
)

// Record is one line taken apart.
type Record struct {
	Author rom.Author // this installation, or the clinic's ledger
	N      int64      // 1, 2, 3... per author and patient, without gaps
	Prev   Hash       // of the author's line before; NoPrev for n = 1
	Salt   string     // 16 random bytes in base64url
	Kind   Kind
	V      int       // version of the kind's body, from 1 on
	Run    string    // which start of the app
	Mono   int64     // milliseconds since that start, monotonic
	At     time.Time // wall time with offset, to the millisecond
	TZ     string    // IANA zone
	Rev    int       // plan revision obeyed, 0 for none
	Body   json.RawMessage
	Was    rom.Ref // the record that this one repeats under a new author
	MAC    string  // the clinic's seal; see Seal
}

// Ref returns the record's name.
func (r Record) Ref() rom.Ref { return rom.Ref{Author: r.Author, N: r.N} }

// atLayout is RFC 3339 with milliseconds.
const atLayout = "2006-01-02T15:04:05.000Z07:00"

// Salt returns the text of a record's salt.
func Salt(random [16]byte) string { return base64.RawURLEncoding.EncodeToString(random[:]) }

// Encode returns the line of r, without a line feed. It returns a *LineError
// when a field is not of its form, and ErrTooLong beyond MaxLine.
func Encode(r Record) ([]byte, error) {
	if err := r.check(true); err != nil {
		return nil, err
	}
	line := appendRecord(make([]byte, 0, 256+len(r.Body)), r)
	if len(line) > MaxLine {
		return nil, fmt.Errorf("encode a %s record of %d bytes: %w", r.Kind, len(line), ErrTooLong)
	}
	return line, nil
}

func appendRecord(b []byte, r Record) []byte {
	b = append(b, `{"author":"`...)
	b = append(b, r.Author...)
	b = append(b, `","n":`...)
	b = strconv.AppendInt(b, r.N, 10)
	b = append(b, `,"prev":"`...)
	b = append(b, r.Prev...)
	b = append(b, `","salt":"`...)
	b = append(b, r.Salt...)
	b = append(b, `","kind":"`...)
	b = append(b, r.Kind...)
	b = append(b, `","v":`...)
	b = strconv.AppendInt(b, int64(r.V), 10)
	b = append(b, `,"run":"`...)
	b = append(b, r.Run...)
	b = append(b, `","mono":`...)
	b = strconv.AppendInt(b, r.Mono, 10)
	b = append(b, `,"at":"`...)
	b = append(b, formatAt(r.At)...)
	b = append(b, `","tz":"`...)
	b = append(b, r.TZ...)
	b = append(b, `","rev":`...)
	b = strconv.AppendInt(b, int64(r.Rev), 10)
	b = append(b, `,"body":`...)
	b = append(b, r.Body...)
	if !r.Was.IsZero() {
		b = append(b, `,"was":{"author":"`...)
		b = append(b, r.Was.Author...)
		b = append(b, `","n":`...)
		b = strconv.AppendInt(b, r.Was.N, 10)
		b = append(b, '}')
	}
	if r.MAC != "" {
		b = append(b, `,"mac":"`...)
		b = append(b, r.MAC...)
		b = append(b, '"')
	}
	return append(b, '}')
}

// formatAt writes t with its offset rounded to minutes, which is what the
// layout can say; the instant stays the same.
func formatAt(t time.Time) string {
	if _, off := t.Zone(); off%60 != 0 {
		t = t.In(time.FixedZone("", off/60*60))
	}
	return t.Truncate(time.Millisecond).Format(atLayout)
}

// check holds every field to the form that a line may have; the body only
// when strict.
func (r *Record) check(strict bool) error {
	switch {
	case !isName(string(r.Author), 64):
		return lineError("author")
	case r.N < 1:
		return lineError("n")
	case !r.Prev.Valid() || (r.N == 1) != (r.Prev == NoPrev):
		return lineError("prev")
	case !isBase64(r.Salt, 16):
		return lineError("salt")
	case !isKind(string(r.Kind)):
		return lineError("kind")
	case r.V < 1 || r.V > 9999:
		return lineError("v")
	case !isName(r.Run, 64):
		return lineError("run")
	case r.Mono < 0:
		return lineError("mono")
	case r.At.Year() < 0 || r.At.Year() > 9999:
		return lineError("at")
	case !isZone(r.TZ):
		return lineError("tz")
	case r.Rev < 0 || r.Rev > 1<<31-1:
		return lineError("rev")
	case strict && !isCompactObject(r.Body):
		return lineError("body")
	case !r.Was.IsZero() && (!isName(string(r.Was.Author), 64) || r.Was.N < 1):
		return lineError("was")
	case r.MAC != "" && !isBase64(r.MAC, 32):
		return lineError("mac")
	}
	return nil
}
