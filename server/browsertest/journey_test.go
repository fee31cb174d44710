package browsertest

import (
	"encoding/json"
	"fmt"
	"io"
	"log"
	"net/http"
	"net/http/httputil"
	"net/url"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"unsling/engine/rom"
	"unsling/engine/session"
	"unsling/sync/wire"
)

// journey is what the steps of the main job share.
type journey struct {
	t       *testing.T
	h       *house
	w       *watch
	b       *Browser
	zone    string
	profile string

	p    *screenPage // the phone of the main job
	inv  invitation  // its invitation
	busy *screenPage // a phone in whose session things change
	desk *screenPage // of the person whose patients the spare ones are
	did  int         // holds of the session
	used string      // a code that is used up
	kept []string    // what the phone had in its own log at the end
}

// TestJourney is the main job from the desk to the phone and back, with the real server and one browser: enrol, stretch and
// measure without a server, send, review, narrow, stop. The phone's clock is replaced from outside; what the phone writes is
// judged by what the store holds in the end, and by the program's own check of its store.
func TestJourney(t *testing.T) {
	j := &journey{t: t, h: openHouse(t), zone: morning(t), profile: t.TempDir()}
	j.w = &watch{origin: j.h.URL()}
	j.startBrowser()
	for _, step := range []struct {
		name string
		do   func()
	}{
		{"the desk enrols, the printed code joins a phone", j.deskEnrols},
		{"codes that do not work", j.wrongCodes},
		{"storage refused", j.noStorage},
		{"the link joins a phone, first run", j.firstRun},
		{"the server dies, deep addresses", j.serverDies},
		{"three taps to the first hold, the browser dies, the same hold", j.session},
		{"angles by photograph", j.photo},
		{"angles by tilt, one past the limit", j.tilt},
		{"everything arrives once", j.serverBack},
		{"the clinic's page shows it", j.clinicSees},
		{"the plan is narrowed", j.narrow},
		{"the plan is stopped", j.stop},
		{"a running session obeys at once", j.atOnce},
		{"an update waits for the session", j.update},
		{"the store has all of it", j.store},
	} {
		begin := time.Now()
		step.do()
		j.w.clean(t)
		t.Logf("%6.1f s  %s", time.Since(begin).Seconds(), step.name)
		if t.Failed() {
			return
		}
	}
}

func (j *journey) startBrowser() {
	j.b = Start(j.t, j.profile)
	j.b.Grant(j.h.URL(), "sensors", "durableStorage", "wakeLockScreen", "videoCapture")
}

// deskEnrols is the minute at the desk: the form, a slip in it, the printed sheet, and its short code typed into a phone.
func (j *journey) deskEnrols() {
	d := newDesk(j.b, j.w)
	d.signIn(j.h, "marsh")
	d.show("01-desk-list")
	d.link("Enrol")
	const name = "Runa Vole (invented)"
	d.fill("input[name=name]", name)
	d.fill("input[name=born]", "1958-02-03")
	d.Click("input[name=side][value=left]")
	d.fill("select[name=main]", string(rom.CuffRepair))
	d.fill("select[name=surgeon]", "spare")
	d.fill("input[name=surgery]", "2062-11-30")
	over := j.w.expect("status of 422")
	d.press("Enrol")
	d.says("more than two years away")
	d.show("02-desk-absurd-date")
	over()
	var typed string
	d.Eval("document.querySelector('input[name=name]').value + document.querySelector('input[name=side]:checked').value", &typed)
	if typed != name+"left" {
		j.t.Errorf("the form that was refused holds %q", typed)
	}
	d.fill("input[name=surgery]", time.Now().AddDate(0, 0, 10).Format(time.DateOnly))
	d.press("Enrol")
	d.WaitText("h1", "Your shoulder programme on your phone")
	d.show("03-desk-sheet")
	code := strings.TrimSpace(d.Text(".code"))
	if len(code) != len("7K2M-9XQ4") {
		j.t.Fatalf("the sheet's code is %q", code)
	}

	p := newPhone(j.b, j.w, j.zone, true)
	p.up(j.h.URL() + "/enrol")
	p.show("04-enrol-typed")
	p.Type("#code", strings.ToLower(code[:4])+" "+strings.ToLower(code[5:]))
	p.tap("#join")
	p.says("Welcome")
	p.throughFirstRun("left")
	p.says("Your surgery is")
	p.show("05-planned")
	j.used = code

	d.link("To the patient")
	d.says("active")
	if text := d.Text("body"); !strings.Contains(text, "LEFT shoulder") || strings.Contains(text, "No phone is enrolled") {
		j.t.Errorf("the patient's page does not show the phone: %s", short(text))
	}
	d.show("06-desk-patient")
}

