package browsertest

import (
	_ "embed"
	"fmt"
	"time"
)

//go:embed clock.js
var clockScript string

// ReplaceClock puts Date, performance.now, setTimeout, setInterval and requestAnimationFrame of every document opened from
// now on under the test's control. Time goes on by itself, at its usual pace, from the instant given; [Page.Advance] makes
// it jump. The instant is the phone's opinion and may be as wrong as the test wants.
func (p *Page) ReplaceClock(start time.Time) {
	p.t.Helper()
	p.Before(fmt.Sprintf("(%s)(%d);", clockScript, start.UnixMilli()))
}

// Advance moves the page's clock forward by d and runs every timer that falls due on the way, in order.
func (p *Page) Advance(d time.Duration) {
	p.t.Helper()
	p.Eval(fmt.Sprintf("testClock.advance(%d)", d.Milliseconds()), nil)
}

// SetDate sets the page's wall clock, forward or back, as a person does in the settings; timers and performance.now do not
// notice.
func (p *Page) SetDate(at time.Time) {
	p.t.Helper()
	p.Eval(fmt.Sprintf("testClock.setDate(%d)", at.UnixMilli()), nil)
}
