package browsertest

import (
	"encoding/json"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"unsling/engine/rom"
	"unsling/engine/session"
)

// serverDies kills the server; the phone goes on at any address, and the clinic's pages do not pretend to.
func (j *journey) serverDies() {
	over := j.w.expect("net::ERR_") // first: an exchange may be under way
	j.t.Cleanup(over)
	j.h.Kill()
	p := j.p
	p.up(j.h.URL() + "/measure")
	p.says("Your clinic asks for it today")
	p.Reload()
	p.Wait(mounted)
	p.says("Your clinic asks for it today")
	for _, path := range []string{"/clinic/", "/v1/hello", "/healthz"} {
		if err := p.TryOpen(j.h.URL() + path); err == nil {
			j.t.Errorf("%s: answered with the server dead", path)
		}
	}
	p.up(j.h.URL() + "/limits?from=shortcut")
	p.says("Your limits today")
	p.show("30-limits")
}

// session is a whole session of the day on the phone's own clock, cut in two by the death of the browser.
func (j *journey) session() {
	p := j.p
	p.up(j.h.URL() + "/")
	slot, slots := numbers(j.t, p.Text("body"), `Session (\d+) of (\d+)`)
	p.taps = 0
	p.tap("#start")
	p.there("#pain-3")
	p.show("31-pain-before")
	p.tap("#pain-3")
	p.there("#main-start")
	p.show("32-ready")
	p.tap("#main-start")
	p.there(".run-state")
	p.show("33-get-ready")
	p.until(state("Hold"), 15*time.Second)
	if p.taps > 3 {
		j.t.Errorf("%d taps from opening the phone to the first hold of the day, want at most 3", p.taps)
	}
	p.show("34-hold")
	p.until(state("Rest"), 25*time.Second)
	p.show("35-rest")
	p.until("document.body.innerText.includes('Hold 3 of') && "+state("Hold"), 90*time.Second)
	p.run(8 * time.Second)
	p.there("#main-done")
	before := finished(j.draft())
	if len(before) != 2 {
		j.t.Errorf("in the third hold these are safe: %+v", before)
	}

	j.b.Kill()
	j.startBrowser()
	j.p = newPhone(j.b, j.w, j.zone, false)
	p = j.p
	p.up(j.h.URL() + "/session")
	p.says("Hold 3 of")
	p.up(j.h.URL() + "/")
	p.WaitText("#start", "Go on")
	p.show("36-go-on")
	p.tap("#start")
	p.says("Hold 3 of")
	p.show("37-resumed")
	if after := finished(j.draft()); !slices.Equal(before, after) {
		j.t.Errorf("holds before the browser died: %+v, after: %+v", before, after)
	}
	p.tap("#main-continue")
	p.session()
	p.show("38-end")
	did, asked := numbers(j.t, p.Text("body"), `You did (\d+) of (\d+)`)
	if did != asked || asked < 5 {
		j.t.Errorf("%d of %d holds of a whole session count", did, asked)
	}
	j.did = did
	p.tap("#leave")
	p.there("#to-measure")
	p.show("39-now-after")
	if slot < slots {
		p.says(fmt.Sprintf("Session %d of %d", slot+1, slots))
	}
	if p.has("#start") {
		j.t.Error("the next session can be had at once")
	}
}

// numbers takes two numbers out of a text.
func numbers(t *testing.T, text, pattern string) (a, b int) {
	t.Helper()
	m := regexp.MustCompile(pattern).FindStringSubmatch(text)
	if m == nil {
		t.Fatalf("%s is not in: %s", pattern, short(text))
	}
	a, errA := strconv.Atoi(m[1])
	b, errB := strconv.Atoi(m[2])
	if errA != nil || errB != nil {
		t.Fatalf("%q are no numbers", m)
	}
	return a, b
}

// draft is the session that the phone keeps while it runs.
func (j *journey) draft() session.Draft {
	j.t.Helper()
	var text string
	j.p.Eval(readValue("app.session"), &text)
	var saved struct{ Draft json.RawMessage }
	if err := json.Unmarshal([]byte(text), &saved); err != nil {
		j.t.Fatalf("the phone's draft: %v", err)
	}
	d, err := session.DecodeDraft(saved.Draft)
	if err != nil {
		j.t.Fatalf("the phone keeps no draft of the running session: %v", err)
	}
	return d
}

// finished are the holds of a draft's first exercise that count.
func finished(d session.Draft) (holds []rom.Hold) {
	for _, h := range d.Items[0].Holds {
		if h.Counted {
			holds = append(holds, h)
		}
	}
	return holds
}