// throughFirstRun answers the pages of the first run.
func (p *screenPage) throughFirstRun(side string) {
	p.t.Helper()
	p.tap("#next")
	p.says("Your safety first")
	p.tap("#next")
	p.tap("#side-" + side)
	p.says("Which hand holds the phone?")
	p.tap("#next")
	p.says("Can you hear it?")
	p.tap("#next")
	p.says("home screen")
	p.tap("#next")
	p.says("Keep your data safe")
	p.tap("#next")
	p.there("#to-settings")
}

// retype replaces what stands in the field of the code.
func (p *screenPage) retype(code string) {
	p.t.Helper()
	p.Eval("document.getElementById('code').select()", nil)
	p.Type("#code", code)
}

// refused taps Join and waits for the sentence, with the code still there.
func (p *screenPage) refused(sentence string) {
	p.t.Helper()
	p.tap("#join")
	p.WaitText("#problem", sentence)
}

// wrongCodes are the words for codes that do not let a phone in.
func (j *journey) wrongCodes() {
	over := j.w.expect("the server responded with a status of 4")
	defer over()
	p := newPhone(j.b, j.w, j.zone, true)
	p.up(j.h.URL() + "/")
	p.refused("The code has 8 letters and digits.")
	p.Type("#code", "7K2M-9XQ")
	p.refused("The code has 8 letters and digits.")
	p.retype("ZZZZ-ZZZZ")
	p.refused("The clinic does not know this code.")
	p.show("10-code-unknown")
	var still string
	p.Eval("document.getElementById('code').value", &still)
	if still != "ZZZZ-ZZZZ" {
		j.t.Errorf("the field of the code now holds %q", still)
	}
	p.retype(j.used)
	p.refused("This code was used before.")
	p.show("11-code-used")
}

// refuseDatabase is what a private window of some browsers does: the database is there and does not open.
const refuseDatabase = `IDBFactory.prototype.open = function () { throw new DOMException("refused", "SecurityError"); };`

// noStorage is a window in which nothing can be kept: it says so, and uses up no invitation.
func (j *journey) noStorage() {
	p := newPhone(j.b, j.w, j.zone, true, refuseDatabase)
	inv := j.h.Free[len(j.h.Free)-1]
	p.up(inv.Link)
	p.says("This window keeps no data.")
	p.show("12-no-storage")
	p.tap("#join")
	p.WaitText("#problem", "Open the app in a normal window.")
	p.Close()
}

// firstRun enrols the phone of the main job by its link.
func (j *journey) firstRun() {
	j.inv = j.h.next()
	j.p = newPhone(j.b, j.w, j.zone, false)
	p := j.p
	p.up(j.inv.Link)
	p.show("20-enrol-link")
	var address string
	p.Eval("location.href", &address)
	if strings.Contains(address, "#") {
		j.t.Errorf("the invitation's secret stays in the address: %s", address)
	}
	p.tap("#join")
	p.says("Welcome")
	p.show("21-first-welcome")
	p.tap("#next")
	p.says("Stop and call if you feel a pop")
	p.show("22-first-safety")
	p.tap("#next")
	p.says("Which shoulder?")
	p.show("23-first-side")
	p.tap("#side-left")
	p.says("Stop. The clinic wrote down the other shoulder.")
	p.there("#call-clinic")
	p.show("24-first-wrong-side")
	p.tap("#side-again")
	p.tap("#side-right")
	p.says("Which hand holds the phone?")
	p.show("25-first-hand")
	p.tap("#hand-left")
	p.says("Can you hear it?")
	p.tap("#play")
	p.there("#silent")
	p.show("26-first-sound")
	var said []string
	p.Eval("testSpoken", &said)
	if len(said) == 0 {
		j.t.Error("nothing was said aloud")
	}
	p.tap("#next")
	p.says("Put it on your home screen")
	p.show("27-first-install")
	p.tap("#next")
	p.says("Keep your data safe")
	p.tap("#persist")
	p.says("It keeps the data")
	p.show("28-first-keep")
	p.tap("#next")
	p.there("#start")
	p.show("29-now")
	p.WaitText("#status", "The clinic has received all.")
	p.Wait(activated)
}

