package clinic

import (
	"bytes"
	"net/http"
	"slices"
	"strings"
	"unicode/utf8"

	"unsling/engine/rom"
	"unsling/server/access"
)

// summaryPage is a visit on one printed page.
type summaryPage struct {
	patientPage
	Today    rom.Date
	Rows     []glanceRow
	Left     int // motions left out for room
	Pics     []motionChart
	Changes  []string // of the plan, the newest first
	Findings []string
	More     int // findings left out
	Notes    []visitNote
	Style    string // the style sheet itself, for the file
	AsFile   bool
	Query    string
}

// visitNote is a visit, cut to what one page can hold.
type visitNote struct {
	On   rom.Date
	Who  string
	Text string
	Cut  bool
}

// What one page can hold, so that the sheet stays one page on A4 and Letter.
const (
	summaryRows     = 7
	summaryFindings = 4
	summaryChanges  = 3
	summaryNote     = 420 // letters of the newest visit's note
	summaryLine     = 170 // letters of a finding or a change
)

// summary is the visit on one page: where the patient stands, what was found,
// what was changed. With ?as=file it comes as a file of its own for the
// clinic's record.
func (d *Desk) summary(v *visit) error {
	f, err := v.file()
	if err != nil {
		return err
	}
	view, err := v.patientView(f, v.episodeOf())
	if err != nil {
		return err
	}
	if !view.HasCare {
		return errNotFound
	}
	p := summaryPage{patientPage: view, Today: v.today, Query: "?episode=" + string(view.Care.Episode.ID)}
	v.fillSummary(&p)
	if v.r.URL.Query().Get("as") != "file" {
		return v.showWith(http.StatusOK, "summary", frame{Title: "Visit summary, " + v.patient.Name, Page: p})
	}
	if err := v.may(access.ExportPatient); err != nil {
		return err
	}
	p.AsFile, p.Style = true, string(stylesheet)
	fr := frame{Title: "Visit summary, " + v.patient.Name, Clinic: v.clinic, Staff: &v.staff, Demo: v.clinic.Demo, Page: p, visit: v}
	var b bytes.Buffer
	if err := pages["summary"].ExecuteTemplate(&b, "file", fr); err != nil {
		return err
	}
	v.w.Header().Set("Content-Type", "text/html; charset=utf-8")
	v.w.Header().Set("Content-Disposition", `attachment; filename="visit-`+v.today.String()+`.html"`)
	_, _ = v.w.Write(b.Bytes())
	return nil
}

func (v *visit) fillSummary(p *summaryPage) {
	rows := slices.Clone(p.Glance)
	// What was measured first, then what is allowed and was not.
	slices.SortStableFunc(rows, func(a, b glanceRow) int {
		switch {
		case a.Has == b.Has:
			return 0
		case a.Has:
			return -1
		}
		return 1
	})
	p.Rows = rows[:min(len(rows), summaryRows)]
	p.Left = len(rows) - len(p.Rows)
	p.Pics = summaryPictures(p.Charts)
	for _, x := range p.Open {
		if len(p.Findings) == summaryFindings {
			p.More++
			continue
		}
		s, _ := cut(x.Staff, summaryLine)
		p.Findings = append(p.Findings, s)
	}
	var last rom.Plan
	var changes []string
	for _, e := range p.File.History.Plans {
		if e.Body.Episode != p.Care.Episode.ID {
			continue
		}
		if last.Rev > 0 {
			s := e.Body.On.Time().Format("2 Jan 2006") + ", " + p.Names[e.Body.By] + ": " + e.Body.Reason
			if diff := last.Diff(e.Body); len(diff) > 0 {
				s += " (" + changeText(diff[0])
				if len(diff) > 1 {
					s += ", and " + plural(len(diff)-1, "more change", "more changes")
				}
				s += ")"
			}
			s, _ = cut(s, summaryLine)
			changes = append(changes, s)
		}
		last = e.Body
	}
	slices.Reverse(changes)
	p.Changes = changes[:min(len(changes), summaryChanges)]
	for _, e := range slices.Backward(p.File.History.Visits) {
		if e.Body.Episode == p.Care.Episode.ID && len(p.Notes) == 0 {
			text, short := cut(e.Body.Text, summaryNote)
			p.Notes = append(p.Notes, visitNote{e.Body.On, p.Names[e.Body.By], text, short})
		}
	}
}

// summaryPictures are the courses of elevation and of rotation at the side.
func summaryPictures(charts []motionChart) (out []motionChart) {
	for _, m := range []rom.Motion{rom.ForwardFlexion, rom.ERSide} {
		for _, c := range charts {
			if c.Motion == m {
				out = append(out, c)
			}
		}
	}
	return out
}

// cut shortens a text to so many letters, at a word.
func cut(s string, most int) (short string, was bool) {
	s = strings.Join(strings.Fields(s), " ")
	if utf8.RuneCountInString(s) <= most {
		return s, false
	}
	r := []rune(s)[:most]
	if i := strings.LastIndexByte(string(r), ' '); i > most/2 {
		return string(r)[:i] + " …", true
	}
	return string(r) + "…", true
}
