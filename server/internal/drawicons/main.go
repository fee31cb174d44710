// Command drawicons draws the app's icon, as SVG and as PNG, from one set of numbers: a joint, the arm that leaves it, and
// the arc that the arm has come. It writes into the folder given; "go generate ./server/web" runs it after a change.
package main

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"math"
	"os"
	"path/filepath"
)

// The drawing, on a square of side 1 with y down.
const (
	jointX, jointY = 0.34, 0.66
	jointR         = 0.085
	armLength      = 0.46
	armAngle       = 52.0 // degrees above the horizontal
	stroke         = 0.085
	arcR           = 0.30
	arcStroke      = 0.05
	corner         = 0.22
)

var (
	ground = color.NRGBA{0x0e, 0x5e, 0x5c, 0xff}
	arm    = color.NRGBA{0xff, 0xff, 0xff, 0xff}
	arc    = color.NRGBA{0x7f, 0xd0, 0xc8, 0xff}
)

func main() {
	if len(os.Args) != 2 {
		fmt.Fprintln(os.Stderr, "usage: drawicons FOLDER")
		os.Exit(2)
	}
	files := map[string][]byte{
		"icon.svg":              svg(),
		"icon-192.png":          raster(192, corner, 1),
		"icon-512.png":          raster(512, corner, 1),
		"icon-180.png":          raster(180, 0, 0.86),
		"icon-maskable-512.png": raster(512, 0, 0.72), // the safe zone is a circle of 0.8
	}
	for name, data := range files {
		if err := os.WriteFile(filepath.Join(os.Args[1], name), data, 0o644); err != nil {
			fmt.Fprintln(os.Stderr, "drawicons:", err)
			os.Exit(1)
		}
	}
}

func armEnd() (x, y float64) {
	s, c := math.Sincos(armAngle * math.Pi / 180)
	return jointX + armLength*c, jointY - armLength*s
}

func svg() []byte {
	ex, ey := armEnd()
	s, c := math.Sincos(armAngle * math.Pi / 180)
	var b bytes.Buffer
	fmt.Fprintf(&b, `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 1 1" width="512" height="512">`+
		`<rect width="1" height="1" rx="%g" fill="%s"/>`+
		`<path d="M%.4f %.4fA%g %g 0 0 0 %.4f %.4f" fill="none" stroke="%s" stroke-width="%g" stroke-linecap="round"/>`+
		`<path d="M%g %gL%.4f %.4f" stroke="%s" stroke-width="%g" stroke-linecap="round"/>`+
		`<circle cx="%g" cy="%g" r="%g" fill="%s"/></svg>`+"\n",
		corner, hex(ground),
		jointX+arcR, jointY, arcR, arcR, jointX+arcR*c, jointY-arcR*s, hex(arc), arcStroke,
		jointX, jointY, ex, ey, hex(arm), stroke,
		jointX, jointY, jointR, hex(arm))
	return b.Bytes()
}

func hex(c color.NRGBA) string { return fmt.Sprintf("#%02x%02x%02x", c.R, c.G, c.B) }

// raster draws a PNG of size x size pixels; the drawing is scaled about the middle by scale.
func raster(size int, rounding, scale float64) []byte {
	const sub = 4 // samples per pixel and axis
	img := image.NewNRGBA(image.Rect(0, 0, size, size))
	for py := range size {
		for px := range size {
			var r, g, b, a float64
			for i := range sub * sub {
				x := (float64(px) + (float64(i%sub)+0.5)/sub) / float64(size)
				y := (float64(py) + (float64(i/sub)+0.5)/sub) / float64(size)
				c, in := at(x, y, rounding, scale)
				if !in {
					continue
				}
				r, g, b, a = r+float64(c.R), g+float64(c.G), b+float64(c.B), a+1
			}
			if a > 0 {
				img.SetNRGBA(px, py, color.NRGBA{uint8(r/a + 0.5), uint8(g/a + 0.5), uint8(b/a + 0.5), uint8(255*a/(sub*sub) + 0.5)})
			}
		}
	}
	var buf bytes.Buffer
	if err := (&png.Encoder{CompressionLevel: png.BestCompression}).Encode(&buf, img); err != nil {
		panic(err) // an in-memory picture of known size cannot fail
	}
	return buf.Bytes()
}

// at gives the colour at a point of the unit square; in is false outside the rounded ground.
func at(x, y, rounding, scale float64) (c color.NRGBA, in bool) {
	if outside := math.Hypot(math.Max(0, math.Abs(x-0.5)-(0.5-rounding)), math.Max(0, math.Abs(y-0.5)-(0.5-rounding))); outside > rounding {
		return c, false
	}
	x, y = 0.5+(x-0.5)/scale, 0.5+(y-0.5)/scale
	ex, ey := armEnd()
	switch {
	case math.Hypot(x-jointX, y-jointY) < jointR, toSegment(x, y, jointX, jointY, ex, ey) < stroke/2:
		return arm, true
	case onArc(x, y):
		return arc, true
	}
	return ground, true
}

func toSegment(x, y, ax, ay, bx, by float64) float64 {
	dx, dy := bx-ax, by-ay
	t := ((x-ax)*dx + (y-ay)*dy) / (dx*dx + dy*dy)
	t = math.Max(0, math.Min(1, t))
	return math.Hypot(x-ax-t*dx, y-ay-t*dy)
}

func onArc(x, y float64) bool {
	angle := math.Atan2(jointY-y, x-jointX) * 180 / math.Pi
	if angle >= 0 && angle <= armAngle {
		return math.Abs(math.Hypot(x-jointX, y-jointY)-arcR) < arcStroke/2
	}
	return math.Hypot(x-jointX-arcR, y-jointY) < arcStroke/2 // the round end
}
