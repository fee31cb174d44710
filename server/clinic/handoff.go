package clinic

import (
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strconv"

	"unsling/engine/rom"
	"unsling/engine/schedule"
	"unsling/server/access"
	"unsling/server/ledger"
	"unsling/sync/wire"
)

// handoffPage is one dated page for a therapist who works elsewhere, with a
// form on which the readings come back.
type handoffPage struct {
	patientPage
	Today     rom.Date
	Surgeons  []string
	Rows      []glanceRow
	Forbidden []string
	Closed    []schedule.Allowed // exercises that this day locks
	Do        []rom.Prescription
	Findings  []string
	Ask       []rom.Motion // to measure and return
	Blank     []int        // rows of the form
	Levels    []rom.Level
	Code      string // of this sheet, to name it on the telephone
}

// What one page can hold.
const (
	handoffFindings = 3
	handoffAsk      = 5
	handoffBlank    = 3
)

// handoff is the sheet. It is dated, and says that it ages: limits change, and
// nothing reaches a sheet of paper.
func (d *Desk) handoff(v *visit) error {
	f, err := v.file()
	if err != nil {
		return err
	}
	return v.handoffShow(http.StatusOK, f, v.episodeOf(), "")
}

func (v *visit) handoffShow(status int, f file, of rom.EpisodeID, problem string) error {
	view, err := v.patientView(f, of)
	if err != nil {
		return err
	}
	if !view.HasCare {
		return errNotFound
	}
	p := handoffPage{patientPage: view, Today: v.today, Blank: make([]int, handoffBlank), Levels: levels()}
	p.Code = handoffCode(view.Care, v.today)
	all, err := v.teamRows()
	if err != nil {
		return err
	}
	for _, s := range all {
		if s.Role == "surgeon" {
			p.Surgeons = append(p.Surgeons, s.Name)
		}
	}
	day := view.Care.Day
	rows := slices.DeleteFunc(slices.Clone(view.Glance), func(r glanceRow) bool { return !r.Has && r.Allowed.Locked })
	for _, a := range day.Motions { // what has no line counts as locked, so nothing open may lack one
		if !a.Locked && !slices.ContainsFunc(rows, func(r glanceRow) bool { return r.Motion == a.Motion }) {
			rows = append(rows, glanceRow{Motion: a.Motion, Allowed: a, Limit: a.Limit.Class.String() + ", " + limitText(a.Limit)})
		}
	}
	p.Rows = rows
	p.Forbidden = day.Forbidden
	if day.InPhase {
		for _, x := range day.Phase.Prescriptions {
			if !day.Exercise(x.Exercise).Locked {
				p.Do = append(p.Do, x)
			}
		}
	}
	for _, x := range day.Exercises {
		if x.Locked && x.Why == schedule.WhyProcedure {
			p.Closed = append(p.Closed, x)
		}
	}
	for _, x := range view.Open {
		if len(p.Findings) < handoffFindings {
			s, _ := cut(x.Staff, summaryLine)
			p.Findings = append(p.Findings, s)
		}
	}
	p.Ask = toReturn(day)
	return v.showWith(status, "handoff", frame{Title: "Hand-off, " + v.patient.Name, Error: problem, Page: p})
}

// toReturn are the motions to measure: those that may be moved today. A motion
// that is locked is not measured, since measuring loads it.
func toReturn(day schedule.Day) (ask []rom.Motion) {
	for _, m := range shoulderMotions {
		if a := day.Motion(m); !a.Locked && day.State == schedule.Running && len(ask) < handoffAsk {
			ask = append(ask, m)
		}
	}
	return ask
}

// handoffCode names a sheet by what it rests on, so that somebody on the
// telephone can be asked which one lies before them: the plan's revision and
// the date.
func handoffCode(c care, on rom.Date) string {
	return "R" + strconv.Itoa(c.Plan.Rev) + "-" + on.String()
}

// handedBack takes the form that came back with the sheet: readings, written
// by who types them, and a visit that names who took them.
func (d *Desk) handedBack(v *visit) error {
	f, c, err := v.care()
	if err != nil {
		return err
	}
	drafts, err := v.returned(c)
	if err == nil {
		err = v.write(nil, drafts...)
	}
	var s *sorry
	switch {
	case errors.As(err, &s):
		return v.handoffShow(s.status, f, c.Episode.ID, s.text)
	case err != nil:
		return err
	}
	return v.back("/clinic/patients/"+string(v.patient.ID)+"?episode="+string(c.Episode.ID), "entry")
}

func (v *visit) returned(c care) ([]ledger.Draft, error) {
	who, note := v.form("who"), v.text("text")
	switch {
	case v.may(access.AddTherapy) != nil:
		return nil, v.may(access.AddTherapy)
	case c.Episode.State.Ended():
		return nil, refuse(http.StatusUnprocessableEntity, "The episode has ended.")
	case who == "" || len([]rune(who)) > 100:
		return nil, refuse(http.StatusUnprocessableEntity, "Please write who took the readings, as it stands on the sheet.")
	case v.form("on") == "":
		return nil, refuse(http.StatusUnprocessableEntity, "Please give the date on the sheet: readings of another day than today count for that day.")
	case len([]rune(note)) > 2000:
		return nil, refuse(http.StatusUnprocessableEntity, "The note is too long. Please say it in 2000 letters.")
	}
	drafts, err := v.readings(c)
	if err != nil {
		return nil, err
	}
	if len(drafts) == 0 && note == "" {
		return nil, refuse(http.StatusUnprocessableEntity, "Nothing was entered.")
	}
	on, err := v.dateField("on", "Date")
	if err != nil {
		return nil, err
	}
	text := fmt.Sprintf("Returned by %s, elsewhere, on the hand-off sheet: %d readings.", who, len(drafts))
	if sheet := v.form("sheet"); sheet != "" {
		text += " Sheet " + sheet + "."
	}
	if note != "" {
		text += "\n" + note
	}
	dr, err := v.draft(wire.KindVisit, rom.Visit{Episode: c.Episode.ID, On: on, Text: text, By: v.staff.ID})
	return append(drafts, dr), err
}
