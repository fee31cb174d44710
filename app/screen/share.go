package screen

import (
	"html"
	"strings"
	"time"

	"unsling/app/words"
	"unsling/engine/rom"
)

// recordPage is everything that this phone holds as one page that opens in
// any browser, without the app and without a network: words and tables, and
// the lines as they are stored below. Every text of a person is escaped here,
// since no library does it.
func (a *App) recordPage(lines []byte) string {
	d := &recordDoc{a: a}
	d.raw(`<!doctype html><html lang="` + string(a.lang()) + `"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width, initial-scale=1">` +
		`<meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'"><title>` + html.EscapeString(a.t(words.ShareTitle)) + `</title><style>` + recordStyle + `</style></head><body><main>`)
	d.tag("h1", a.t(words.ShareTitle))
	d.tag("p", a.t(words.ShareLead))
	clinic, number := a.clinic()
	d.tag("p", strings.TrimSpace(a.f(words.ShareMade, words.Moment(a.lang(), a.now, a.now))+" "+clinic+" "+number))
	d.plan()
	d.sessions()
	d.angles()
	d.told()
	d.letters()
	d.raw(`<details><summary>` + html.EscapeString(a.t(words.ShareLines)) + `</summary><pre>` + html.EscapeString(string(lines)) + `</pre></details></main></body></html>`)
	return d.String()
}

const recordStyle = `body{font:18px/1.5 system-ui,sans-serif;margin:0;padding:1rem;color:#1b2b2a;background:#fff}main{max-width:50rem;margin:auto}` +
	`table{border-collapse:collapse;width:100%}th,td{text-align:start;vertical-align:top;padding:.3rem .6rem .3rem 0;border-bottom:1px solid #cdc8bd}` +
	`pre{white-space:pre-wrap;overflow-wrap:anywhere;font-size:.8rem}.scroll{overflow-x:auto}summary{padding:.6rem 0;font-weight:600}`

type recordDoc struct {
	strings.Builder
	a *App
}

func (d *recordDoc) raw(s string) { d.WriteString(s) }
func (d *recordDoc) tag(name, s string) {
	d.raw("<" + name + ">" + html.EscapeString(s) + "</" + name + ">")
}

// table writes rows under a heading; without rows it says that there are none.
func (d *recordDoc) table(head words.Text, columns []words.Text, rows [][]string) {
	d.tag("h2", d.a.t(head))
	if len(rows) == 0 {
		d.tag("p", d.a.t(words.ShareNone))
		return
	}
	d.raw(`<div class="scroll" tabindex="0" role="group" aria-label="` + html.EscapeString(d.a.t(head)) + `"><table><thead><tr>`)
	for _, c := range columns {
		d.raw(`<th scope="col">` + html.EscapeString(d.a.t(c)) + `</th>`)
	}
	d.raw(`</tr></thead><tbody>`)
	for _, r := range rows {
		d.raw("<tr>")
		for _, c := range r {
			d.tag("td", c)
		}
		d.raw("</tr>")
	}
	d.raw(`</tbody></table></div>`)
}

// when is a moment with its year.
func (d *recordDoc) when(t time.Time) string {
	t = t.In(d.a.now.Location())
	return words.ShortDate(d.a.lang(), rom.DateOf(t)) + " " + itoa(t.Year()) + ", " + words.Hour(t)
}

func (d *recordDoc) plan() {
	v := d.a.viewLimits()
	var rows [][]string
	for _, r := range v.May {
		rows = append(rows, []string{r.Name, r.Value, r.Sub})
	}
	for _, r := range v.Locked {
		rows = append(rows, []string{r.Name, d.a.t(words.ChartLocked), r.Sub})
	}
	d.table(words.SharePlan, []words.Text{words.ShareWhat, words.ChartLimit, words.ShareHow}, nilUnless(rows, d.a.day.InPhase))
}

func nilUnless(rows [][]string, yes bool) [][]string {
	if !yes {
		return nil
	}
	return rows
}

