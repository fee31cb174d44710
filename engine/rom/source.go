package rom

import "strings"

// Mark says how well a value is known.
type Mark string

// The marks. A value marked memory or practice is a starting point that a
// surgeon must have reviewed before a patient follows it.
const (
	Read     Mark = "read"     // seen in the named source
	Memory   Mark = "memory"   // recalled, not seen
	Practice Mark = "practice" // one surgeon's or hospital's published protocol
	Derived  Mark = "derived"  // arithmetic, or a design choice of this project
	Clinic   Mark = "clinic"   // set by the treating clinic
)

// Valid reports whether m is one of the marks.
func (m Mark) Valid() bool {
	switch m {
	case Read, Memory, Practice, Derived, Clinic:
		return true
	}
	return false
}

// Source names where a value comes from. It is written "KEY mark", such as
// "THIGPEN2016 memory"; values merged from two sources keep both keys,
// joined by "+", and the weaker mark.
type Source struct {
	Key  string
	Mark Mark
}

func (s Source) String() string {
	if s.Key == "" && s.Mark == "" {
		return ""
	}
	return s.Key + " " + string(s.Mark)
}

// MarshalText implements encoding.TextMarshaler.
func (s Source) MarshalText() ([]byte, error) { return []byte(s.String()), nil }

// UnmarshalText implements encoding.TextUnmarshaler.
func (s *Source) UnmarshalText(b []byte) error {
	if len(b) == 0 {
		*s = Source{}
		return nil
	}
	key, mark, ok := strings.Cut(string(b), " ")
	if !ok || key == "" || !Mark(mark).Valid() {
		return invalid("source", "is not a key and one of read, memory, practice, derived, clinic")
	}
	*s = Source{Key: key, Mark: Mark(mark)}
	return nil
}

// Join names both sources with the weaker mark.
func (s Source) Join(o Source) Source {
	if s.Key == o.Key {
		return Source{Key: s.Key, Mark: weaker(s.Mark, o.Mark)}
	}
	return Source{Key: s.Key + "+" + o.Key, Mark: weaker(s.Mark, o.Mark)}
}

// weaker returns the mark that deserves less trust.
func weaker(a, b Mark) Mark {
	for _, m := range []Mark{Memory, Derived, Practice, Read, Clinic} {
		if a == m || b == m {
			return m
		}
	}
	return a
}
