package trend

import (
	"time"

	"unsling/engine/rom"
)

// The people and courses of these tests are invented.

var surgery = rom.MakeDate(2026, time.March, 2)

// course builds a history of one right shoulder, day by day after surgery.
type course struct {
	h rom.History
	n int64
}

func newCourse(procedures ...rom.Procedure) *course {
	if len(procedures) == 0 {
		procedures = []rom.Procedure{rom.CuffRepair}
	}
	c := &course{}
	c.h.Episodes = append(c.h.Episodes, rom.Entry[rom.Episode]{Body: rom.Episode{
		ID: "e1", Version: 1, State: rom.Ongoing, Side: rom.Right, Procedures: procedures, Surgery: surgery,
		ConfirmedBy: "s1", SideBy: "t1", By: "s1", BornYear: 1966,
		OtherArm: []rom.Motion{rom.ForwardFlexion, rom.Abduction, rom.ERSide, rom.ER90, rom.IR90, rom.IRSide, rom.HandBehindBack},
	}})
	return c
}

func (c *course) add(day int, r rom.Reading) *course {
	c.n++
	r.Episode = "e1"
	if r.Side == "" {
		r.Side = rom.Right
	}
	if r.Class == 0 {
		r.Class = rom.Passive
	}
	if r.Method == "" {
		r.Method = rom.Photo
		if r.By != "" {
			r.Method = rom.Goniometer
		}
		if r.Motion.ByLevel() {
			r.Method = rom.LevelMethod
		}
	}
	at := surgery.Add(day).Time().Add(10 * time.Hour)
	c.h.Readings = append(c.h.Readings, rom.Entry[rom.Reading]{
		Meta: rom.Meta{Ref: rom.Ref{Author: "p1", N: c.n}, At: at}, Body: r,
	})
	return c
}

// own adds the patient's readings of one motion: day, degrees, day, degrees...
func (c *course) own(m rom.Motion, pairs ...float64) *course { return c.by("", rom.Right, m, pairs...) }

func (c *course) by(who rom.StaffID, side rom.Side, m rom.Motion, pairs ...float64) *course {
	for i := 0; i+1 < len(pairs); i += 2 {
		r := rom.Reading{Motion: m, Side: side, By: who}
		if m.ByLevel() {
			r.Level = rom.Level(pairs[i+1])
		} else {
			r.Angle, _ = rom.FromFloat(pairs[i+1])
		}
		c.add(int(pairs[i]), r)
	}
	return c
}

func (c *course) at(day int) *Course {
	out, ok := At(c.h, "e1", surgery.Add(day), Options{})
	if !ok {
		panic("no episode")
	}
	return out
}

func (c *course) summary(day int, m rom.Motion) Summary {
	x := c.at(day)
	return x.Summary(x.Passive(m))
}
