package trend

import (
	"testing"

	"unsling/engine/rom"
)

// What the patient measured on both arms while the operation was planned is
// the reference once it is confirmed, and no part of the course: level, rate
// and other arm are those of the days after it.
func TestBaselineOfAPlannedEpisode(t *testing.T) {
	c := newCourse()
	e := &c.h.Episodes[0].Body
	e.State, e.Surgery, e.OtherArm = rom.Planned, surgery.Add(7), nil // booked a week later than it became
	before := func(side rom.Side, day int, angle int) {
		c.add(day, rom.Reading{Motion: rom.ForwardFlexion, Side: side, Angle: rom.Deg(angle), SE: rom.Deg(4), Baseline: true})
	}
	before(rom.Right, -6, 150)
	before(rom.Left, -6, 170)
	before(rom.Right, -3, 152)
	before(rom.Right, 2, 100) // the date was moved forward and the phone did not know: nobody's reference, no course
	if d := c.at(-2).Deficit(rom.ForwardFlexion); d.Against == ByBaseline {
		t.Errorf("before the operation an arm is compared with itself: %+v", d)
	}
	e.State, e.Surgery = rom.Ongoing, surgery
	if s := c.at(10).Summary(c.at(10).Passive(rom.ForwardFlexion)); s.Known {
		t.Errorf("readings before the operation make a course: %+v", s)
	}
	c.own(rom.ForwardFlexion, 60, 80, 64, 82, 68, 84)
	now := c.at(70)
	if s := now.Summary(now.Passive(rom.ForwardFlexion)); !s.Known || len(s.Path) == 0 || s.Path[0].Day != surgery.Add(60) || s.Now.Mid > rom.Deg(100) {
		t.Errorf("the course begins on %v: %+v", s.Path, s.Now)
	}
	if d := now.Deficit(rom.ForwardFlexion); d.Against != ByBaseline || d.Reference != rom.Deg(152) || d.RefOn != surgery.Add(-3) || !d.Real {
		t.Errorf("deficit against %s of %s, %+v", d.Against, d.RefOn, d)
	}
	c.h.Episodes[0].Body.OtherArm = []rom.Motion{rom.ForwardFlexion}
	if d := c.at(70).Deficit(rom.ForwardFlexion); d.Against != ByOtherArm || d.Reference != rom.Deg(170) {
		t.Errorf("with the other arm usable: %+v", d)
	}
}
