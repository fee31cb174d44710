package browsertest

import (
	"image"
	"image/color"
	"image/draw"
	"image/png"
	"math"
	"os"
	"path/filepath"
	"testing"
)

// Spot is a place of a picture in thousandths of its width.
type Spot struct{ X, Y float64 }

// SideView is where hip, shoulder and elbow of a right arm lie in a picture from its side, when it is raised by so many
// degrees: the thigh points down, the arm goes forward, to the right of the picture, and up. The angle is that between the
// two lines, as NORKIN2016 lays the arms of the goniometer.
func SideView(degrees float64) [3]Spot {
	s, c := math.Sincos(degrees * math.Pi / 180)
	shoulder := Spot{450, 600}
	return [3]Spot{{shoulder.X, shoulder.Y + 420}, shoulder, {shoulder.X + float64(300*s), shoulder.Y + float64(300*c)}}
}

// Photograph draws a person as far as three points need one, as a PNG file of 900 x 1200.
func Photograph(t *testing.T, marks [3]Spot) string {
	t.Helper()
	const wide, high = 900, 1200
	img := image.NewRGBA(image.Rect(0, 0, wide, high))
	draw.Draw(img, img.Bounds(), image.NewUniform(color.RGBA{222, 226, 220, 255}), image.Point{}, draw.Src)
	limb := func(a, b Spot, thick int, ink color.Color) {
		for f := 0.0; f <= 1; f += 0.002 {
			x, y := int((a.X+(b.X-a.X)*f)*wide/1000), int((a.Y+(b.Y-a.Y)*f)*wide/1000)
			draw.Draw(img, image.Rect(x-thick, y-thick, x+thick, y+thick), image.NewUniform(ink), image.Point{}, draw.Src)
		}
	}
	limb(marks[0], marks[1], 70, color.RGBA{96, 120, 140, 255})
	limb(marks[1], marks[2], 34, color.RGBA{196, 150, 120, 255})
	limb(Spot{marks[1].X, marks[1].Y - 170}, Spot{marks[1].X, marks[1].Y - 120}, 60, color.RGBA{196, 150, 120, 255})
	path := filepath.Join(t.TempDir(), "arm.png")
	f, err := os.Create(path)
	if err == nil {
		err = png.Encode(f, img)
	}
	if err == nil {
		err = f.Close()
	}
	if err != nil {
		t.Fatal(err)
	}
	return path
}
