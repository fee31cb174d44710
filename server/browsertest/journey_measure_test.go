package browsertest

import (
	"fmt"
	"math"
	"testing"
	"time"

	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// at is where a place of the photograph lies in the window.
func (p *screenPage) at(s Spot) (x, y float64) {
	p.t.Helper()
	b := p.box("#photo")
	return b.X + s.X*b.Width/1000, b.Y + s.Y*b.Width/1000
}

// touch taps a place of the photograph.
func (p *screenPage) touch(s Spot) {
	p.t.Helper()
	x, y := p.at(s)
	p.finger(input.DispatchTouchEventTypeTouchStart, x, y)
	p.finger(input.DispatchTouchEventTypeTouchEnd, 0, 0)
}

// pull drags from one place of the photograph to another.
func (p *screenPage) pull(from, to Spot) {
	p.t.Helper()
	x0, y0 := p.at(from)
	x1, y1 := p.at(to)
	p.drag(x0, y0, x1, y1)
}

// key presses a key where the focus is.
func (p *screenPage) key(keys string, times int) {
	p.t.Helper()
	for range times {
		p.act("press a key", chromedp.KeyEvent(keys))
	}
}

// near checks an angle of whole degrees that was marked by hand.
func near(t *testing.T, what string, got int, want float64) {
	t.Helper()
	if math.Abs(float64(got)-want) > 1.5 {
		t.Errorf("%s: %d degrees, want %.1f", what, got, want)
	}
}

// reads waits until an element shows an angle near the one given.
func (p *screenPage) reads(what, selector string, want float64) {
	p.t.Helper()
	angle := "Number((document.querySelector(" + quote(selector) + ")?.innerText.match(/-?\\d+/) ?? ['NaN'])[0])"
	if !p.WaitFor(fmt.Sprintf("Math.abs(%s - %f) <= 1.5", angle, want), 5*time.Second) {
		p.t.Errorf("%s: the screen shows %q, want about %.1f degrees", what, p.Text(selector), want)
	}
}

// lay is the phone along a limb that is raised by so many degrees from hanging down, its top towards the hand: 0 is also
// the trunk of somebody upright, top to the feet.
func (p *screenPage) lay(degrees float64) {
	p.t.Helper()
	s, c := math.Sincos(degrees * math.Pi / 180)
	p.Hold(0, -c, s)
}

// layForearm is the phone on the forearm of somebody who lies on the back with the elbow at the side and bent: the top
// points up at 0 and leans outwards with external rotation, screen outwards.
func (p *screenPage) layForearm(degrees float64) {
	p.t.Helper()
	s, c := math.Sincos(degrees * math.Pi / 180)
	p.Hold(0, c, -s)
}

// settle lets the app take the reading by itself: some of the time to lay the phone on runs ahead, then fresh samples have
// to push out those of the pose before.
func (p *screenPage) settle(condition string) {
	p.t.Helper()
	p.run(3 * time.Second)
	p.Wait(condition)
}

// elevation is the angle between straight down and a direction of the picture, y downwards.
func elevation(x, y float64) float64 {
	return math.Abs(math.Atan2(x, y)) * 180 / math.Pi
}

// The keys of the devtools protocol's key events.
const (
	arrowDown  = kb.ArrowDown
	arrowUp    = kb.ArrowUp
	arrowRight = kb.ArrowRight
	enter      = kb.Enter
)
