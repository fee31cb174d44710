package browsertest

import (
	"strings"
	"time"

	"unsling/engine/rom"
)

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
	p.says("What leaves this phone")
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
	p.says("Does someone else use this phone too?")
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
	p.says("What leaves this phone")
	p.tap("#next")
	p.says("Which shoulder?")
	p.show("23-first-side")
	// The phone can only know that it is the wrong one when the plan has come.
	for tries := 0; tries < 20 && !strings.Contains(p.Text("body"), "Stop. The clinic wrote down the other shoulder."); tries++ {
		if strings.Contains(p.Text("body"), "Which hand holds the phone?") {
			p.tap("#back")
			p.says("Which shoulder?")
		}
		p.tap("#side-left")
		p.run(time.Second)
	}
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
	p.says("Does someone else use this phone too?")
	p.tap("#next")
	p.there("#start")
	p.show("29-now")
	p.WaitText("#status", "The clinic has received all.")
	p.Wait(activated)
}
