package figure

import "strings"

// helperParts dresses a second body in the classes of the helper, so that
// nobody takes its arm for the operated one.
func helperParts(p Pose, l lens) []part {
	parts := bodyParts(p, l)
	for i, q := range parts {
		switch {
		case q.class == "fig-sleeve", q.class == "fig-shirt":
			parts[i].class = "fig-helper"
		case q.class == "fig-shirt-far":
			parts[i].class = "fig-helper-far"
		case strings.HasPrefix(q.class, "fig-trousers"):
			parts[i].class = "fig-helper-legs"
		case q.class == "fig-arm", q.class == "fig-skin-far":
			parts[i].class = "fig-helper-skin"
		}
	}
	return parts
}

// carried is a seated patient whose arm is carried a little in front.
func carried() Pose {
	p := seated(0, 0)
	t := p.Trunk
	d := turn(turn(t.Up.Mul(-1), t.Forward, 48), t.Right, 8)
	p.arm(true, d, t.Forward.across(d), 28, t.Up)
	p.restOnThigh()
	return p
}

// carrier stands before the patient: one hand lies under the elbow, the other
// under the wrist. Neither pushes.
func carrier(patient Pose) Pose {
	a := patient.Operated
	var h Pose
	facing := upright.yaw(180)
	h.place(Vec{a.Wrist.X + 4, standingHip - 8, a.Wrist.Z + 40}, facing.lean(14), 8)
	h.legs(facing, 10, -8, 6)
	// The helper's right hand is on the side of the patient's left.
	h.reach(false, a.Elbow.Add(Vec{3, -6, 3}), up.Mul(-1).Add(right), forward.Mul(-1).Add(right.Mul(-0.5)), right)
	h.reach(true, a.Wrist.Add(Vec{-2, -5.5, 2}), up.Mul(-1).Add(right.Mul(-1)), forward.Mul(-1), right)
	return h
}

func carryScene() scene {
	return scene{
		cam: camera{azimuth: 62, height: 12}, floor: 36, zoom: 3.4,
		include: []Vec{{0, 172, 90}, {0, 60, 80}},
		pose:    func(_, _ float64) Pose { return carried() },
		props:   func(Pose, float64) []prop { return stool() },
		extra:   func(p Pose, l lens) []part { return helperParts(carrier(p), l) },
	}
}

// standForPicture: the helper stands square to the side of the arm, with the
// phone as high as the shoulder and a good way off.
func standForPicture() scene {
	const away = 190
	helper := func(p Pose) Pose {
		var h Pose
		facing := Axes{forward.Mul(-1), up, right.Mul(-1)}
		h.place(Vec{away, standingHip - 14, 0}, facing, 4)
		h.legs(facing, 14, -12, 4)
		s := p.Operated.Shoulder
		for _, operated := range []bool{true, false} {
			side := -5.0
			if operated {
				side = 5
			}
			h.reach(operated, Vec{away - 34, s.Y - 3, -side}, up.Mul(-1), right.Mul(-0.4).Add(up), right)
		}
		return h
	}
	return scene{
		cam: camera{azimuth: -24, height: 12}, floor: 0,
		include: []Vec{{away + 18, 170, 0}, {away + 18, 0, 0}, {-30, 0, 0}},
		pose: func(_, _ float64) Pose {
			p := seated(0, 0)
			t := p.Trunk
			p.arm(true, turn(t.Up.Mul(-1), t.Forward, 80), t.Forward.across(turn(t.Up.Mul(-1), t.Forward, 80)), 4, t.Up)
			return p
		},
		props: func(Pose, float64) []prop { return append(stool(), floor(-34, -34, away+30, 56)) },
		extra: func(p Pose, l lens) []part {
			s := p.Operated.Shoulder
			eye := Vec{away - 40, s.Y, s.Z}
			out := helperParts(helper(p), l)
			out = append(out,
				part{class: "fig-phone", fixed: true, deep: 900, hulls: [][]ball{{
					{eye.Add(Vec{0, 7, -4}), 1.2}, {eye.Add(Vec{0, -7, -4}), 1.2}, {eye.Add(Vec{0, 7, 4}), 1.2}, {eye.Add(Vec{0, -7, 4}), 1.2},
				}}})
			for i := range 11 {
				x := lerp(s.X+9, eye.X-8, float64(i)/10)
				out = append(out, part{class: "fig-arrow", fixed: true, deep: 901, hulls: [][]ball{{{Vec{x, s.Y, s.Z}, 1.3}}}})
			}
			return out
		},
	}
}
