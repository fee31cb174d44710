package rom

import (
	"errors"
	"testing"

	"pgregory.net/rapid"
)

var own = Source{Key: "OWN", Mark: Clinic}

func drawLimit(r *rapid.T, label string, m Motion) Limit {
	l := Limit{Motion: m, Class: Class(rapid.IntRange(1, 4).Draw(r, label+" class")), From: Source{Key: label, Mark: Memory}}
	l.Open = rapid.IntRange(0, 3).Draw(r, label+" open") == 0
	if m.ByLevel() {
		if !l.Open {
			l.Highest = Level(rapid.IntRange(1, 20).Draw(r, label+" level"))
		}
		return l
	}
	if !l.Open {
		l.Ceiling = Degrees(rapid.IntRange(-300, int(m.AnatomicalMax())).Draw(r, label+" ceiling"))
		l.Floor = min(l.Ceiling, Degrees(rapid.IntRange(0, 900).Draw(r, label+" floor")))
	}
	if l.Class >= Active && !m.ByLevel() && (l.Open || l.Ceiling > 0) && rapid.Bool().Draw(r, label+" lower") {
		top := m.AnatomicalMax()
		if !l.Open {
			top = l.Ceiling
		}
		l.ActiveCeil = Degrees(rapid.IntRange(1, int(top)).Draw(r, label+" active"))
	}
	return l
}

func TestStricterIsNeverWider(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		m := rapid.SampledFrom(Motions).Draw(r, "motion")
		a, b := drawLimit(r, "a", m), drawLimit(r, "b", m)
		for _, l := range []Limit{a, b} {
			if err := l.Validate(); err != nil {
				r.Fatalf("drawn row is not valid: %v", err)
			}
			if l.NarrowerThan(l) {
				r.Fatalf("%+v is narrower than itself", l)
			}
		}
		s := a.Stricter(b)
		if err := s.Validate(); err != nil {
			r.Fatalf("stricter of %+v and %+v is not valid: %v", a, b, err)
		}
		if a.NarrowerThan(s) || b.NarrowerThan(s) {
			r.Fatalf("%+v is wider than %+v or %+v", s, a, b)
		}
		o := b.Stricter(a)
		s.From, o.From = Source{}, Source{}
		if s != o {
			r.Fatalf("the order matters: %+v, %+v", s, o)
		}
		for _, c := range []Class{Passive, Active} {
			if x := s.For(c); !x.Open && !m.ByLevel() {
				for _, l := range []Limit{a.For(c), b.For(c)} {
					// An active ceiling means nothing once active movement is closed.
					if s.Class >= c && !l.Open && x.Ceiling > l.Ceiling {
						r.Fatalf("%s: %s above %s", c, x.Ceiling, l.Ceiling)
					}
				}
			}
		}
	})
}

func TestLimitValidate(t *testing.T) {
	good := Limit{Motion: ForwardFlexion, Class: Passive, Ceiling: Deg(90), From: own}
	tests := []struct {
		name  string
		l     Limit
		field string
	}{
		{"good", good, ""},
		{"neutral", Limit{Motion: ERSide, Class: Passive, Ceiling: 0, From: own}, ""},
		{"open", Limit{Motion: ERSide, Class: Active, Open: true, From: own}, ""},
		{"level", Limit{Motion: HandBehindBack, Class: Passive, Highest: LevelL3, From: own}, ""},
		{"unknown motion", Limit{Motion: "FLY", Class: Passive, From: own}, "m"},
		{"locked row", Limit{Motion: ERSide, From: own}, "class"},
		{"class beyond", Limit{Motion: ERSide, Class: 9, From: own}, "class"},
		{"no source", Limit{Motion: ERSide, Class: Passive}, "src"},
		{"above anatomy", Limit{Motion: ForwardFlexion, Class: Passive, Ceiling: Deg(201), From: own}, "ceil"},
		{"far below zero", Limit{Motion: ERSide, Class: Passive, Ceiling: Deg(-31), From: own}, "ceil"},
		{"floor above ceiling", Limit{Motion: ERSide, Class: Passive, Ceiling: Deg(20), Floor: Deg(30), From: own}, "floor"},
		{"no level", Limit{Motion: HandBehindBack, Class: Passive, From: own}, "highest"},
		{"active ceiling of a passive row", Limit{Motion: ForwardFlexion, Class: Passive, Ceiling: Deg(90), ActiveCeil: Deg(80), From: own}, "active_ceil"},
		{"active ceiling above the ceiling", Limit{Motion: ForwardFlexion, Class: Active, Ceiling: Deg(90), ActiveCeil: Deg(91), From: own}, "active_ceil"},
	}
	for _, tt := range tests {
		err := tt.l.Validate()
		var e *InvalidError
		switch {
		case tt.field == "" && err != nil:
			t.Errorf("%s: %v", tt.name, err)
		case tt.field != "" && (!errors.As(err, &e) || e.Field != tt.field):
			t.Errorf("%s: %v, want a fault of %s", tt.name, err, tt.field)
		}
	}
}

func TestAnatomyLeavesRoomAboveTheNorms(t *testing.T) {
	// The largest published normals: NORKIN2016 Appendix A (flexion and abduction 188, extension 70,
	// IR and ER at 90 94 and 108; ORTHPROC ranges: extension 88, IR 110, ER 117), VAIRO2012 Table 4
	// p95 (ER at the side 95, ER at 90 125, IR at 90 75).
	largest := map[Motion]int{ForwardFlexion: 188, Abduction: 188, Extension: 88, IR90: 110, ER90: 125, ERSide: 117}
	for m, norm := range largest {
		if m.AnatomicalMax() <= Deg(norm) {
			t.Errorf("%s ends at %s, not above the published normal %d", m, m.AnatomicalMax(), norm)
		}
	}
	for _, m := range Motions {
		if !m.Valid() {
			t.Errorf("%s is not valid", m)
		}
	}
	if Motion("ER").Valid() {
		t.Error("external rotation without its position must not be a motion")
	}
}
