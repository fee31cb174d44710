package browsertest

import (
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/cdproto/storage"
	"github.com/chromedp/chromedp"

	"unsling/engine/session"
)

// refusals is a phone that gives nothing: no camera, no sensor, no light, no sound, no voice, no vibration.
const refusals = `{
	const no = () => Promise.reject(new DOMException("refused", "NotAllowedError"));
	Object.defineProperty(navigator, "mediaDevices", { value: { getUserMedia: no, enumerateDevices: no }, configurable: true });
	Object.defineProperty(navigator, "wakeLock", { value: { request: no }, configurable: true });
	navigator.vibrate = () => false;
	window.AudioContext = window.webkitAudioContext = class { constructor() { throw new DOMException("refused", "NotAllowedError"); } };
	delete window.speechSynthesis;
	Object.defineProperty(window, "speechSynthesis", { value: undefined, configurable: true });
	window.DeviceMotionEvent = class extends Event { static requestPermission() { return no(); } };
	window.DeviceOrientationEvent = class extends Event { static requestPermission() { return no(); } };
}`

// absences is a phone that has neither camera, sensor, light nor voice, and whose sound never begins.
const absences = `{
	const none = () => Promise.reject(new DOMException("none", "NotFoundError"));
	Object.defineProperty(navigator, "mediaDevices", { value: { getUserMedia: none, enumerateDevices: () => Promise.resolve([]) }, configurable: true });
	Object.defineProperty(navigator, "wakeLock", { value: undefined, configurable: true });
	for (const name of ["AudioContext", "webkitAudioContext"]) {
		if (!window[name]) continue;
		window[name] = class extends window[name] {
			get state() { return "suspended"; }
			resume() { window.testResumed = (window.testResumed ?? 0) + 1; return new Promise(() => {}); }
		};
	}
	Object.defineProperty(window, "speechSynthesis", { value: undefined, configurable: true });
	const listen = window.addEventListener;
	window.addEventListener = function (kind, ...rest) {
		if (kind !== "devicemotion" && kind !== "deviceorientation") return listen.call(this, kind, ...rest);
	};
}`

// caption is the condition that the words of the running session stand on the page.
const caption = "(document.querySelector('#caption')?.innerText ?? '').length > 5"

// tiltSaysNo leaves the camera's page for the way by the sensor, which must say that there is none, and why, and offer the
// way by a picture.
func (p *screenPage) tiltSaysNo(why string) {
	p.t.Helper()
	p.up(p.origin() + "/measure")
	p.tap("#measure-FF-right")
	p.tap("#way-tilt")
	p.tap("#start-tilt")
	p.until("(document.querySelector('.notice.alert')?.innerText ?? '').includes("+quote(why)+")", 15*time.Second)
	if p.has(".tilting") {
		p.t.Error("a phone without a sensor waits for it")
	}
	p.tap("#back")
	p.there("#way-photo")
	p.tap("#way-photo")
	p.there("#photo-file")
}

// origin is that of the page.
func (p *screenPage) origin() (s string) {
	p.t.Helper()
	p.Eval("location.origin", &s)
	return s
}

// fullWhenTold is a disk without room while testFull is set. What a browser really does then is held by wasm/idb
// (TestNoSpaceLeft); here it is what the person is told.
const fullWhenTold = `{
	for (const name of ["add", "put"]) {
		const real = IDBObjectStore.prototype[name];
		IDBObjectStore.prototype[name] = function (...args) {
			if (window.testFull) throw new DOMException("full", "QuotaExceededError");
			return real.apply(this, args);
		};
	}
}`

// fromSessionToCamera stops the session at hand and asks for the camera.
func (p *screenPage) fromSessionToCamera() {
	p.t.Helper()
	p.tap("#stop")
	p.tap("#stop-tired")
	p.WaitText("#kept", "Kept on this phone.")
	for _, id := range []string{"#leave", "#to-measure", "#measure-FF-right", "#way-photo", "#open-camera"} {
		p.tap(id)
	}
}

