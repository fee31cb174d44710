package verdict

import (
	"slices"

	"unsling/engine/gonio"
	"unsling/engine/protocol"
	"unsling/engine/rom"
)

// heldSE is the error of an angle held in a session: that of any reading of
// the patient's own, by picture or tilt (gonio.SEMs). Derived.
const heldSE = rom.Degrees(70)

// levelStep is how much one vertebral level counts in the model, which has
// degrees: the error of one level (derived: MDC .053 of the C7-PSIS line, HBB2022,
// and a level about .05 of it, PMC3598670) is the 7 degrees of an angle.
const levelStep = 7.0

func (x Set) seen() seen {
	s := seen{y: x.Angle.Float(), se: x.SE.Float(), bias: biasPhoto}
	if x.Level != 0 {
		s.y, s.se = -levelStep*float64(x.Level), levelStep
	}
	switch {
	case x.Clinic:
		s.bias = noBias
	case x.method == rom.Tilt:
		s.bias = biasTilt
	}
	return s
}

// measuredIn names one angle of a session, which stands in its reading and
// again in its hold.
type measuredIn struct {
	session rom.SessionID
	angle   rom.Degrees
}

// sets returns readings and held angles of the operated arm since surgery in
// order of time. Estimates by eye, and what was taken as a baseline or under
// anaesthetic, are no evidence.
func sets(h rom.History, e rom.Episode, m rom.Motion, to rom.Date) []Set {
	var out []Set
	read := map[measuredIn]int{}
	for i := range h.Readings {
		b := &h.Readings[i].Body
		if b.Episode != e.ID || b.Motion != m || b.Side != e.Side || b.Baseline || b.Anaesthetic || b.Method == rom.Eye || b.Validate() != nil {
			continue
		}
		x := ofReading(h.Readings[i])
		if x.day < e.Surgery || x.day > to {
			continue
		}
		if b.Session != "" {
			read[measuredIn{b.Session, b.Angle}] = len(out)
		}
		out = append(out, x)
	}
	for i := range h.Sessions {
		s := &h.Sessions[i]
		d := s.Body.Due
		if d.IsZero() {
			d = s.Day()
		}
		if m.ByLevel() || s.Body.Episode != e.ID || d < e.Surgery || d > to {
			continue
		}
		x, ok := held(s, m)
		if !ok || s.Body.Validate() != nil {
			continue
		}
		if i, twice := read[measuredIn{s.Body.ID, x.Angle}]; twice {
			out[i].Class = max(out[i].Class, x.Class)
			continue
		}
		x.day = d
		out = append(out, x)
	}
	slices.SortStableFunc(out, func(a, b Set) int {
		if a.day != b.day {
			return int(a.day) - int(b.day)
		}
		return a.minute - b.minute
	})
	return out
}

func ofReading(e rom.Entry[rom.Reading]) Set {
	b := e.Body
	x := Set{Ref: e.Ref, Rev: e.Rev, Class: b.Class, Clinic: !b.Self(), Angle: b.Angle, Level: b.Level, SE: b.SE,
		day: b.On, minute: minuteOf(e.Meta), session: b.Session, method: b.Method, most: b.Angle, motion: b.Motion}
	if x.day.IsZero() {
		x.day = e.Day()
	}
	rater := gonio.Self
	if x.Clinic {
		rater = gonio.SameClinician
	}
	if row, ok := gonio.SEMFor(b.Method, b.Motion, rater); ok {
		x.SE = max(x.SE, row.SEM)
	}
	for _, t := range b.Trials {
		x.most = max(x.most, t.Angle)
	}
	return x
}

// held is the farthest angle held in one session, with the class of its
// exercise: the arm's own work has a limit of its own.
func held(s *rom.Entry[rom.Session], m rom.Motion) (x Set, ok bool) {
	for i := range s.Body.Items {
		it := &s.Body.Items[i]
		if it.Motion != m {
			continue
		}
		for _, h := range it.Holds {
			if h.Angle == nil || ok && *h.Angle <= x.Angle {
				continue
			}
			x = Set{Ref: s.Ref, Rev: s.Rev, Class: rom.Passive, Held: true, Angle: *h.Angle, most: *h.Angle, SE: heldSE, motion: m,
				minute: minuteOf(s.Meta), session: s.Body.ID, method: rom.Photo}
			if e, known := protocol.Lookup(it.Exercise); known && e.Class > rom.Passive {
				x.Class = e.Class
			}
			ok = true
		}
	}
	return x, ok
}

func minuteOf(m rom.Meta) int { return m.At.Hour()*60 + m.At.Minute() }
