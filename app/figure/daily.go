package figure

import "unsling/engine/rom"

// Daily names a picture of daily life with the arm in a sling, or of what
// another person does.
type Daily string

// The pictures of daily life.
const (
	SlingElbow  Daily = "sling-elbow"  // the elbow lies deep in the back of the sling
	SlingStrap  Daily = "sling-strap"  // the strap runs over the other shoulder
	SlingHand   Daily = "sling-hand"   // the hand lies a little higher than the elbow, the band round the waist
	WashArmpit  Daily = "wash-armpit"  // leaning, the arm hangs, the other hand washes
	SleepUp     Daily = "sleep-up"     // half sitting in bed, a pillow under the elbow
	IceOn       Daily = "ice-on"       // a cold pack in a cloth on the shoulder
	DressFirst  Daily = "dress-first"  // the operated arm goes into the sleeve first
	HelperCarry Daily = "helper-carry" // one hand under the elbow, one under the wrist
	HelperStand Daily = "helper-stand" // where the helper stands for a picture from the side
)

// DailyPictures lists them.
var DailyPictures = []Daily{
	SlingElbow, SlingStrap, SlingHand, WashArmpit, SleepUp, IceOn, DressFirst, HelperCarry, HelperStand,
}

// DailyLife returns a picture of daily life; an unknown one gives the standing
// body.
func DailyLife(d Daily, side rom.Side, w Words) string {
	return draw(dailyScene(d), side, 1, Marks{}, w)
}

func dailyScene(d Daily) scene {
	switch d {
	case SlingElbow, SlingStrap, SlingHand:
		return slingScene(d)
	case WashArmpit:
		return washScene()
	case SleepUp:
		return sleepScene()
	case IceOn:
		return iceScene()
	case DressFirst:
		return dressScene()
	case HelperCarry:
		return carryScene()
	case HelperStand:
		return standForPicture()
	}
	return standScene()
}

// slung lays the operated forearm across the belly, the hand higher than the
// elbow.
func (p *Pose) slung() { p.slungBy(55) }

// slungBy turns the forearm inward by in degrees.
func (p *Pose) slungBy(in float64) {
	t := p.Trunk
	down := t.Up.Mul(-1)
	d := turn(turn(down, t.Right, 5), t.Forward, 6)
	p.arm(true, d, turn(turn(t.Forward, t.Right.Mul(-1), in), t.Up, 8), 96, t.Up)
}

func slingScene(d Daily) scene {
	s := scene{
		cam: camera{azimuth: 16, height: 6}, floor: 84, zoom: 4.4,
		pose: func(_, _ float64) Pose {
			p := standing()
			p.slung()
			return p
		},
	}
	s.extra = func(p Pose, _ lens) []part { return slingParts(p, d) }
	switch d {
	case SlingElbow:
		s.numbered = []func(Pose) Vec{func(p Pose) Vec { return p.Operated.Elbow }}
	case SlingStrap:
		s.numbered = []func(Pose) Vec{func(p Pose) Vec { return p.strap()[1] }}
	default:
		s.numbered = []func(Pose) Vec{
			func(p Pose) Vec { return mix(p.Operated.Wrist, p.Operated.Tip, 0.35) },
			func(p Pose) Vec { return p.Trunk.at(p.Pelvis, 0, 13, 10.5) },
		}
	}
	return s
}

// strap returns where the strap lies: at the hand, on the free shoulder,
// behind the neck, at the elbow.
func (p Pose) strap() []Vec {
	t := p.Trunk
	return []Vec{
		p.Operated.Wrist.Add(t.Forward.Mul(2)), t.at(p.Neck, -10, 2, 4), t.at(p.Neck, -6, 4, -3), t.at(p.Neck, 6, -6, -9), p.Operated.Elbow,
	}
}

func slingParts(p Pose, d Daily) []part {
	a, t := p.Operated, p.Trunk
	back := a.Elbow.Sub(a.Wrist).unit().Mul(3)
	out := []part{{class: "fig-sling", bias: 24, hulls: [][]ball{{
		{a.Elbow.Add(back), 4.6}, {a.Elbow.Add(t.Up.Mul(5)), 4.8}, {a.Wrist, 4.4}, {mix(a.Wrist, a.Tip, 0.3), 3.6},
	}}}}
	rod := func(from, to Vec, r, bias float64) {
		out = append(out, part{class: "fig-belt", bias: bias, hulls: [][]ball{{{from, r}, {to, r}}}})
	}
	if d != SlingElbow {
		s := p.strap()
		rod(s[0], s[1], 1.7, 23)
		rod(s[1], s[2], 1.7, 16)
		rod(s[3], s[4], 1.7, -40)
	}
	if d == SlingHand {
		rod(t.at(p.Pelvis, -14.5, 14, 2), t.at(p.Pelvis, 0, 12, 9.6), 2, 22)
		rod(t.at(p.Pelvis, 0, 12, 9.6), t.at(p.Pelvis, 14.5, 14, 2), 2, 22)
	}
	return out
}

