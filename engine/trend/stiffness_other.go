package trend

import (
	"fmt"
	"strings"

	"unsling/engine/rom"
)

// both is one motion of both arms.
type both struct {
	motion   rom.Motion
	arm, ref Input
	ok       bool
}

func (c *Course) compare(m rom.Motion, from rom.Date) both {
	in, _, ok := c.take(c.Episode.Side, m, from, c.Day, false)
	ref, _, okRef := c.other(m)
	return both{motion: m, arm: in, ref: ref, ok: ok && okRef}
}

func (b both) String() string {
	if !b.ok {
		return fmt.Sprintf("%s not known of both arms", b.motion)
	}
	if b.motion.ByLevel() {
		return fmt.Sprintf("%s level %d against %d", b.motion, b.arm.Level, b.ref.Level)
	}
	return fmt.Sprintf("%s %s against %s", b.motion, b.arm.Value, b.ref.Value)
}

func (v *Verdict) note(list ...both) {
	var why []string
	for _, b := range list {
		why = append(why, b.String())
		if b.ok {
			v.Inputs = append(v.Inputs, b.arm, b.ref)
		}
	}
	v.Why = strings.Join(why, ", ")
}

// back: "final" is taken as from month 12 on; which way the loss is measured
// is our reading of the source.
func (c *Course) back() Verdict {
	v := Verdict{
		Definition: Back2014, Rule: "passive forward elevation or external rotation 30 or more below the other side",
		Window: "final visit, taken as from month 12", Source: read("BACK2014"), Weak: "the direction of the difference is our reading",
	}
	from, ok := c.inWindow(final)
	if !ok {
		return c.outOfTime(v)
	}
	ff, er := c.compare(rom.ForwardFlexion, from), c.compare(rom.ERSide, from)
	v.note(ff, er)
	hit := func(by rom.Degrees) bool {
		return ff.ok && ff.ref.Value-ff.arm.Value >= by || er.ok && er.ref.Value-er.arm.Value >= by
	}
	switch {
	case hit(rom.Deg(30)):
		v.Answer, v.Hits = Met, []rom.Motion{rom.ForwardFlexion, rom.ERSide}
	case ff.ok && er.ok:
		v.Answer, v.Clearly = NotMet, !hit(rom.Deg(30)-margin)
	default:
		v.Answer = CannotSay
	}
	return v
}

// resolved is the one definition that is good news when met.
func (c *Course) resolved() Verdict {
	v := Verdict{
		Definition: Resolved, Rule: "forward flexion and external rotation within 15 of the other side, and hand behind back within 3 levels: the stiffness has resolved",
		Window: "after a release of a stiff shoulder", Source: read("PMC2504264"),
	}
	if !c.Operated || !c.Episode.Has(rom.CapsularRelease) {
		v.Answer, v.Why = NotInTime, "no stiff shoulder was released"
		return v
	}
	from := max(surgeryOf(c.Episode), c.Day.Add(-maxAge))
	ff, er, hbb := c.compare(rom.ForwardFlexion, from), c.compare(rom.ERSide, from), c.compare(rom.HandBehindBack, from)
	v.note(ff, er, hbb)
	near := func(b both) bool { return b.ref.Value-b.arm.Value <= rom.Deg(15) }
	level := hbb.arm.Level-hbb.ref.Level <= 3
	switch {
	case ff.ok && !near(ff), er.ok && !near(er), hbb.ok && !level:
		v.Answer = NotMet
	case ff.ok && er.ok && hbb.ok:
		v.Answer = Met
	default:
		v.Answer = CannotSay
	}
	return v
}

// capsulitis is general; after a repair the first twelve weeks are left out,
// after a release the first two, for there the limits and the operation
// explain any loss (derived).
func (c *Course) capsulitis() Verdict {
	v := Verdict{
		Definition: Capsulitis, Rule: "a quarter or more lost in at least two of forward flexion, abduction, external and internal rotation",
		Window: "from week 12 after a repair, week 2 otherwise", Source: read("KELLEY2013"), Weak: "read in a second text",
	}
	first := 14
	if c.Episode.Repair() {
		first = 84
	}
	from, ok := c.inWindow([][2]int{{first, forEver}})
	if !ok {
		return c.outOfTime(v)
	}
	ir := c.compare(rom.IR90, from)
	if !ir.ok {
		ir = c.compare(rom.IRSide, from)
	}
	list := []both{c.compare(rom.ForwardFlexion, from), c.compare(rom.Abduction, from), c.compare(rom.ERSide, from), ir}
	v.note(list...)
	lost, nearly, unknown := 0, 0, 0
	for _, b := range list {
		quarter := func(arm rom.Degrees) bool { return 4*(b.ref.Value-arm) >= b.ref.Value }
		switch {
		case !b.ok || b.ref.Value <= 0:
			unknown++
		case quarter(b.arm.Value):
			lost, nearly = lost+1, nearly+1
			v.Hits = append(v.Hits, b.motion)
		case quarter(b.arm.Value - margin):
			nearly++
		}
	}
	switch {
	case lost >= 2:
		v.Answer = Met
	case lost+unknown < 2:
		v.Answer, v.Clearly = NotMet, nearly+unknown < 2
	default:
		v.Answer = CannotSay
	}
	return v
}
