package browsertest

import (
	"strings"
	"time"

	"unsling/engine/rom"
)

// plantDesk writes the hostile text into what a clinic's own people write besides notes: names of staff, scores, protocols,
// the note of an adoption, a file of patients. What a form refuses it shows again, so that counts as well.
func plantDesk(b *Browser, w *watch, h *house, patient string) {
	over := w.expect("status of 4") // a form that is refused
	defer over()
	admin := newDesk(b, w)
	admin.Open(h.URL() + "/clinic/sign-in")
	admin.Type("input[name=login]", "fenn")
	admin.Type("input[name=password]", h.password("fenn"))
	admin.press("Sign in")
	signedIn.Store(admin, h.password("fenn"))
	for _, login := range []string{"planted", hostileShort} { // one that is taken, one that is refused
		admin.Open(h.URL() + "/clinic/staff")
		admin.fill("form.box input[name=name]", hostileText)
		admin.fill("form.box input[name=login]", login)
		admin.fill("form.box select[name=role]", "therapist")
		admin.press("Make the invitation")
		admin.harmless("a new name of staff, login " + login)
	}
	admin.Close()

	d := newDesk(b, w)
	defer d.Close()
	d.signIn(h, "spare")
	d.Open(h.URL() + patient + "/scores")
	for _, field := range []string{"pain", "forward", "lateral"} {
		d.Eval(`document.querySelectorAll("input[name=`+field+`]").forEach(e => e.value = `+quote(hostileText)+`)`, nil)
	}
	d.Eval(`document.querySelector("form.box.half").noValidate = true`, nil)
	d.follow(`document.querySelector("form.box.half button.main, form.box.half .acts button")`)
	d.again()
	d.harmless("scores")

	d.Open(h.URL() + "/clinic/protocols/own")
	d.fill("textarea[name=text]", hostileText)
	d.press("Check it")
	d.harmless("a protocol that is no protocol")
	d.Open(h.URL() + "/clinic/protocols/own?from=" + string(rom.CuffRepair) + "-small-medium")
	d.Eval(`(() => {
		const at = document.querySelector("textarea[name=text]"), hostile = JSON.stringify(`+quote(hostileText)+`);
		at.value = at.value.replace(/"id": "[^"]*"/, '"id": "planted"').replace(/"title": "[^"]*"/, '"title": ' + hostile).replace(/"draft": "[^"]*"/, '"draft": ' + hostile);
	})()`, nil)
	d.press("Check it")
	d.harmless("a protocol with hostile words")
	if text := d.Text("main"); strings.Contains(text, "No faults") {
		d.Click("input[name=reviewed]")
		d.fill("input[name=note]", hostileText)
		d.press("Adopt this protocol")
	} else {
		d.t.Errorf("the planted protocol was not taken: %s", short(text))
	}
	d.harmless("adopted")
	d.Open(h.URL() + "/clinic/protocols/planted")
	if !strings.Contains(d.Text("main"), "data-hostile") {
		d.t.Error("the page of the planted protocol shows none of its words: nothing is proven")
	}
	d.harmless("the page of the adopted protocol")

	d.Open(h.URL() + "/clinic/import")
	d.Eval(`(() => {
		const cell = s => '"' + s.replaceAll('"', '""') + '"', hostile = `+quote(hostileText)+`;
		const text = "name,number,side,procedure,surgery\n" + [cell(hostile), "H-1", "left", `+quote(string(rom.CuffRepair))+`, `+quote(time.Now().AddDate(0, 0, 9).Format(time.DateOnly))+`].join(",") + "\n" +
			[cell(hostile), cell(hostile), cell(hostile), cell(hostile), cell(hostile)].join(",") + "\n";
		const all = new DataTransfer();
		all.items.add(new File([text], `+quote(hostileShort+".csv")+`, { type: "text/csv" }));
		document.querySelector("input[type=file]").files = all.files;
	})()`, nil)
	d.fill("select[name=surgeon]", "spare")
	d.press("Look at the file")
	d.harmless("the report of a file")
	if !strings.Contains(d.Text("main"), "data-hostile") {
		d.t.Errorf("the report shows none of the file's words: %s", short(d.Text("main")))
	}
}
