package browsertest

import (
	"flag"
	"sync"
	"testing"
	"time"
)

// long looks at every screen in every way.
var long = flag.Bool("screens-long", false, "look at every screen in every combination of language, theme and text size")

// turn is one walk over all screens with one look.
type turn struct {
	look   look
	audits []string
}

func with(change func(*look)) look {
	l := plain
	change(&l)
	return l
}

// turns: axe-core, with each pair of theme, language and text size together at least once; all eight in the long form.
func turns() []turn {
	axe := func(lang string, dark bool, text int64) turn {
		return turn{look{Lang: lang, Dark: dark, Text: text, Width: 360, Height: 640}, []string{"rules", "reflow", "words"}}
	}
	list := []turn{axe("en", false, 16), axe("es", true, 16), axe("en", true, 32), axe("es", false, 32)}
	if *long {
		list = append(list, axe("en", true, 16), axe("es", false, 16), axe("en", false, 32), axe("es", true, 32))
	}
	list[0].audits = append(list[0].audits, "targets", "overlap", "focusable")
	list[2].audits = append(list[2].audits, "overlap", "focusable")
	return append(list,
		turn{with(func(l *look) { l.Width, l.Height = 320, 568 }), []string{"reflow", "overlap"}},
		turn{with(func(l *look) { l.Width, l.Height, l.Lang = 320, 256, "es" }), []string{"reflow"}}, // 1280 x 1024 at 400 % (WCAG 2.2, 1.4.10)
		turn{with(func(l *look) { l.Size = 2 }), []string{"reflow", "overlap"}},
		turn{with(func(l *look) { l.Size, l.Lang = 2, "es" }), []string{"reflow"}},
		turn{with(func(l *look) { l.RTL = true }), []string{"reflow", "overlap"}},
		turn{with(func(l *look) { l.Forced = true }), []string{"reflow", "focusable"}},
		turn{with(func(l *look) { l.Still = true }), []string{"moves"}},
		turn{with(func(l *look) { l.Width, l.Height = 640, 360 }), []string{"reflow"}},
		turn{with(func(l *look) { l.Width, l.Height = 768, 1024 }), []string{"reflow", "overlap"}},
	)
}

// TestScreensInEveryLook walks over every screen of the phone, in the real page with the real style sheets and policy.
func TestScreensInEveryLook(t *testing.T) {
	stage := newStage(t)
	b := Start(t, "")
	work := make(chan turn)
	var wg sync.WaitGroup
	for range 2 { // cores
		wg.Add(1)
		go func() {
			defer wg.Done()
			a := enterStage(t, b, stage)
			for x := range work {
				begin := time.Now()
				a.become(x.look)
				for _, shot := range a.shots {
					for _, line := range a.check(shot, x.audits...) {
						t.Errorf("%s (%s): %s", shot, x.look, line)
					}
				}
				t.Logf("%5.1f s  %d screens, %s: %v", time.Since(begin).Seconds(), len(a.shots), x.look, x.audits)
			}
		}()
	}
	for _, x := range turns() {
		work <- x
	}
	close(work)
	wg.Wait()
}