// photo measures the arm in front three times: marks set by touch and moved by drag, by keys alone on a picture of the
// camera, by buttons.
func (j *journey) photo() {
	p := j.p
	p.tap("#to-measure")
	p.tap("#measure-FF-right")
	p.there("#way-photo")
	p.show("40-how")
	p.tap("#way-photo")
	p.there("#open-camera")
	p.show("41-setup")
	want := SideView(96)
	p.Upload("#photo-file", Photograph(j.t, want))
	p.there("#photo")
	p.says("Mark 1 of 3")
	for _, m := range want {
		p.touch(Spot{m.X + 40, m.Y - 60})
	}
	p.WaitText("#angle", "degrees")
	p.pull(Spot{want[2].X + 40, want[2].Y - 60}, Spot{want[2].X, want[2].Y - 120})
	arm := Spot{want[2].X - want[1].X, want[2].Y - want[1].Y}
	p.reads("the elbow alone dragged up", "#angle", elevation(arm.X-40, arm.Y-60))
	p.pull(Spot{want[2].X, want[2].Y - 120}, want[2])
	for _, m := range want[:2] {
		p.pull(Spot{m.X + 40, m.Y - 60}, m)
	}
	p.reads("marks moved by drag", "#angle", 96)
	p.show("42-marks")
	p.tap("#use-angle")
	p.says("Try 1 of 3")
	p.there("#more")
	p.show("43-trial")

	p.tap("#more")
	p.tap("#open-camera")
	p.there("#take")
	p.Wait("document.getElementById('camera').videoWidth > 0")
	p.show("44-camera")
	p.tap("#take")
	p.there("#photo")
	p.Eval("document.getElementById('photo').focus()", nil)
	const coarse = 20 // thousandths of the width a step
	p.key(arrowDown, 1)
	p.key(arrowDown, 15)
	p.key(enter, 1)
	p.key(arrowUp, 5)
	p.key(enter, 1)
	p.key(arrowRight, 12)
	p.key(arrowUp, 6)
	// hip 400 below the shoulder; elbow 12 steps to the right and one above it
	p.reads("marks moved by keys", "#angle", elevation(12*coarse, -1*coarse))
	p.show("45-keys")
	p.tap("#use-angle")
	p.says("Try 2 of 3")

	p.tap("#more")
	p.Upload("#photo-file", Photograph(j.t, want))
	p.there("#photo")
	for _, m := range want {
		p.touch(m)
	}
	p.reads("marks set by touch", "#angle", 96)
	p.tap("#mark-up")
	p.reads("a step up", "#angle", elevation(arm.X, arm.Y-coarse))
	p.tap("#mark-down")
	p.reads("and back", "#angle", 96)
	p.tap("#use-angle")
	p.WaitText("#kept", "Kept on this phone.")
	p.reads("the reading", "#value", 96)
	p.WaitText("#error", "Could be 7 more or less.")
	p.says("Within your limit of 120.")
	p.show("46-reading")
	p.tap("#done")
}

// tilt measures the other arm with the phone on trunk and arm, and the operated one past its limit.
func (j *journey) tilt() {
	p := j.p
	p.tap("#measure-FF-left")
	p.tap("#way-tilt")
	p.there("#start-tilt")
	p.show("50-tilt-setup")
	p.lay(0)
	p.tap("#start-tilt")
	p.WaitText("#title", "First the body")
	p.show("51-tilt-trunk")
	p.settle("document.getElementById('title').innerText === 'Now the arm'")
	p.lay(150)
	p.settle("document.getElementById('value')")
	p.reads("the other arm by tilt", "#value", 150)
	p.show("52-tilt-trial")
	p.tap("#keep-now")
	p.WaitText("#kept", "Kept on this phone.")
	p.tap("#done")

	p.tap("#measure-ER0-right")
	p.tap("#way-tilt")
	p.there("#start-tilt")
	p.layForearm(52)
	p.tap("#start-tilt")
	p.settle("document.getElementById('value')")
	p.says("This looks past your limit. Go less far.")
	p.show("53-first-set")
	p.run(time.Second) // the danger stays for a moment, whatever is tapped
	p.tap("#second")
	p.there("#start-tilt")
	p.layForearm(51)
	p.tap("#start-tilt")
	p.settle("document.getElementById('value')")
	p.says("Stop this stretch. Call the clinic today.")
	p.says("This is past your limit of 30.")
	p.WaitText("#kept", "Kept on this phone.")
	p.there("#call-clinic")
	p.show("53-past-limit")
	if text := p.Text("body"); strings.Contains(text, "Well done") || strings.Contains(text, "more than last time") {
		j.t.Errorf("praise past the limit: %s", short(text))
	}
	p.run(time.Second) // it stays for a moment, whatever is tapped
	p.tap("#done")
	p.there("#back")
	p.show("54-measure-after")
	p.up(j.h.URL() + "/settings")
	p.WaitText("#unsent", "1 exercise session")
	p.WaitText("#unsent", "4 angles")
	p.show("55-unsent")
}
