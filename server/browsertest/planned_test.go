package browsertest

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"unsling/engine/rom"
)

// raised marks an arm in the photograph, raised to the front by so many degrees, and takes the angle. From the side a right
// arm goes to the right of the picture, a left one to the left.
func (p *screenPage) raised(side string, degrees float64) {
	p.t.Helper()
	p.there("#take")
	p.Wait("document.getElementById('camera').videoWidth > 0")
	p.tap("#take")
	p.there("#photo")
	s, c := math.Sincos(degrees * math.Pi / 180)
	if side == "left" {
		s = -s
	}
	shoulder := Spot{450, 330}
	for i, m := range []Spot{{450, 530}, shoulder, {shoulder.X + float64(200*s), shoulder.Y + float64(200*c)}} {
		p.says(fmt.Sprintf("%d of 3:", i+1)) // a person reads what to tap next
		p.touch(m)
	}
	p.reads("an arm of the baseline", "#angle", degrees)
	p.tap("#use-angle")
	p.says(side + " arm")
}

// TestPlanned is the time between booking and operation: a practice to its end, both arms measured in one motion, the sling
// tried. The clinic's page shows the baseline and no session.
func TestPlanned(t *testing.T) {
	h := openHouse(t)
	w := &watch{origin: h.URL()}
	b := Start(t, "")
	b.Grant(h.URL(), "sensors", "durableStorage", "wakeLockScreen", "videoCapture")
	const name = "Ida Marl (invented)"
	d := newDesk(b, w)
	d.signIn(h, "marsh")
	d.link("Enrol")
	d.fill("input[name=name]", name)
	d.fill("input[name=born]", "1951-05-06")
	d.Click("input[name=side][value=left]")
	d.fill("select[name=main]", string(rom.CuffRepair))
	d.fill("select[name=surgeon]", "spare")
	d.fill("input[name=surgery]", time.Now().AddDate(0, 0, 10).Format(time.DateOnly))
	d.press("Enrol")
	d.WaitText("h1", "Your shoulder programme on your phone")
	code := strings.TrimSpace(d.Text(".code"))

	p := newPhone(b, w, Morning(t), true)
	p.up(h.URL() + "/enrol")
	p.Type("#code", code)
	p.tap("#join")
	p.says("Welcome")
	p.throughFirstRun("left")
	p.says("Your surgery is")
	p.show("p1-planned")

	const mark = "Practice. Nothing is counted."
	p.tap("#to-practice")
	p.there("#pain-1")
	p.says(mark)
	p.says("Use the right arm.")
	p.show("p2-practice")
	p.tap("#pain-1")
	p.there("#main-start")
	p.says(mark)
	p.tap("#main-start")
	p.until(state("Hold"), 15*time.Second)
	p.says(mark)
	p.show("p3-practice-hold")
	p.until(state("Rest"), 10*time.Second)
	p.until("document.querySelector('#no-answer')", 60*time.Second)
	p.says(mark)
	p.tap("#pain-1")
	p.says("That was the practice")
	p.says("Nothing was counted or sent.")
	p.show("p4-practised")
	p.tap("#leave")
	p.says("Done: today.")

	p.tap("#measure-baseline")
	p.says("Only as far as is easy.")
	for _, x := range []struct {
		side    string
		degrees float64
	}{{"right", 150}, {"left", 110}} {
		p.tap("#measure-FF-" + x.side)
		p.tap("#way-photo")
		p.says("Try 1 of 3")
		p.says(x.side + " arm")
		p.tap("#open-camera")
		p.raised(x.side, x.degrees)
		for _, n := range []string{"2", "3"} {
			p.tap("#more")
			p.says("Try " + n + " of 3")
			p.tap("#open-camera")
			p.raised(x.side, x.degrees)
		}
		p.WaitText("#kept", "Kept on this phone.")
		p.show("p5-baseline-" + x.side)
		p.tap("#done")
	}
	p.says("Already measured")
	p.show("p6-measured")
	p.tap("#back")
	p.says("2 of ")

	p.tap("#to-days")
	p.tap("#try-strap")
	p.Wait("document.getElementById('try-strap').getAttribute('aria-pressed') === 'true'")
	p.show("p7-sling")
	p.tap("#back")
	p.says("1 of 6 tried.")
	p.Reload()
	p.says("1 of 6 tried.")
	p.show("p8-ready")
	p.up(h.URL() + "/settings")
	p.tap("#send-now")
	p.WaitText("#unsent", "Nothing waits to be sent.")

	d.link("To the patient")
	d.says("baseline before surgery")
	d.show("p9-desk")
	var own []string
	for _, r := range d.records() {
		if r, ok := strings.CutPrefix(r, "patient: "); ok && !strings.HasPrefix(r, "App installed") && !strings.HasPrefix(r, "Phone follows") {
			own = append(own, r)
		}
	}
	want := []string{"Reading, right arm, Flexion: 1", "Reading, left arm, Flexion: 1"}
	if !slices.EqualFunc(own, want, func(got, want string) bool {
		return strings.HasPrefix(got, want) && strings.Contains(got, "baseline before surgery")
	}) {
		t.Errorf("the clinic's page lists %q", own)
	}
	w.clean(t)
}
