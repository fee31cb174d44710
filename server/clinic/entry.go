package clinic

import (
	"errors"
	"fmt"
	"net/http"
	"strconv"

	"unsling/engine/rom"
	"unsling/server/access"
	"unsling/server/ledger"
	"unsling/sync/wire"
)

// What can be entered at the desk.
const (
	entryReading = "reading"
	entryTherapy = "therapy"
	entryVisit   = "visit"
	entryNote    = "note"
	entryPaper   = "paper"
	entryRead    = "read" // questions and signs were read
)

type entryPage struct {
	Care    care
	What    string
	Motions []rom.Motion
	Levels  []rom.Level
	Rows    []benchRow
	Feels   []rom.EndFeel
	Scores  []int      // 0 to 10
	Open    []rom.Date // therapy days without an answer
	Paper   []paperDay
	Until   rom.Date // last day of the paper log
	Home    string
	Today   rom.Date
	// The question that a note answers.
	Author   rom.Author
	N        string
	Question string
}

func (d *Desk) entryPage(v *visit) error {
	f, c, err := v.shown()
	if err != nil {
		return err
	}
	return v.entryShow(http.StatusOK, f, c, "")
}

func (v *visit) entryShow(status int, f file, c care, problem string) error {
	what := v.r.PathValue("what")
	titles := map[string]string{entryReading: "Readings", entryTherapy: "Therapy", entryVisit: "Visit", entryNote: "Message to the patient", entryPaper: "Log kept on paper"}
	if titles[what] == "" {
		return errNotFound
	}
	p := entryPage{Care: c, What: what, Home: "/clinic/patients/" + string(v.patient.ID), Today: v.today, Motions: shoulderMotions, Levels: levels(),
		Author: rom.Author(v.r.FormValue("author")), N: oneLine(v.r.FormValue("n"))}
	switch what {
	case entryReading:
		p.Rows, p.Feels = benchRows(f, c), rom.EndFeels
	case entryTherapy:
		p.Open = v.openTherapy(f, c)
	case entryPaper:
		p.Until = v.today
		if d, err := rom.ParseDate(v.r.FormValue("until")); err == nil && d <= v.today && v.today.Sub(d) < 730 {
			p.Until = d
		}
		p.Paper = v.paperDays(f, c, p.Until)
	}
	for n := range 11 {
		p.Scores = append(p.Scores, n)
	}
	for _, e := range f.History.Questions {
		if e.Ref.Author == p.Author && strconv.FormatInt(e.Ref.N, 10) == p.N && e.Body.Episode == c.Episode.ID {
			p.Question = e.Body.Text
		}
	}
	return v.showWith(status, "entry", frame{Title: titles[what] + ", " + v.patient.Name, Error: problem, Page: p})
}

// shoulderMotions are those measured at a visit.
var shoulderMotions = []rom.Motion{rom.ForwardFlexion, rom.Scaption, rom.Abduction, rom.ERSide, rom.ER20, rom.ER90, rom.IR90, rom.Extension, rom.CrossBody, rom.HandBehindBack}

// entryAct takes readings, therapy, visits and messages.
func (d *Desk) entryAct(v *visit) error {
	f, c, err := v.care()
	if err != nil {
		return err
	}
	var drafts []ledger.Draft
	switch v.r.PathValue("what") {
	case entryReading:
		drafts, err = v.readings(c)
	case entryTherapy:
		drafts, err = v.therapyDays(f, c)
	case entryPaper:
		drafts, err = v.paperLog(f, c)
	case entryVisit:
		drafts, err = v.visitNote(c)
	case entryNote:
		drafts, err = v.note(c)
	case entryRead:
		drafts, err = v.read(f, c)
	default:
		return errNotFound
	}
	if err == nil && len(drafts) == 0 {
		if v.r.PathValue("what") == entryRead { // somebody else was faster
			return v.back("/clinic/patients/"+string(v.patient.ID)+"?episode="+string(c.Episode.ID), "entry")
		}
		err = refuse(http.StatusUnprocessableEntity, "Nothing was entered.")
	}
	if err == nil {
		err = v.write(nil, drafts...)
	}
	var s *sorry
	if errors.As(err, &s) && s.status == http.StatusUnprocessableEntity && v.r.PathValue("what") != entryRead {
		return v.entryShow(s.status, f, c, s.text)
	} else if err != nil {
		return err
	}
	return v.back("/clinic/patients/"+string(v.patient.ID)+"?episode="+string(c.Episode.ID), "entry")
}

