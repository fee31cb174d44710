package screen

import (
	"math"
	"regexp"
	"strconv"
	"testing"
)

// luminance and contrast are the formulas of WCAG 2.2 ("relative luminance",
// "contrast ratio").
func luminance(hex string) float64 {
	n, _ := strconv.ParseUint(hex[1:], 16, 32)
	f := func(c uint64) float64 {
		v := float64(c&255) / 255
		if v <= 0.04045 {
			return v / 12.92
		}
		return math.Pow((v+0.055)/1.055, 2.4)
	}
	return 0.2126*f(n>>16) + 0.7152*f(n>>8) + 0.0722*f(n)
}

func contrast(a, b string) float64 {
	x, y := luminance(a), luminance(b)
	if x < y {
		x, y = y, x
	}
	return (x + 0.05) / (y + 0.05)
}

// TestContrastFormula uses the ends of the scale, 21 and 1, and #767676 on
// white, which is known as the lightest grey that passes 4.5 (memory).
func TestContrastFormula(t *testing.T) {
	for _, c := range []struct {
		a, b string
		want float64
	}{{"#000000", "#ffffff", 21}, {"#123456", "#123456", 1}, {"#767676", "#ffffff", 4.54}} {
		if got := contrast(c.a, c.b); math.Abs(got-c.want) > 0.01 {
			t.Errorf("contrast(%s, %s) = %.2f, want %.2f", c.a, c.b, got, c.want)
		}
	}
}

// TestContrastOfTheColours: text 4.5 to 1 (WCAG 2.2, 1.4.3), edges of controls
// 3 to 1 (1.4.11), in both themes.
func TestContrastOfTheColours(t *testing.T) {
	blocks := regexp.MustCompile(`(?s):root \{(.*?)\}`).FindAllStringSubmatch(Stylesheet, -1)
	if len(blocks) != 2 {
		t.Fatalf("%d blocks of colours, want light and dark", len(blocks))
	}
	token := regexp.MustCompile(`--([a-z-]+): (#[0-9a-f]{6});`)
	for i, theme := range []string{"light", "dark"} {
		c := map[string]string{}
		for _, m := range token.FindAllStringSubmatch(blocks[i][1], -1) {
			c[m[1]] = m[2]
		}
		for _, p := range []struct {
			front, back string
			least       float64
		}{
			{"ink", "ground", 7}, {"ink", "surface", 7}, {"ink", "tint", 7}, {"soft", "ground", 4.5}, {"soft", "surface", 4.5}, {"soft", "tint", 4.5},
			{"accent", "ground", 4.5}, {"accent", "surface", 4.5}, {"on-accent", "accent", 4.5}, {"danger", "ground", 4.5}, {"danger", "surface", 4.5},
			{"danger", "danger-tint", 4.5}, {"ink", "danger-tint", 4.5}, {"on-danger", "danger", 4.5}, {"edge", "surface", 3}, {"edge", "ground", 3},
		} {
			if c[p.front] == "" || c[p.back] == "" {
				t.Fatalf("%s: no colour %s or %s", theme, p.front, p.back)
			}
			if got := contrast(c[p.front], c[p.back]); got < p.least {
				t.Errorf("%s: %s on %s is %.2f, want %.1f", theme, p.front, p.back, got, p.least)
			}
		}
	}
}
