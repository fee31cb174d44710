package browsertest

import (
	"fmt"
	"io"
	"log"
	"net/http"
	"net/http/httputil"
	"net/url"
	"slices"
	"strings"
	"testing"
	"time"

	"unsling/engine/rom"
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
	j := &journey{t: t, h: openHouse(t), zone: Morning(t), profile: t.TempDir()}
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
		{"nothing on the phone says who the patient is", j.noTrace},
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
	want := []string{"Phone follows plan revision 1", fmt.Sprintf("Session finished: %d of %d holds", j.did, j.did), "Reading, right arm, Flexion: ", "Reading, left arm, Flexion: 150", "Reading, right arm, ER at side: 52", "Reading, right arm, ER at side: 5"}
	own = slices.DeleteFunc(own, func(r string) bool { return strings.HasPrefix(r, "App installed") })
	if !slices.EqualFunc(own, want, strings.HasPrefix) {
		j.t.Errorf("the clinic's page lists %q, want %q", own, want)
	}
	findings := d.Text("[aria-labelledby=h-findings]")
	if !strings.Contains(findings, "past the limit of 30°, chance of a pass 9") {
		j.t.Errorf("the angles of 52 and 51 past the limit of 30 are no finding: %s", short(findings))
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
	d.saysAfterReload("on the phone since")
	d.says("revision 2")
	if text := d.Text("body"); strings.Contains(text, "NOT on the phone yet") {
		j.t.Error("the phone obeys and the clinic is told that it does not")
	} else if strings.Contains(text, "the limit of 85°, chance") {
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
	d.saysAfterReload("on the phone since")
	d.says("revision 3")
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
	if !p.WaitFor("window.unslingBoot && unslingBoot.version === "+quote(after.Version()), 20*time.Second) {
		j.t.Logf("the first tap on the update did nothing: %s", short(p.Text("body")))
		_ = p.TryEval("document.querySelector('#update')?.click()", nil) // no tap: the page may go away under it
	}
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
	author := OnceAndInOrder(j.t, lines, j.kept, map[wire.Kind]int{wire.KindSession: 1, wire.KindReading: 4, wire.KindAdopted: 3})
	for _, s := range Bodies[rom.Session](j.t, lines, author, wire.KindSession) {
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
	readings := Bodies[rom.Reading](j.t, lines, author, wire.KindReading)
	for i, want := range []struct {
		motion rom.Motion
		side   rom.Side
		method rom.Method
		angle  float64
		trials int
	}{
		{rom.ForwardFlexion, rom.Right, rom.Photo, 96, 3}, {rom.ForwardFlexion, rom.Left, rom.Tilt, 150, 1}, {rom.ERSide, rom.Right, rom.Tilt, 52, 1},
		{rom.ERSide, rom.Right, rom.Tilt, 51, 1},
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