func score(n *int) string {
	if n == nil {
		return ""
	}
	return itoa(*n)
}

func (d *recordDoc) sessions() {
	var rows [][]string
	for _, s := range d.a.facts.History.Sessions {
		rows = append(rows, []string{d.when(s.At), itoa(s.Body.Counted()) + " / " + itoa(s.Body.Asked()), score(s.Body.Before), score(s.Body.After)})
	}
	d.table(words.ShareSessions, []words.Text{words.ShareWhen, words.ShareDone, words.ShareBefore, words.ShareAfter}, rows)
}

func (d *recordDoc) angles() {
	var rows [][]string
	for _, r := range d.a.facts.History.Readings {
		b := r.Body
		value, more := itoa(b.Angle.Whole()), itoa(b.SE.Whole())
		if b.Motion.ByLevel() {
			value, more = words.Level(d.a.lang(), b.Level), ""
		}
		by, side := words.ShareClinic, words.ShareRight
		if b.Self() {
			by = words.ShareYou
		}
		if b.Side == rom.Left {
			side = words.ShareLeft
		}
		rows = append(rows, []string{d.when(r.At), words.Capital(words.Motion(d.a.lang(), b.Motion)), d.a.t(side), value, more, d.a.t(by)})
	}
	d.table(words.ShareAngles, []words.Text{words.ShareWhen, words.ShareWhat, words.ShareSide, words.ShareAngle, words.ShareError, words.ShareBy}, rows)
}

// told are pains, warning signs and visits.
func (d *recordDoc) told() {
	h := d.a.facts.History
	var pains, signs, visits [][]string
	for _, p := range h.Pains {
		pains = append(pains, []string{d.when(p.At), itoa(p.Body.Score), words.Sleep(d.a.lang(), p.Body.Sleep)})
	}
	for _, s := range h.Signs {
		signs = append(signs, []string{d.when(s.At), words.Sign(d.a.lang(), s.Body.Sign), s.Body.Text, d.a.progressOf(s.Ref)})
	}
	for _, v := range h.Visits {
		visits = append(visits, []string{words.Date(d.a.lang(), v.Body.On), v.Body.Text})
	}
	d.table(words.SharePains, []words.Text{words.ShareWhen, words.ShareScore, words.WeekSleepAsk}, pains)
	d.table(words.ShareSigns, []words.Text{words.ShareWhen, words.ShareWhat, words.NoteLabel, words.ShareState}, signs)
	d.table(words.ShareVisits, []words.Text{words.ShareWhen, words.ShareWhat}, visits)
}

func (d *recordDoc) letters() {
	var rows [][]string
	for _, n := range d.a.notes() {
		rows = append(rows, []string{n.Head, n.Text, n.State})
	}
	d.table(words.ShareLetters, []words.Text{words.ShareWhen, words.ShareWhat, words.ShareState}, rows)
}

// shareRecord hands the page over, to be read or shown to somebody.
func (a *App) shareRecord() {
	a.handOver(func(lines []byte) (name, mime string, data []byte) {
		return "my-record-" + rom.DateOf(a.now).String() + ".html", "text/html", []byte(a.recordPage(lines))
	})
}

// handOver exports, makes a file of it and gives it to the patient.
func (a *App) handOver(file func(lines []byte) (name, mime string, data []byte)) {
	var lines []byte
	err := errBroken
	a.run(func() { lines, err = a.d.Journal.Export() }, func() {
		if err != nil {
			a.exportSaid(err)
			return
		}
		name, mime, data := file(lines)
		a.run(func() { err = a.d.Platform.SaveFile(name, mime, data) }, func() { a.exportSaid(err) })
	})
}

func (a *App) exportSaid(err error) {
	a.set.exported = a.t(words.SetExported)
	if err != nil {
		a.set.exported = a.t(words.SetExportBad)
	}
	a.aloud = a.set.exported
}
