package figure

import (
	"math"
	"strings"
	"testing"

	"unsling/engine/rom"
)

// The plane of motion faces the viewer: never less than half of its width is
// lost, and next to nothing for raising the arm.
func TestPlaneOfMotionFacesTheViewer(t *testing.T) {
	cross := func(a, b Vec) Vec {
		return Vec{a.Y*b.Z - a.Z*b.Y, a.Z*b.X - a.X*b.Z, a.X*b.Y - a.Y*b.X}
	}
	seen := 0
	for _, id := range rom.Exercises {
		s := exerciseScene(id, Marks{})
		g, ok := s.gauge(s.at(0), Marks{})
		if !ok {
			continue
		}
		seen++
		_, _, towards := s.cam.axes()
		facing := math.Abs(cross(g.zero, g.plus).Dot(towards))
		least := 0.5
		if s.motion.Elevation() {
			least = 0.85
		}
		if facing < least {
			t.Errorf("%s is seen under %.2f", id, facing)
		}
	}
	if seen < 10 {
		t.Fatalf("only %d exercises show an angle", seen)
	}
}

// A body that leans looks up, not into the table.
func TestHeadStaysUpWhenLeaning(t *testing.T) {
	p := tableSlideFlexion().at(1)
	if p.HeadAxes.Forward.Y <= p.Trunk.Forward.Y+0.1 {
		t.Error("the head hangs")
	}
}

// hull of circles: a known case by hand. Two circles of radius 1 at 0 and 4
// give a stadium: tangents at y = 1 and -1.
func TestHullOfTwoCircles(t *testing.T) {
	var b strings.Builder
	hull(&b, []circle{{flat{0, 0}, 1}, {flat{4, 0}, 1}})
	want := "M5 0A1 1 0 0 1 4 1L0 1A1 1 0 0 1 0 -1L4 -1A1 1 0 0 1 5 0z"
	if b.String() != want {
		t.Errorf("got  %s\nwant %s", b.String(), want)
	}
	b.Reset()
	hull(&b, []circle{{flat{0, 0}, 5}, {flat{1, 0}, 1}})
	if want := "M-5 0A5 5 0 0 1 5 0A5 5 0 0 1 -5 0z"; b.String() != want {
		t.Errorf("a circle inside another: %s", b.String())
	}
}

// Four circles at the corners of a square keep four corners, wherever the walk
// begins and whatever the last bits of their coordinates.
func TestHullOfASquare(t *testing.T) {
	for _, e := range []float64{0, 1e-13, -1e-13} {
		for k := range 4 {
			cs := []circle{{flat{0, 0}, 1}, {flat{9 + e, 0}, 1}, {flat{9, 5}, 1}, {flat{0, 5 + e}, 1}}
			cs = append(cs[k:], cs[:k]...)
			var b strings.Builder
			hull(&b, cs)
			for _, corner := range []string{"-1 0", "-1 5", "10 0", "10 5", "0 6", "9 6", "0 -1", "9 -1"} {
				if !strings.Contains(b.String(), corner) {
					t.Errorf("%g, from %d: %s is missing in %s", e, k, corner, b.String())
				}
			}
		}
	}
}

// Every landmark that a measurement asks for has a place of its own on the
// body.
func TestLandmarksArePlaced(t *testing.T) {
	n := 0
	for _, m := range rom.Motions {
		for _, pos := range []rom.Position{rom.Supine, rom.Seated, rom.Standing, rom.Prone} {
			s := measureScene(m, pos, Marks{})
			p := s.at(1)
			for i, a := range s.landmarks {
				n++
				for _, b := range s.landmarks[i+1:] {
					if p.landmark(a).Sub(p.landmark(b)).Len() < 4 {
						t.Errorf("%s %s: %s and %s coincide", m, pos, a, b)
					}
				}
			}
		}
	}
	if n < 50 {
		t.Fatalf("only %d landmarks", n)
	}
}

// A measuring picture shows the angle that was read, by the zero positions of
// package rom: 35 of external rotation is 35 between the drawn lines.
func TestMeasuringPictureShowsTheReading(t *testing.T) {
	for _, m := range rom.Motions {
		if m.ByLevel() {
			continue
		}
		for _, pos := range []rom.Position{rom.Supine, rom.Seated, rom.Standing, rom.Prone} {
			for _, deg := range []int{5, 20, 40, 80} {
				s := measureScene(m, pos, Marks{Now: At(rom.Deg(deg))})
				if got := s.at(1).Angle(m); math.Abs(got-float64(deg)) > 0.3 {
					t.Errorf("%s %s: shows %.1f for %d", m, pos, got, deg)
				}
			}
		}
	}
}