// washScene: the body leans so far that the arm hangs clear of it.
func washScene() scene {
	return scene{
		cam: camera{azimuth: 40, height: 8}, floor: 50,
		pose: func(_, _ float64) Pose {
			var p Pose
			p.place(Vec{0, standingHip - 2, -8}, upright.lean(42), 18)
			p.legs(upright, 10, -8, 6)
			p.arm(true, turn(up.Mul(-1), forward, 4), forward, 6, right.Mul(-1))
			t := p.Trunk
			p.reach(false, t.at(p.Neck, 11, -16, 9), right.Mul(-0.4).Add(up.Mul(-1)), t.Right.Add(t.Up.Mul(0.2)), t.Up)
			return p
		},
		extra: func(p Pose, _ lens) []part {
			f := p.Free
			return []part{{class: "fig-strap", bias: 14, hulls: [][]ball{{{f.Tip, 3}, {mix(f.Wrist, f.Tip, 0.6), 2.6}}}}}
		},
	}
}

// sleepScene: half sitting in bed with a pillow under the elbow, the arm in
// its sling.
func sleepScene() scene {
	return scene{
		cam: camera{azimuth: 74, height: 20},
		pose: func(_, _ float64) Pose {
			var p Pose
			p.place(Vec{0, bedUp + 10, 0}, upright.lean(-48), 8)
			for _, operated := range []bool{true, false} {
				p.leg(operated, upright, 84, 66, 4)
			}
			p.slungBy(74)
			p.arm(false, turn(p.Trunk.Up.Mul(-1), right.Mul(-1), 12), forward, 16, up)
			return p
		},
		props: func(p Pose, _ float64) []prop {
			b := p.Neck
			return []prop{
				boxOf("fig-bed", Vec{-38, bedUp - 12, -78}, Vec{38, bedUp, 92}).behind(),
				rodOf("fig-pillow", Vec{-20, bedUp + 7, b.Z + 3}, Vec{20, bedUp + 7, b.Z + 3}, 10).biased(-60),
				rodOf("fig-pillow", Vec{-18, bedUp + 22, b.Z - 6}, Vec{18, bedUp + 22, b.Z - 6}, 11).biased(-58),
				rodOf("fig-pillow", Vec{-16, bedUp + 38, b.Z - 17}, Vec{16, bedUp + 38, b.Z - 17}, 9).biased(-56),
			}
		},
		extra: func(p Pose, _ lens) []part {
			e := p.Operated.Elbow
			pillow := part{class: "fig-pillow", bias: -4, hulls: [][]ball{{
				{e.Add(Vec{3, -7, -8}), 6}, {e.Add(Vec{3, -7, 10}), 6},
			}}}
			return append([]part{pillow}, slingParts(p, SlingElbow)...)
		},
	}
}

// iceScene: seated, a cold pack lies in a cloth on the shoulder.
func iceScene() scene {
	return scene{
		cam: camera{azimuth: 24, height: 10}, floor: 40,
		pose: func(_, _ float64) Pose {
			p := seated(0, 0)
			p.slung()
			p.restOnThigh()
			return p
		},
		props: func(Pose, float64) []prop { return stool() },
		extra: func(p Pose, _ lens) []part {
			s, t := p.Operated.Shoulder, p.Trunk
			around := func(r, grow float64, class string, bias float64) part {
				return part{class: class, bias: bias, hulls: [][]ball{{
					{s.Add(t.Up.Mul(3)).Add(t.Forward.Mul(4 + grow)), r}, {s.Add(t.Up.Mul(4.5)), r},
					{s.Add(t.Right.Mul(3)).Add(t.Up.Mul(-5 - grow)).Add(t.Forward.Mul(3)), r},
				}}}
			}
			return append(slingParts(p, SlingStrap), around(5.6, 2, "fig-strap", 30), around(3.6, 0, "fig-ice", 34))
		},
	}
}

// dressScene: leaning a little, the operated arm hangs and the free hand
// draws the sleeve up over it.
func dressScene() scene {
	return scene{
		cam: camera{azimuth: 30, height: 8}, floor: 50,
		pose: func(_, _ float64) Pose {
			var p Pose
			p.place(Vec{0, standingHip - 1, -4}, upright.lean(24), 14)
			p.legs(upright, 6, -5, 6)
			p.arm(true, turn(up.Mul(-1), forward, 8), forward, 10, forward)
			a := p.Operated
			p.reach(false, mix(a.Elbow, a.Wrist, 0.3).Add(Vec{-5, 3, 6}), right.Mul(-0.6).Add(up.Mul(-1)), right.Add(up.Mul(-0.2)), forward)
			return p
		},
		extra: func(p Pose, _ lens) []part {
			a := p.Operated
			return []part{{class: "fig-strap", bias: 12, hulls: [][]ball{
				{{mix(a.Elbow, a.Wrist, 0.95), 5}, {mix(a.Elbow, a.Wrist, 0.15), 5.4}},
				{{mix(a.Elbow, a.Wrist, 0.4), 5.2}, {p.Free.Tip, 2.6}},
			}}}
		},
	}
}
