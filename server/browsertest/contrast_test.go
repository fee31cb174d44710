package browsertest

import (
	"fmt"
	"testing"
)

// TestContrastOfThePictures measures the colours of charts and figures as the page computes them, in both themes: words 4.5 to
// 1 (WCAG 2.2, 1.4.3), lines and marks that must be told apart from the ground 3 to 1 (1.4.11). The colours of the screens
// themselves are held by app/screen (TestContrastOfTheColours).
func TestContrastOfThePictures(t *testing.T) {
	a := enterStage(t, Start(t, ""), newStage(t))
	pairs := map[string][]struct {
		name  string
		least float64
	}{
		".chart": {{"chart-ink", 4.5}, {"chart-mute", 4.5}, {"chart-accent", 3}, {"chart-clinic", 3}, {"chart-limit", 3}, {"chart-good", 3}, {"chart-done", 3}},
		".fig":   {{"fig-ink", 4.5}, {"fig-mute", 3}, {"fig-accent", 3}, {"fig-accent-deep", 3}, {"fig-limit", 3}, {"fig-good", 3}},
	}
	for _, dark := range []bool{false, true} {
		l := plain
		l.Dark = dark
		a.become(l)
		for selector, list := range pairs {
			shot := map[string]string{".chart": "so-far-band", ".fig": "session-hold"}[selector]
			a.show(shot)
			paper := map[string]string{".chart": "chart-p", ".fig": "fig-p"}[selector]
			for _, x := range list {
				var got float64
				a.Eval(fmt.Sprintf(`(() => {
					const of = document.querySelector(%s), probe = document.createElement("i");
					of.parentElement.append(probe);
					const colour = (name) => {
						probe.style.setProperty("color", getComputedStyle(of).getPropertyValue("--" + name).trim());
						return getComputedStyle(probe).color.match(/[\d.]+/g).slice(0, 3).map(Number);
					};
					const light = (c) => { const [r, g, b] = c.map((v) => { v /= 255; return v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4; }); return 0.2126 * r + 0.7152 * g + 0.0722 * b; };
					const [x, y] = [light(colour(%s)), light(colour(%s))].sort((p, q) => q - p);
					probe.remove();
					return (x + 0.05) / (y + 0.05);
				})()`, quote(selector), quote(x.name), quote(paper)), &got)
				if got < x.least {
					t.Errorf("dark %v: %s on %s is %.2f, want %.1f", dark, x.name, paper, got, x.least)
				}
			}
		}
	}
}
