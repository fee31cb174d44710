package wire

import (
	"time"

	"unsling/engine/rom"
)

// quick reads the bodies of the most frequent kinds in the very form that
// EncodeBody writes them: fields in the order of the type, no white space,
// whole numbers, plain ASCII text without escapes. It never says that a body
// is wrong: whatever departs from that form is left to encoding/json, which
// also has the last word on every error. On what it does read it gives what
// encoding/json gives (TestQuickIsJSON).
type quick struct {
	b     []byte
	i     int
	first bool // no field of the open object was read yet
	bad   bool // it is not in that form: what was read means nothing
}

// maxQuick bounds the numbers that quick reads; it fits into every type.
const maxQuick = 1_000_000_000

func (q *quick) try(lit string) bool {
	if len(q.b)-q.i < len(lit) || string(q.b[q.i:q.i+len(lit)]) != lit {
		return false
	}
	q.i += len(lit)
	return true
}

func (q *quick) lit(lit string) {
	if !q.try(lit) {
		q.bad = true
	}
}

func (q *quick) open() { q.lit("{"); q.first = true }

func (q *quick) close() { q.lit("}"); q.first = false }

// has takes the key of the next field when it is this one. key is written with
// its quotes and colon.
func (q *quick) has(key string) bool {
	was := q.i
	if !q.first && !q.try(",") || !q.try(key) {
		q.i = was
		return false
	}
	q.first = false
	return true
}

// end reports whether the whole body was read.
func (q *quick) end() bool { return !q.bad && q.i == len(q.b) }

func (q *quick) int() int {
	minus := q.try("-")
	n, from := 0, q.i
	for ; q.i < len(q.b) && q.b[q.i] >= '0' && q.b[q.i] <= '9' && n < maxQuick; q.i++ {
		n = n*10 + int(q.b[q.i]-'0')
	}
	if q.i == from || n >= maxQuick || q.b[from] == '0' && (q.i > from+1 || minus) {
		q.bad = true
	}
	if minus {
		return -n
	}
	return n
}

func (q *quick) degrees() rom.Degrees { return rom.Degrees(q.int()) }

func (q *quick) score() *int {
	n := q.int()
	return &n
}

func (q *quick) bool() bool {
	if q.try("true") {
		return true
	}
	q.lit("false")
	return false
}

// plain returns the bytes of a text, which share memory with the body.
func (q *quick) plain() []byte {
	q.lit(`"`)
	for j := q.i; j < len(q.b); j++ {
		switch c := q.b[j]; {
		case c == '"':
			out := q.b[q.i:j]
			q.i = j + 1
			return out
		case c < ' ' || c > '~' || c == '\\':
			q.bad = true
			return nil
		}
	}
	q.bad = true
	return nil
}

func (q *quick) text() string { return string(q.plain()) }

// word is text that is mostly one of a closed list, of which one copy serves.
func (q *quick) word() string {
	b := q.plain()
	if w, ok := words[string(b)]; ok {
		return w
	}
	return string(b)
}

var words = closedLists()

func closedLists() map[string]string {
	m := map[string]string{}
	for _, x := range rom.Motions {
		m[string(x)] = string(x)
	}
	for _, x := range rom.Exercises {
		m[string(x)] = string(x)
	}
	for _, w := range []string{
		string(rom.Left), string(rom.Right), string(rom.Goniometer), string(rom.Inclinometer), string(rom.Photo), string(rom.Tilt),
		string(rom.LevelMethod), string(rom.Supine), string(rom.Seated), string(rom.Standing), string(rom.SideLying), string(rom.Prone),
		string(rom.Finished), string(rom.StoppedByMe), string(rom.PainAtRest), string(rom.PainNextDay), string(rom.PainAtNight),
		string(rom.PainInMotion), string(rom.TaskSeen), string(rom.TaskCall), string(rom.TaskDone), "as-asked", "partly",
	} {
		m[w] = w
	}
	return m
}

func (q *quick) class() rom.Class {
	b := q.plain()
	for c := rom.Locked; c <= rom.Resisted; c++ {
		if string(b) == c.String() {
			return c
		}
	}
	q.bad = true
	return 0
}

// date reads what rom.ParseDate accepts.
func (q *quick) date() rom.Date {
	b := q.plain()
	if len(b) == 0 {
		return 0
	}
	y, m, d, ok := civil(b)
	if !ok || y < 1900 || y > 2199 {
		q.bad = true
		return 0
	}
	return rom.MakeDate(y, time.Month(m), d)
}

// civil reads "2006-01-02" and reports whether there is such a day.
func civil[T []byte | string](b T) (y, m, d int, ok bool) {
	if len(b) != 10 || b[4] != '-' || b[7] != '-' {
		return 0, 0, 0, false
	}
	y1, ok1 := digits(b[0:2])
	y2, ok2 := digits(b[2:4])
	m, ok3 := digits(b[5:7])
	d, ok4 := digits(b[8:10])
	y = y1*100 + y2
	if !ok1 || !ok2 || !ok3 || !ok4 || m < 1 || m > 12 || d < 1 || d > 31 {
		return 0, 0, 0, false
	}
	if d > 28 { // the rest of the calendar is the library's
		if t := time.Date(y, time.Month(m), d, 0, 0, 0, 0, time.UTC); t.Day() != d {
			return 0, 0, 0, false
		}
	}
	return y, m, d, true
}

// digits reads a number of two digits.
func digits[T []byte | string](b T) (n int, ok bool) {
	x, y := b[0]-'0', b[1]-'0'
	return int(x)*10 + int(y), x <= 9 && y <= 9
}
