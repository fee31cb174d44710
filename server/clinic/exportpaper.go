package clinic

import (
	"bytes"
	_ "embed"
	"fmt"
	"html/template"
	"strings"
	"time"

	"unsling/app/chart"
	"unsling/engine/rom"
	"unsling/server/ledger"
	"unsling/sync/wire"
)

//go:embed paper/record.html
var paperText string

var paperPage = template.Must(template.New("paper").Funcs(helpers).Parse(paperText))

// paperView is what the printed record shows.
type paperView struct {
	Clinic     ledger.Clinic
	Patient    ledger.Patient
	Made       time.Time
	By         string
	Restricted string
	Style      template.CSS
	Team       []exportedName
	Phones     []exportedPhone
	Episodes   []paperEpisode
	Readings   []paperRow
	Entries    []paperRow
	Lines      int
	Aside      int
	Sealed     int
}

// paperEpisode is one episode with its pictures.
type paperEpisode struct {
	Title, Says string
	Pictures    []picture
}

// paperRow is one record in one line.
type paperRow struct {
	Seq                   int64
	At                    time.Time
	Kind, Who, Text, Note string
}

// paper makes the page that people read: one file that needs nothing else.
func (x *exporting) paper() ([]byte, error) {
	v := x.v
	p := paperView{Clinic: v.clinic, Patient: v.patient, Made: v.at, By: v.staff.Name, Style: template.CSS(chart.Stylesheet), Phones: x.record.Phones,
		Lines: len(x.entries), Aside: len(x.record.Aside), Sealed: len(x.record.Sealed)}
	if r := v.patient.Restricted; r != nil {
		p.Restricted = fmt.Sprintf("Processing is restricted since %s: %s", r.At.In(v.zone).Format("2 Jan 2006"), r.Reason)
	}
	for _, m := range v.team {
		if who, ok := x.record.Staff[m.Staff]; ok {
			p.Team = append(p.Team, who)
		}
	}
	for _, c := range x.f.Episodes {
		e, err := x.episode(c.Episode)
		if err != nil {
			return nil, err
		}
		p.Episodes = append(p.Episodes, e)
	}
	for _, e := range x.entries {
		row := paperRow{Seq: e.Seq, At: e.At, Kind: kindNames[e.Kind], Who: e.Who, Text: e.Text}
		if words := wordsOf(e.Body); words != "" {
			row.Text += ": “" + words + "”"
		}
		if row.Kind == "" {
			row.Kind = "unknown"
		}
		switch {
		case e.Voided:
			row.Note = "taken back"
		case e.Now != "":
			row.Note = "corrected: " + e.Now
		case e.Fault != "":
			row.Note = e.Fault
		}
		p.Entries = append(p.Entries, row)
		if e.Kind == wire.KindReading && e.Fault == "" {
			p.Readings = append(p.Readings, row)
		}
	}
	var b bytes.Buffer
	if err := paperPage.Execute(&b, p); err != nil {
		return nil, fmt.Errorf("export: %w", err)
	}
	return b.Bytes(), nil
}

// episode says one episode and draws what was measured in it.
func (x *exporting) episode(e rom.Episode) (paperEpisode, error) {
	out := paperEpisode{Title: fmt.Sprintf("%s shoulder, %s", strings.ToUpper(string(e.Side)), name(stateNames, e.State))}
	out.Says, _ = recordText(e)
	view, err := x.v.patientView(x.f, e.ID)
	if err != nil {
		return out, err
	}
	for _, c := range view.Charts {
		out.Pictures = append(out.Pictures, c.picture)
	}
	for _, c := range []picture{view.Dose, view.Pain} {
		if c.SVG != "" {
			out.Pictures = append(out.Pictures, c)
		}
	}
	return out, nil
}

// wordsOf is what a person wrote freely in a record.
func wordsOf(body any) string {
	switch b := body.(type) {
	case rom.Note:
		return b.Text
	case rom.Question:
		return b.Text
	case rom.Sign:
		return b.Text
	case rom.Task:
		return b.Text
	}
	return ""
}