// serverDies kills the server; the phone goes on at any address, and the clinic's pages do not pretend to.
func (j *journey) serverDies() {
	j.h.Kill()
	over := j.w.expect("net::ERR_")
	j.t.Cleanup(over)
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
	j.p.Eval(`new Promise((done, fail) => {
		const open = indexedDB.open("unsling");
		open.onerror = () => fail(open.error);
		open.onsuccess = () => {
			const got = open.result.transaction("meta").objectStore("meta").get("app.session");
			got.onsuccess = () => { open.result.close(); done(new TextDecoder().decode(got.result)); };
		};
	})`, &text)
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
	want := sideView(96)
	p.Upload("#photo-file", photograph(j.t, want))
	p.there("#photo")
	p.says("Mark 1 of 3")
	for _, m := range want {
		p.touch(spot{m.X + 40, m.Y - 60})
	}
	p.WaitText("#angle", "degrees")
	p.pull(spot{want[2].X + 40, want[2].Y - 60}, spot{want[2].X, want[2].Y - 120})
	arm := spot{want[2].X - want[1].X, want[2].Y - want[1].Y}
	p.reads("the elbow alone dragged up", "#angle", elevation(arm.X-40, arm.Y-60))
	p.pull(spot{want[2].X, want[2].Y - 120}, want[2])
	for _, m := range want[:2] {
		p.pull(spot{m.X + 40, m.Y - 60}, m)
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
	p.Upload("#photo-file", photograph(j.t, want))
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
	p.says("Stop this stretch. Call the clinic today.")
	p.says("This is past your limit of 30.")
	p.WaitText("#kept", "Kept on this phone.")
	p.there("#call-clinic")
	p.show("53-past-limit")
	if text := p.Text("body"); strings.Contains(text, "Well done") || strings.Contains(text, "more than last time") {
		j.t.Errorf("praise past the limit: %s", short(text))
	}
	p.tap("#done")
	p.there("#back")
	p.show("54-measure-after")
	p.up(j.h.URL() + "/settings")
	p.WaitText("#unsent", "1 exercise session")
	p.WaitText("#unsent", "3 angles")
	p.show("55-unsent")
}

// serverBack closes the browser, opens it again while the server is still dead, and then lets the server come back.
func (j *journey) serverBack() {
	j.b.Close()
	old := j.h.expired()
	j.startBrowser()
	j.p = newPhone(j.b, j.w, j.zone, false)
	p := j.p
	p.up(j.h.URL() + "/settings")
	p.WaitText("#unsent", "1 exercise session")

	other := newPhone(j.b, j.w, j.zone, true)
	j.h.Start()
	j.h.read()
	p.tap("#send-now")
	p.WaitText("#status", "The clinic has received all. That does not mean read.")
	p.WaitText("#unsent", "Nothing waits to be sent.")
	p.show("60-received")
	j.kept = p.kept()

	over := j.w.expect("the server responded with a status of 4")
	defer over()
	other.up(j.h.URL() + "/enrol")
	other.Type("#code", old)
	other.refused("This code is too old.")
	other.show("61-code-expired")
	other.Wait(activated)
	j.h.Stop()
	other.retype(j.h.Free[len(j.h.Free)-1].Code)
	other.refused("The clinic's server cannot answer now.")
	other.Offline(true)
	other.refused("You need a connection to join. Your code stays here.")
	other.show("62-join-offline")
	j.h.Start()
	j.h.read()
	other.Close()
}

// clinicSees looks at the patient's page.
func (j *journey) clinicSees() {
	j.desk = newDesk(j.b, j.w)
	d := j.desk
	d.signIn(j.h, "spare")
	d.says(j.inv.Patient)
	d.show("70-list")
	d.patient(j.h, j.inv.Patient)
	d.show("71-patient")
	d.says(fmt.Sprintf("%d of %d", j.did, j.did))
	d.says("on the phone since")
	all := d.records()
	var own []string
	for _, r := range all {
		if strings.HasPrefix(r, "patient: ") {
			own = append(own, strings.TrimPrefix(r, "patient: "))
		}
	}
	want := []string{"Phone follows plan revision 1", fmt.Sprintf("Session finished: %d of %d holds", j.did, j.did), "Reading, right arm, Flexion: ", "Reading, left arm, Flexion: 150", "Reading, right arm, ER at side: 52"}
	own = slices.DeleteFunc(own, func(r string) bool { return strings.HasPrefix(r, "App installed") })
	if !slices.EqualFunc(own, want, strings.HasPrefix) {
		j.t.Errorf("the clinic's page lists %q, want %q", own, want)
	}
	findings := d.Text("[aria-labelledby=h-findings]")
	if !strings.Contains(findings, "30") || !strings.Contains(findings, "52") {
		j.t.Errorf("the angle of 52 past the limit of 30 is no finding: %s", short(findings))
	}
}

// narrow takes the limit down on the clinic's form; the phone obeys at its next contact, and the clinic sees since when.
func (j *journey) narrow() {
	d, p := j.desk, j.p
	p.Offline(true)
	d.link("Change the plan")
	d.show("72-plan-form")
	d.fill("details.now input[name$='.l.FF.ceil']", "85")
	d.fill("input[name=reason]", "Less, after the reading of today")
	d.press("Save the new revision")
	d.says("The new revision is saved.")
	d.show("73-plan-history")
	d.patient(j.h, j.inv.Patient)
	d.says("NOT on the phone yet")
	d.show("74-not-yet")

	p.up(j.h.URL() + "/limits")
	p.says("120°")
	p.Offline(false)
	p.says("85°")
	p.show("75-narrowed")
	d.Reload()
	d.says("revision 2")
	d.says("on the phone since")
	if text := d.Text("body"); strings.Contains(text, "NOT on the phone yet") {
		j.t.Error("the phone obeys and the clinic is told that it does not")
	} else if strings.Contains(text, "over the limit of 85") {
		j.t.Error("the reading of 96 was within its limit and is judged by the one that came after it")
	}
	d.show("76-on-the-phone")
}

// stop stops the plan; the phone shows the stop screen with the number.
func (j *journey) stop() {
	d, p := j.desk, j.p
	d.link("Change the plan")
	d.Click("input[name=state][value=stopped]")
	d.fill("input[name=why]", "Please come in, we want to look at it.")
	d.fill("input[name=reason]", "Reading past the limit")
	d.press("Save the new revision")
	d.says("The new revision is saved.")
	p.up(j.h.URL() + "/settings")
	p.tap("#send-now")
	p.tap("#back")
	p.says("Stop. No exercises.")
	p.says("Please come in, we want to look at it.")
	p.there("#call-clinic")
	if p.has("#start") || p.has("#to-measure") {
		j.t.Error("the stop screen offers something besides the number")
	}
	p.show("77-stopped")
	p.up(j.h.URL() + "/session")
	if p.has("#main-start") || p.has(".run-state") {
		j.t.Error("a session can be had at its address although the plan is stopped")
	}
	d.patient(j.h, j.inv.Patient)
	d.says("revision 3")
	d.says("on the phone since")
	j.kept = p.kept()
}

// atOnce narrows the plan of a patient whose session runs: the session goes on with the narrower limit.
func (j *journey) atOnce() {
	inv := j.h.next()
	p := newPhone(j.b, j.w, j.zone, true)
	j.busy = p
	p.up(inv.Link)
	p.tap("#join")
	p.says("Welcome")
	p.throughFirstRun("right")
	p.Wait(activated)
	p.tap("#start")
	p.tap("#pain-0")
	p.tap("#main-start")
	p.until(state("Hold"), 15*time.Second)
	p.says("Stop at 113 degrees")

	d := j.desk
	d.patient(j.h, inv.Patient)
	d.link("Change the plan")
	d.fill("details.now input[name$='.l.FF.ceil']", "95")
	d.fill("input[name=reason]", "Less for now")
	d.press("Save the new revision")
	d.says("The new revision is saved.")
	p.Offline(true)
	p.Offline(false) // a phone that finds its signal again asks the clinic
	p.says("The clinic has changed your limit. Go less far.")
	p.says("Stop at 88 degrees")
	p.show("79-narrowed-at-once")
	p.tap("#main-continue")
	p.until(state("Hold"), 20*time.Second)
	p.says("Hold 1 of 5")
}

// update brings a newer version of the app while a session runs: it waits, in another window too, and comes in afterwards.
func (j *journey) update() {
	p := j.busy
	before := version(p.Page)

	// The same server, reached through one that has a newer app.
	j.h.Stop()
	behind := FreeAddress(j.t)
	server := StartProgram(j.t, behind, "demo", "--data", j.h.data, "--listen", behind, "--public-url", j.h.URL())
	to, err := url.Parse("http://" + behind)
	if err != nil {
		j.t.Fatal(err)
	}
	proxy := &httputil.ReverseProxy{
		Rewrite:  func(r *httputil.ProxyRequest) { r.SetURL(to); r.Out.Host = r.In.Host },
		ErrorLog: log.New(io.Discard, "", 0), // a tab that closes breaks off its requests
	}
	after := newer(j.t)
	host := &Host{t: j.t, addr: j.h.addr}
	mux := http.NewServeMux()
	mux.Handle("/v1/", proxy)
	mux.Handle("/", after)
	host.Serve(mux)
	host.Start()
	j.t.Cleanup(host.Stop)

	p.Eval("unslingBoot.registration.then(r => r.update()).then(() => {})", nil)
	p.Wait("unslingBoot.registration.then(r => r.waiting)")
	p.run(2 * time.Second)
	if !p.has("#main-done") || version(p.Page) != before {
		j.t.Errorf("the update did not wait: version %s, screen %s", version(p.Page), short(p.Text("body")))
	}
	second := tabOf(j.t, p.ctx, j.w)
	second.beAPhone(j.zone)
	second.up(j.h.URL() + "/settings")
	second.tap("#update")
	second.run(time.Second)
	if got := version(second.Page); got != before {
		j.t.Errorf("another window let version %s in while the session ran", got)
	}
	if waits := second.WaitFor("unslingBoot.registration.then(r => r.waiting)", 0); !waits {
		j.t.Error("the new version does not wait any more")
	}
	second.Close()
	p.tap("#stop")
	p.tap("#stop-tired")
	p.WaitText("#kept", "Kept on this phone.")
	p.show("80-stopped-by-me")
	p.tap("#leave")
	p.tap("#to-settings")
	p.says("A new version is ready.")
	p.show("81-update")
	p.tap("#update")
	p.Wait("window.unslingBoot && unslingBoot.version === " + quote(after.Version()))
	p.Wait(mounted)
	p.up(j.h.URL() + "/settings")
	p.WaitText("#unsent", "Nothing waits to be sent.")
	host.Stop()
	server.Stop()
}

// store opens what the server left behind.
func (j *journey) store() {
	j.h.Stop()
	j.h.verify()
	lines := j.h.log(j.inv.Patient)
	author := onceAndInOrder(j.t, lines, j.kept, map[wire.Kind]int{wire.KindSession: 1, wire.KindReading: 3, wire.KindAdopted: 3})
	for _, s := range bodies[rom.Session](j.t, lines, author, wire.KindSession) {
		// taken up twice: at its own address, and from the first screen
		if s.Ended != rom.Finished || s.Counted() != s.Asked() || s.Resumed != 2 || s.Before == nil || *s.Before != 3 || s.After == nil || *s.After != 2 {
			j.t.Errorf("the session in the store: %s, %d of %d holds, taken up %d times", s.Ended, s.Counted(), s.Asked(), s.Resumed)
		}
		for i, h := range s.Items[0].Holds {
			if h.Counted && h.Tenths != 200 { // 20 s, as prescribed
				j.t.Errorf("hold %d lasted %d tenths of a second", i+1, h.Tenths)
			}
		}
	}
	readings := bodies[rom.Reading](j.t, lines, author, wire.KindReading)
	for i, want := range []struct {
		motion rom.Motion
		side   rom.Side
		method rom.Method
		angle  float64
		trials int
	}{
		{rom.ForwardFlexion, rom.Right, rom.Photo, 96, 3}, {rom.ForwardFlexion, rom.Left, rom.Tilt, 150, 1}, {rom.ERSide, rom.Right, rom.Tilt, 52, 1},
	} {
		if i >= len(readings) {
			break
		}
		got := readings[i]
		if got.Motion != want.motion || got.Side != want.side || got.Method != want.method || len(got.Trials) != want.trials {
			j.t.Errorf("reading %d: %+v", i+1, got)
		}
		near(j.t, string(want.motion), got.Angle.Whole(), want.angle)
	}
}