// readings reads the table of both arms: one row per motion, empty cells are
// not measured.
func (v *visit) readings(c care) ([]ledger.Draft, error) {
	if err := v.may(access.AddReading); err != nil {
		return nil, err
	}
	on, err := v.dateField("on", "Date")
	if err != nil {
		return nil, err
	}
	if on.IsZero() {
		on = v.today
	}
	if on > v.today || v.today.Sub(on) > 730 {
		return nil, refuse(http.StatusUnprocessableEntity, "A reading lies in the past two years. Please check the date.")
	}
	method := rom.Method(v.form("method"))
	if method != rom.Goniometer && method != rom.Inclinometer && method != rom.Eye {
		return nil, refuse(http.StatusUnprocessableEntity, "Please choose how it was measured.")
	}
	class := rom.Passive
	if v.form("class") == "active" {
		class = rom.Active
	}
	baseline := c.Episode.Surgery.IsZero() || on < c.Episode.Surgery || !c.Episode.State.Operated() && c.Episode.ConfirmedBy == ""
	var drafts []ledger.Draft
	for _, side := range []rom.Side{c.Episode.Side, c.Episode.Side.Other()} {
		for _, m := range shoulderMotions {
			cell := v.form(string(m) + "-" + string(side))
			if cell == "" {
				continue
			}
			r := rom.Reading{Episode: c.Episode.ID, Side: side, Motion: m, Class: class, Method: method, By: v.staff.ID,
				Position: rom.Position(v.form("position")), Anaesthetic: v.form("anaesthetic") == "yes", Baseline: baseline}
			if on != v.today {
				r.On = on
			}
			if m.ByLevel() {
				n, err := strconv.Atoi(cell)
				if err != nil || n < int(rom.LevelT1) || n > int(rom.LevelThigh) {
					return nil, refuse(http.StatusUnprocessableEntity, "Please choose the level from the list.")
				}
				r.Level, r.Method = rom.Level(n), rom.LevelMethod
			} else {
				a, ok := degreesOf(cell)
				if !ok || a < rom.Deg(-60) || a > m.AnatomicalMax() {
					return nil, refuse(http.StatusUnprocessableEntity, fmt.Sprintf("%s, %s arm: %q is not an angle from -60 to %s degrees.", name(motionNames, m), side, cell, m.AnatomicalMax()))
				}
				r.Angle, r.Trials = a, []rom.Trial{{Angle: a}}
			}
			if side == c.Episode.Side {
				if err := v.felt(m, &r); err != nil {
					return nil, err
				}
			}
			dr, err := v.draft(wire.KindReading, r)
			if err != nil {
				return nil, err
			}
			drafts = append(drafts, dr)
		}
	}
	if e, ok := v.soundArm(c); ok {
		dr, err := v.draft(wire.KindEpisode, e)
		if err != nil {
			return nil, err
		}
		drafts = append(drafts, dr)
	}
	return drafts, nil
}

func (v *visit) therapy(c care) ([]ledger.Draft, error) {
	if err := v.may(access.AddTherapy); err != nil {
		return nil, err
	}
	on, err := v.dateField("on", "Date")
	if err != nil {
		return nil, err
	}
	if on.IsZero() || on > v.today || v.today.Sub(on) > 730 {
		return nil, refuse(http.StatusUnprocessableEntity, "Therapy that took place, or did not, lies in the past two years. Please check the date.")
	}
	switch v.form("outcome") {
	case "attended", "missed", "cancelled":
	default:
		return nil, refuse(http.StatusUnprocessableEntity, "Please choose whether therapy took place.")
	}
	dr, err := v.draft(wire.KindTherapy, rom.Therapy{Episode: c.Episode.ID, On: on, Outcome: v.form("outcome"), By: v.staff.ID})
	return []ledger.Draft{dr}, err
}

func (v *visit) visitNote(c care) ([]ledger.Draft, error) {
	if err := v.may(access.AddTherapy); err != nil {
		return nil, err
	}
	on, err := v.dateField("on", "Date")
	if err != nil {
		return nil, err
	}
	next, err := v.dateField("next", "Next visit")
	if err != nil {
		return nil, err
	}
	switch {
	case on.IsZero() || on > v.today || v.today.Sub(on) > 730:
		return nil, refuse(http.StatusUnprocessableEntity, "A visit that took place lies in the past two years. Please check the date.")
	case !next.IsZero() && (next <= on || next.Sub(v.today) > 730):
		return nil, refuse(http.StatusUnprocessableEntity, "The next visit lies after this one and within two years. Please check the date.")
	case len([]rune(v.text("text"))) > 4000:
		return nil, refuse(http.StatusUnprocessableEntity, "The note is too long. Please say it in 4000 letters.")
	}
	dr, err := v.draft(wire.KindVisit, rom.Visit{Episode: c.Episode.ID, On: on, Next: next, Text: v.text("text"), By: v.staff.ID})
	return []ledger.Draft{dr}, err
}

func (v *visit) note(c care) ([]ledger.Draft, error) {
	if err := v.may(access.AddNote); err != nil {
		return nil, err
	}
	n := rom.Note{Episode: c.Episode.ID, Text: v.text("text"), By: v.staff.ID, Signed: v.signature()}
	if a, num := v.form("author"), v.form("n"); a != "" {
		k, err := strconv.ParseInt(num, 10, 64)
		if err != nil {
			return nil, refuse(http.StatusUnprocessableEntity, "The question that this answers is not known.")
		}
		n.Answers = rom.Ref{Author: rom.Author(a), N: k}
	}
	switch {
	case n.Text == "":
		return nil, refuse(http.StatusUnprocessableEntity, "Please write the message.")
	case len([]rune(n.Text)) > 1000:
		return nil, refuse(http.StatusUnprocessableEntity, "The message is too long for the phone. Please say it in 1000 letters.")
	case c.Episode.State.Ended():
		return nil, refuse(http.StatusUnprocessableEntity, "The episode has ended and the phone says that nobody reads it. Please call the patient.")
	}
	dr, err := v.draft(wire.KindNote, n)
	return []ledger.Draft{dr}, err
}

// read marks the patient's open questions and signs as read by this person.
func (v *visit) read(f file, c care) ([]ledger.Draft, error) {
	if err := v.may(access.TakeFinding); err != nil {
		return nil, err
	}
	var refs []rom.Ref
	for _, e := range f.History.Questions {
		if e.Body.Episode == c.Episode.ID || e.Body.Episode == "" {
			refs = append(refs, e.Ref)
		}
	}
	for _, e := range f.History.Signs {
		if e.Body.Episode == c.Episode.ID || e.Body.Episode == "" {
			refs = append(refs, e.Ref)
		}
	}
	return v.seenDrafts(f, refs)
}
