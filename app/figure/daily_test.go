package figure

import (
	"math"
	"strings"
	"testing"

	"unsling/engine/rom"
)

// The same body lives in every picture: limbs of daily life, of the helper and
// of the back keep the lengths of the standing body, and no elbow bends by
// more than 150 degrees (AAOS value in NORKIN2016 Appendix A, from memory).
func TestDailyBodiesAreTheSameBody(t *testing.T) {
	rest := standing()
	poses := map[string]Pose{"carrier": carrier(carried())}
	for _, d := range DailyPictures {
		poses[string(d)] = dailyScene(d).at(1)
	}
	for _, l := range append([]rom.Level{noLevel}, Places...) {
		poses["level "+rom.Deg(int(l)).String()] = spineScene(l).at(1)
	}
	length := func(a, b Vec) float64 { return a.Sub(b).Len() }
	for name, p := range poses {
		for i, arm := range []Arm{p.Operated, p.Free} {
			for what, pair := range map[string][2]float64{
				"upper arm": {length(arm.Shoulder, arm.Elbow), length(rest.Operated.Shoulder, rest.Operated.Elbow)},
				"forearm":   {length(arm.Elbow, arm.Wrist), length(rest.Operated.Elbow, rest.Operated.Wrist)},
				"hand":      {length(arm.Wrist, arm.Tip), length(rest.Operated.Wrist, rest.Operated.Tip)},
			} {
				if math.Abs(pair[0]-pair[1]) > 0.01 {
					t.Errorf("%s, arm %d: %s is %.2f, want %.2f", name, i, what, pair[0], pair[1])
				}
			}
			if bend := angleBetween(arm.Elbow.Sub(arm.Shoulder), arm.Wrist.Sub(arm.Elbow)); bend > 150 {
				t.Errorf("%s, arm %d: the elbow bends by %.0f", name, i, bend)
			}
		}
	}
}

// In the sling the hand lies no lower than the elbow, and the elbow stays at
// the side (practice leaflets P11, P22).
func TestSlingCarriesTheForearm(t *testing.T) {
	for _, d := range []Daily{SlingElbow, SlingStrap, SlingHand, IceOn} {
		p := dailyScene(d).at(1)
		if p.Operated.Wrist.Y < p.Operated.Elbow.Y {
			t.Errorf("%s: the hand hangs below the elbow", d)
		}
		if out := angleBetween(p.Operated.Elbow.Sub(p.Operated.Shoulder), p.Trunk.Up.Mul(-1)); out > 12 {
			t.Errorf("%s: the upper arm is %.0f degrees from the side", d, out)
		}
	}
	// Whoever carries the arm has a hand at the elbow and one at the wrist.
	p := carried()
	h := carrier(p)
	for name, gap := range map[string]float64{
		"elbow": nearest(h.Free, p.Operated.Elbow), "wrist": nearest(h.Operated, p.Operated.Wrist),
	} {
		if gap > 11 { // a forearm is 4 thick, a hand 3
			t.Errorf("the helper's hand is %.0f cm from the %s", gap, name)
		}
	}
}

// A tap on a place of the back finds it, for both sides and between places the
// nearer one; the places stand in the order of the spine.
func TestSpinePlaces(t *testing.T) {
	s := spineScene(noLevel)
	points := spinePoints(s.at(1), s.lens(Marks{}), rom.Right)
	if len(points) != len(Places) {
		t.Fatalf("%d points", len(points))
	}
	for i, q := range points {
		if got := SpinePlace(int(q.at.x*1000/viewWidth), int(q.at.y*1000/viewWidth)); got != q.level {
			t.Errorf("a tap on level %d finds %d", q.level, got)
		}
		if i > 0 && points[i-1].at.y-q.at.y < 12 {
			t.Errorf("levels %d and %d lie %.1f apart", points[i-1].level, q.level, points[i-1].at.y-q.at.y)
		}
		// Framed alike for every level, or a tap would be read wrongly.
		other := spineScene(q.level)
		if l := other.lens(Marks{}); l.flat(Vec{}) != s.lens(Marks{}).flat(Vec{}) {
			t.Errorf("the picture of level %d is framed otherwise", q.level)
		}
	}
	for _, l := range Places {
		if svg := Spine(rom.Left, l, Marks{}, Words{Title: "x"}); strings.Count(svg, `class="fig-level-at"`) != 1 {
			t.Errorf("level %d is not marked once", l)
		}
	}
}

// The phone lies on the limb that is read, and nothing of the photograph's
// marks is left.
func TestPhoneLiesOnTheLimb(t *testing.T) {
	for _, m := range rom.Motions {
		for _, pos := range []rom.Position{rom.Supine, rom.Seated, rom.Standing, rom.Prone} {
			for _, spot := range []Spot{OnTrunk, OnUpperArm, OnForearm, InFist} {
				s := strappedScene(m, pos, spot, Marks{})
				svg := draw(s, rom.Right, 1, Marks{}, Words{Title: "x"})
				if !strings.Contains(svg, `class="fig-phone"`) || strings.Contains(svg, `class="fig-point"`) {
					t.Errorf("%s %s %s: no phone, or marks of a photograph", m, pos, spot)
				}
				p := s.at(1)
				at, along, _ := p.rest(spot)
				a := p.Operated
				var want Vec
				switch spot {
				case OnUpperArm:
					want = a.Elbow.Sub(a.Shoulder).unit()
				case OnForearm:
					want = a.Wrist.Sub(a.Elbow).unit()
				default:
					continue
				}
				if math.Abs(along.Dot(want)-1) > 1e-6 {
					t.Errorf("%s %s %s: the phone lies across the limb", m, pos, spot)
				}
				if d := math.Min(at.Sub(mix(a.Shoulder, a.Elbow, 0.55)).Len(), at.Sub(mix(a.Elbow, a.Wrist, 0.62)).Len()); d > 0.1 {
					t.Errorf("%s %s %s: the phone is %.1f cm off", m, pos, spot, d)
				}
			}
		}
	}
}

// What must not be passed is never rounded up; a reading is rounded.
func TestLimitIsFloored(t *testing.T) {
	for _, c := range []struct {
		tenths rom.Degrees
		floor  bool
		want   string
	}{{925, true, "92°"}, {929, true, "92°"}, {925, false, "93°"}, {-5, true, "−1°"}, {920, true, "92°"}} {
		if got := value(c.tenths, rom.ForwardFlexion, c.floor); got != c.want {
			t.Errorf("%v, floored %v: %q, want %q", c.tenths, c.floor, got, c.want)
		}
	}
}

// nearest is how near a hand comes to a point.
func nearest(a Arm, v Vec) float64 {
	best := math.Inf(1)
	for i := range 11 {
		best = math.Min(best, mix(a.Wrist, a.Tip, float64(i)/10).Sub(v).Len())
	}
	return best
}
