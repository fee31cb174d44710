package trend

import (
	"fmt"
	"strings"

	"unsling/engine/rom"
)

// maxAge is how many days old a reading may be where a definition names no
// time. Derived.
const maxAge = 56

// Three months, and the like, are judged from one week before to three weeks
// after, since visits slip late rather than early. Derived.
var (
	weeks6to8 = [][2]int{{42, 56}}
	month3    = [][2]int{{84, 112}}
	months    = [][2]int{{84, 112}, {176, 204}, {358, 386}}
	after90   = [][2]int{{91, forEver}}
	final     = [][2]int{{358, forEver}}
)

const (
	forEver = 1 << 20
	margin  = rom.Degrees(50) // for Verdict.Clearly; derived
)

// definition is one published definition by angles.
type definition struct {
	name   Definition
	rule   string
	window string
	days   [][2]int
	all    bool // every criterion, instead of any
	need   []criterion
	src    rom.Source
	weak   string
}

// criterion is met by an angle below, or a thumb lower than worse.
type criterion struct {
	motion rom.Motion
	below  rom.Degrees
	worse  rom.Level
}

func read(key string) rom.Source   { return rom.Source{Key: key, Mark: rom.Read} }
func memory(key string) rom.Source { return rom.Source{Key: key, Mark: rom.Memory} }

// definitions are those by fixed angles, all of passive motion. External
// rotation is taken at the side throughout, which PARSONS2010 and SCIREP2022
// do not say in what we read of them.
var definitions = []definition{
	{Parsons2010, "passive forward elevation below 100 and external rotation below 30", "weeks 6 to 8", weeks6to8, true,
		[]criterion{{motion: rom.ForwardFlexion, below: rom.Deg(100)}, {motion: rom.ERSide, below: rom.Deg(30)}},
		read("PARSONS2010"), ""},
	{Chung2013, "passive forward elevation below 120, or external rotation at the side below 30, or thumb below L3", "months 3, 6 and 12", months, false,
		[]criterion{{motion: rom.ForwardFlexion, below: rom.Deg(120)}, {motion: rom.ERSide, below: rom.Deg(30)}, {motion: rom.HandBehindBack, worse: rom.LevelL3}},
		read("CHUNG2013"), "hand behind back is from memory"},
	{SciRep2022, "passive forward elevation below 120 or external rotation at the side below 30", "month 3", month3, false,
		[]criterion{{motion: rom.ForwardFlexion, below: rom.Deg(120)}, {motion: rom.ERSide, below: rom.Deg(30)}},
		read("SCIREP2022"), ""},
	{Brislin2007, "passive forward elevation below 100, or external rotation below 10 at the side or 30 at 90 of abduction", "after day 90", after90, false,
		[]criterion{{motion: rom.ForwardFlexion, below: rom.Deg(100)}, {motion: rom.ERSide, below: rom.Deg(10)}, {motion: rom.ER90, below: rom.Deg(30)}},
		memory("BRISLIN2007"), "all of it is from memory"},
}

// Stiffness judges every published definition on Day, each only in its own
// time window and on passive readings of the whole arm taken in that window.
func (c *Course) Stiffness() []Verdict {
	var out []Verdict
	for _, d := range definitions {
		out = append(out, c.byAngles(d))
	}
	return append(out, c.huberty(), c.tauro(), c.back(), c.resolved(), c.capsulitis())
}

// inWindow returns the first day of the window that holds DayN.
func (c *Course) inWindow(days [][2]int) (from rom.Date, ok bool) {
	if !c.Operated {
		return 0, false
	}
	for _, w := range days {
		if c.DayN >= w[0] && c.DayN <= w[1] {
			from = surgeryOf(c.Episode).Add(w[0])
			if w[1] == forEver {
				from = max(from, c.Day.Add(-maxAge))
			}
			return from, true
		}
	}
	return 0, false
}

func (c *Course) outOfTime(v Verdict) Verdict {
	v.Answer = NotInTime
	v.Why = "not operated"
	if c.Operated {
		v.Why = fmt.Sprintf("day %d after surgery", c.DayN)
	}
	return v
}

func (c *Course) byAngles(d definition) Verdict {
	v := Verdict{Definition: d.name, Rule: d.rule, Window: d.window, Source: d.src, Weak: d.weak}
	from, ok := c.inWindow(d.days)
	if !ok {
		return c.outOfTime(v)
	}
	met, nearly, missing, why := 0, 0, []string(nil), []string(nil)
	for _, k := range d.need {
		in, _, ok := c.take(c.Episode.Side, k.motion, from, c.Day, false)
		if !ok {
			missing = append(missing, string(k.motion))
			continue
		}
		v.Inputs = append(v.Inputs, in)
		hit, near := in.Value < k.below, in.Value < k.below+margin
		if k.motion.ByLevel() {
			hit, near = in.Level > k.worse, in.Level >= k.worse
		}
		if hit {
			met++
			v.Hits = append(v.Hits, k.motion)
		}
		if near {
			nearly++
		}
		why = append(why, in.String())
	}
	v.Why = strings.Join(why, ", ")
	v.Clearly = d.all && nearly < len(v.Inputs) || !d.all && nearly == 0
	switch {
	case d.all && met == len(d.need), !d.all && met > 0:
		v.Answer = Met
	case d.all && met < len(v.Inputs), !d.all && len(missing) == 0:
		v.Answer = NotMet
	default:
		v.Answer = CannotSay
		v.Why = strings.Join(append(why, "no reading of "+strings.Join(missing, " and ")+" in this window"), ", ")
	}
	return v
}

// String prints motion, value and whose it is.
func (in Input) String() string {
	s := fmt.Sprintf("%s %s", in.Motion, in.Value)
	if in.Motion.ByLevel() {
		s = fmt.Sprintf("%s level %d", in.Motion, in.Level)
	}
	if in.Self {
		s += " (own)"
	}
	return s
}

func (c *Course) huberty() Verdict {
	return Verdict{
		Definition: Huberty2009, Rule: "the patient is dissatisfied because the shoulder is stiff", Window: "any time",
		Answer: CannotSay, Why: "no angle decides it: ask the patient", Source: memory("HUBERTY2009"),
	}
}

// tauro speaks of the time before surgery and is answered from the baseline
// whatever the day; its grade is met from 2 on.
func (c *Course) tauro() Verdict {
	v := Verdict{
		Definition: Tauro2006, Rule: "total deficit in abduction, flexion, external and internal rotation: grade 1 to 20, grade 2 from 25 to 70, grade 3 over 70",
		Window: "before surgery", Source: read("TAURO2006"),
	}
	t := c.TotalDeficit(true)
	v.Why, v.Grade = t.Why, t.Grade
	for _, p := range t.Parts {
		v.Inputs = append(v.Inputs, Input{Motion: p.Motion, Value: p.Value, On: p.On}, Input{Motion: p.Motion, Value: p.Reference, On: p.RefOn})
	}
	switch {
	case !t.Known:
		v.Answer = CannotSay
	case t.Grade >= 2:
		v.Answer = Met
	default:
		v.Answer = NotMet
	}
	return v
}