// TestBadDays is the real app on phones that refuse, forget and change under it.
func TestBadDays(t *testing.T) {
	h := openHouse(t)
	w := &watch{origin: h.URL()}
	over := w.expect("net::ERR_")
	defer over()
	zone := Morning(t)
	b := Start(t, "")
	b.Grant(h.URL(), "durableStorage", "wakeLockScreen", "videoCapture", "sensors")
	joined := func(t *testing.T, scripts ...string) *screenPage {
		t.Helper()
		p := newPhone(b, w, zone, true, scripts...)
		p.Page.t = t
		p.up(h.next().Link)
		p.tap("#join")
		p.says("Welcome")
		p.throughFirstRun("right")
		p.Wait(activated)
		return p
	}
	t.Run("everything refused", func(t *testing.T) {
		p := joined(t, refusals)
		p.tap("#start")
		p.tap("#pain-1")
		p.tap("#main-start")
		p.WaitText("#session-notice", "This phone may switch the screen off.") // no light
		p.until(state("Hold"), 15*time.Second)
		p.until(caption, 20*time.Second) // neither sound nor voice: the words stand on the page
		p.until(state("Rest"), 40*time.Second)
		p.fromSessionToCamera()
		p.WaitText(".notice.alert", "camera")
		p.there("#photo-file") // a picture can still be chosen
		if p.has("#take") {
			t.Error("a refused camera offers to take a picture")
		}
		p.tiltSaysNo("This phone did not allow the sensor. Use a photo.")
		p.Close()
	})

	t.Run("nothing is there, and the sound stays suspended", func(t *testing.T) {
		p := joined(t, absences)
		p.tap("#start")
		p.tap("#pain-1")
		p.tap("#main-start")
		p.WaitText("#session-notice", "This phone may switch the screen off.")
		p.until(state("Hold"), 15*time.Second)
		p.until(caption, 20*time.Second)
		var resumed int
		if p.Eval("window.testResumed ?? 0", &resumed); resumed == 0 {
			t.Error("a suspended sound was never asked to go on")
		}
		p.fromSessionToCamera()
		p.WaitText(".notice.alert", "No camera was found. You can choose a photo.")
		p.there("#photo-file")
		if p.has("#take") {
			t.Error("a phone without a camera offers to take a picture")
		}
		p.tiltSaysNo("This phone has no such sensor. Use a photo.")
		p.Close()
	})

	t.Run("the clock and the zone change while it is open", func(t *testing.T) {
		p := joined(t)
		p.tap("#start")
		p.tap("#pain-1")
		p.tap("#main-start")
		p.until(state("Hold"), 15*time.Second)
		left := "Number(document.querySelector('.timer-number').innerText)"
		p.Wait(left + " > 5")
		var before, after float64
		p.Eval(left, &before)
		p.SetDate(time.Now().AddDate(0, 0, 2))
		p.run(time.Second)
		p.Eval(left, &after)
		if d := before - after; d < 0 || d > 4 {
			t.Errorf("the clock was set two days on, and the hold went from %v to %v seconds", before, after)
		}
		p.SetDate(time.Now().AddDate(0, 0, -1))
		p.run(time.Second)
		p.Eval(left, &before)
		if d := after - before; d < 0 || d > 4 {
			t.Errorf("the clock was set three days back, and the hold went from %v to %v seconds", after, before)
		}
		p.SetDate(time.Now())
		p.until(state("Rest"), 40*time.Second)
		p.Wait(left + " > 5")
		p.Eval(left, &before)
		p.SetDate(time.Now().Add(-time.Hour)) // the end of summer time, or a person
		p.run(time.Second)
		p.Eval(left, &after)
		if d := before - after; d < 0 || d > 4 {
			t.Errorf("the clock was set an hour back, and the rest went from %v to %v seconds", before, after)
		}
		p.until(state("Hold"), 90*time.Second) // the next hold comes when it would have come
		p.SetDate(time.Now())
		p.tap("#stop")
		p.tap("#stop-tired")
		p.tap("#leave")
		if _, err := chromedp.Call(p.ctx, emulation.SetTimezoneOverride, emulation.SetTimezoneOverrideParams{TimezoneID: farFrom(zone)}); err != nil {
			t.Fatal(err)
		}
		p.run(35 * time.Second)
		var weekday string
		p.Eval("new Date().toLocaleDateString('en', { weekday: 'long' })", &weekday)
		p.WaitText("#main", weekday)
		p.Close()
	})

	t.Run("the phone is full", func(t *testing.T) {
		p := joined(t, fullWhenTold)
		p.tap("#help")
		p.tap("#write-note")
		p.Type("#note-text", "Is this kept?")
		p.Eval("window.testFull = true", nil)
		p.tap("#send-note")
		p.says("This phone is full.")
		var still string
		p.Eval("document.getElementById('note-text').value", &still)
		if still != "Is this kept?" {
			t.Errorf("what was typed is now %q", still)
		}
		p.Eval("window.testFull = false", nil)
		p.tap("#send-note")
		p.says("Kept on this phone.")
		p.tap("#back")
		p.there("#call-clinic")
		p.tap("#write-note") // a field that is used again begins empty
		p.there("#note-text")
		p.Eval("document.getElementById('note-text').value", &still)
		if still != "" {
			t.Errorf("the new note begins with %q", still)
		}
		p.Close()
	})

	t.Run("a tap on the number leaves the app where it is", func(t *testing.T) {
		p := joined(t)
		p.tap("#help")
		p.there("#call-clinic")
		var before, after string
		p.Eval("location.href", &before)
		p.Eval("document.getElementById('call-clinic').click()", nil)
		p.run(time.Second)
		if _, err := chromedp.Call(p.ctx, page.BringToFront, struct{}{}); err != nil { // a browser that knows no telephone opens a tab
			t.Fatal(err)
		}
		p.Eval("location.href", &after)
		if before != after {
			t.Errorf("from %s to %s", before, after)
		}
		p.tap("#back")
		p.there("#start")
		p.Close()
	})

	t.Run("a fault in the middle of a hold", func(t *testing.T) {
		p := joined(t)
		draft := func() session.Draft { return (&journey{t: t, p: p}).draft() }
		p.tap("#start")
		p.tap("#pain-1")
		p.tap("#main-start")
		second := "document.body.innerText.includes('Hold 2 of') && " + state("Hold")
		p.until(second, 90*time.Second)
		p.run(2 * time.Second)
		before := finished(draft())
		if len(before) != 1 {
			t.Fatalf("in the second hold these are safe: %+v", before)
		}

		// One that the guard of a handler catches: the phone's own clock fails under a tap.
		p.Eval("window.testZone = Date.prototype.getTimezoneOffset; Date.prototype.getTimezoneOffset = () => { throw new Error('a fault'); }; undefined", nil)
		p.tap("#pause")
		p.says("Something in the app went wrong. What was kept is safe.")
		p.Eval("Date.prototype.getTimezoneOffset = window.testZone; undefined", nil)
		p.says("Hold 2 of")
		p.there("#stop")

		// One outside of every guard: the page cannot be drawn anew, and the program ends.
		defer w.expect("Go program has already exited")() // what still comes for it
		p.Eval("window.scrollTo = () => { throw new Error('a fault'); }; undefined", nil)
		p.tap("#stop")
		p.WaitText("#shell", "The app has stopped.")
		p.WaitText("#shell", "What it showed as kept is still on this phone.")
		if after := finished(draft()); !slices.Equal(before, after) {
			t.Errorf("holds before the fault: %+v, after: %+v", before, after)
		}
		p.Tap("#shell-reload")
		p.Wait("window.unslingBoot && !unslingBoot.stopped")
		p.Wait(mounted)
		p.up(h.URL() + "/")
		p.WaitText("#start", "Go on")
		p.tap("#start")
		p.says("Hold 2 of")
		if after := finished(draft()); !slices.Equal(before, after) {
			t.Errorf("holds before the fault: %+v, opened again: %+v", before, after)
		}
		p.tap("#main-continue")
		p.until(state("Rest"), 60*time.Second)
		if n := len(finished(draft())); n != 2 {
			t.Errorf("after the hold that the fault cut off, %d are safe", n)
		}
		p.Close()
	})

	t.Run("the browser removed the records", func(t *testing.T) {
		p := joined(t)
		p.Open("about:blank")
		if _, err := chromedp.Call(p.ctx, storage.ClearDataForOrigin, storage.ClearDataForOriginParams{Origin: h.URL(), StorageTypes: "indexeddb"}); err != nil {
			t.Fatal(err)
		}
		p.up(h.URL() + "/")
		p.says("This phone removed the app's data.")
		p.there("#help")
		p.tap("#help")
		p.WaitText("#main", "+") // the signs and a number to call stand, records or none
		p.Close()
	})
	w.clean(t)
}

// farFrom is a zone in which it is another day of the week.
func farFrom(zone string) string {
	if strings.Contains(zone, "-") || zone == "Europe/Dublin" { // to the east, by the odd sign of these names
		return "Pacific/Midway"
	}
	return "Pacific/Kiritimati"
}

// TestPanicIsToldAndTheAppOpensAgain: a fault that no guard catches ends the program. The page says so and offers to open it
// again; what was kept is there.
func TestPanicIsToldAndTheAppOpensAgain(t *testing.T) {
	stage := newStage(t)
	a := enterStage(t, Start(t, ""), stage)
	a.become(plain)
	a.show("session-hold")
	a.Eval("setTimeout(unslingPanic, 0); undefined", nil)
	a.WaitText("#shell", "The app has stopped.")
	a.WaitText("#shell", "What it showed as kept is still on this phone.")
	a.Click("#shell-reload")
	a.Wait("window.unslingBoot && !unslingBoot.stopped")
	a.set()
	a.become(plain)
	a.show("now")
	a.WaitText("#title", "arm")
}
