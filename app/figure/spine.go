package figure

import (
	"math"
	"strings"

	"unsling/engine/rom"
)

// Places are the places of the back that a hand can be felt to reach, from
// the lowest to the highest: side of the thigh, buttock, base of the back,
// belt (L5), waist (L3), lowest rib (T12), middle of the back (T10), tip of
// the shoulder blade (T7), between the blades (T5).
var Places = []rom.Level{
	rom.LevelThigh, rom.LevelButtock, rom.LevelSacrum, rom.LevelL5, rom.LevelL3, rom.LevelT12, 10, rom.LevelT7, 5,
}

// noLevel stands for a hand that hangs.
const noLevel rom.Level = 0

// SpineHeight is the height of the picture of Spine without its legend, in
// thousandths of its width.
const SpineHeight = int(viewHeight) * 1000 / int(viewWidth)

// Spine returns the picture of the back with the hand at a level and the
// places of the back as points to tap. At level 0 the hand hangs.
func Spine(side rom.Side, at rom.Level, m Marks, w Words) string {
	s := spineScene(at)
	p, l := s.at(1), s.lens(m)
	picture := draw(s, side, 1, m, w)
	var b strings.Builder
	for _, q := range spinePoints(p, l, side) {
		class, r := "fig-level", "6"
		if q.level == at {
			class, r = "fig-level-at", "11"
		}
		b.WriteString(`<circle class="` + class + `" cx="` + num(q.at.x) + `" cy="` + num(q.at.y) + `" r="` + r + `"/>`)
	}
	return strings.TrimSuffix(picture, `</svg>`) + b.String() + `</svg>`
}

// SpinePlace returns the place nearest to a tap x, y on the picture of Spine,
// in thousandths of its width. Only the height counts, but for the thigh.
func SpinePlace(x, y int) rom.Level {
	s := spineScene(noLevel)
	best, found := math.Inf(1), rom.LevelThigh
	for _, q := range spinePoints(s.at(1), s.lens(Marks{}), rom.Right) {
		if d := math.Abs(q.at.y - float64(y)*viewWidth/1000); d < best {
			best, found = d, q.level
		}
	}
	return found
}

type spinePoint struct {
	level rom.Level
	at    flat
}

func spinePoints(p Pose, l lens, side rom.Side) []spinePoint {
	var out []spinePoint
	for _, v := range Places {
		x := 0.0
		switch v {
		case rom.LevelButtock:
			x = 8
		case rom.LevelThigh:
			x = 17
		}
		q := l.flat(p.Trunk.at(p.Pelvis, x, placeUp(v), -11))
		if side == rom.Left {
			q.x = viewWidth - q.x
		}
		out = append(out, spinePoint{v, q})
	}
	return out
}

// placeUp is the height of a place over the hips; below the spine the places
// lie further apart.
func placeUp(v rom.Level) float64 {
	switch v {
	case rom.LevelSacrum:
		return 0
	case rom.LevelButtock:
		return -6
	case rom.LevelThigh:
		return -12
	}
	return levelUp(float64(v))
}

func spineScene(at rom.Level) scene {
	return scene{
		motion: rom.HandBehindBack, noArc: true, start: 18, end: 18, cam: camera{azimuth: 180, height: 4}, zoom: 8,
		keep:    func(Vec) bool { return false }, // framed by its own corners, so that nothing jumps
		include: []Vec{{-38, standingHip - 14, -9}, {38, standingHip + 51, -9}},
		pose: func(_, _ float64) Pose {
			p := standing()
			switch {
			case at == noLevel || at >= rom.LevelThigh:
				p.hang(true)
			case at == rom.LevelButtock:
				p.reach(true, p.Trunk.at(p.Pelvis, 13, -3, -11), p.Trunk.Right.Add(p.Trunk.Forward.Mul(-0.8)), up.Mul(-1).Add(right.Mul(-0.5)), up)
			default:
				p.handBehindBack(float64(at))
			}
			return p
		},
	}
}
