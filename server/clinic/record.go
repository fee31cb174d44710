package clinic

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strconv"

	"unsling/engine/rom"
	"unsling/server/access"
	"unsling/server/ledger"
	"unsling/sync/wire"
)

type recordPage struct {
	Care    care
	Base    string
	E       entry
	Hash    string
	JSON    string
	About   []entry // corrections that name it, the oldest first
	Fix     string  // the fields in which it can be corrected: "reading", "therapy", "visit" or ""
	Void    bool    // it can be taken back
	Why     string  // why it cannot
	Reading rom.Reading
	Therapy rom.Therapy
	Visit   rom.Visit
	Levels  []rom.Level
	Feels   []rom.EndFeel
}

// findRecord is the record that the address names.
func (v *visit) findRecord() (file, care, recordPage, error) {
	f, err := v.file()
	if err != nil {
		return file{}, care{}, recordPage{}, err
	}
	names, err := v.staffNames()
	if err != nil {
		return file{}, care{}, recordPage{}, err
	}
	all, err := v.log(f, names)
	if err != nil {
		return file{}, care{}, recordPage{}, err
	}
	n, _ := strconv.ParseInt(v.r.FormValue("n"), 10, 64)
	ref := rom.Ref{Author: rom.Author(v.r.FormValue("author")), N: n}
	i := slices.IndexFunc(all, func(e entry) bool { return e.Ref == ref })
	if i < 0 {
		return file{}, care{}, recordPage{}, refuse(http.StatusNotFound, "There is no such record of this patient.")
	}
	e := all[i]
	c, _ := f.Current(episodeOfBody(e.Body))
	p := recordPage{Care: c, Base: "/clinic/patients/" + string(v.patient.ID), E: e, Levels: levels(), Feels: rom.EndFeels}
	if e.Raw != nil {
		p.Hash = string(wire.HashOf(e.Raw))
		var b bytes.Buffer
		if json.Indent(&b, e.Raw, "", "  ") == nil {
			p.JSON = b.String()
		}
	}
	for _, x := range all {
		switch b := x.Body.(type) {
		case rom.Amend:
			if b.Target == ref {
				p.About = append(p.About, x)
			}
		case rom.Void:
			if b.Target == ref {
				p.About = append(p.About, x)
			}
		}
	}
	v.fixable(&p)
	return f, c, p, nil
}

// fixable says what may be done with a record: readings, therapy, visits,
// paper logs and notes are corrected or taken back by a clinician. What is a
// chain of its own (episodes, plans, clearances) is changed by its next link,
// and a report that stopped the programme is answered, never removed.
func (v *visit) fixable(p *recordPage) {
	e := p.E
	switch {
	case e.Voided:
		p.Why = "It was taken back. That holds for ever."
		return
	case e.Body == nil:
		p.Why = "It is not understood here, so it counts for nothing."
		return
	}
	clinic := e.Ref.Author.FromClinic()
	switch b := e.Body.(type) {
	case rom.Reading:
		p.Void, p.Reading = true, b
		if clinic {
			p.Fix = "reading"
		}
	case rom.Therapy:
		p.Void, p.Fix, p.Therapy = true, "therapy", b
	case rom.Visit:
		p.Void, p.Fix, p.Visit = true, "visit", b
	case rom.Session:
		if p.Void = b.Stop != rom.StopWrong; !p.Void {
			p.Why = "The patient stopped it because something was wrong. A surgeon answers that with a revision of the plan."
		}
	case rom.Pain, rom.SlingReport, rom.Note, rom.Task:
		p.Void = true
	case rom.Sign, rom.Question:
		p.Why = "What the patient reported is answered, not removed."
	case rom.Episode, rom.Plan, rom.Clearance:
		p.Why = "It is changed by the next one of its kind."
	default:
		p.Why = "It is a trace of what happened and stays."
	}
	if v.may(access.AmendRecord) != nil {
		p.Fix, p.Void, p.Why = "", false, "Only a clinician of the care team corrects records."
	}
}

func episodeOfBody(body any) rom.EpisodeID {
	switch b := body.(type) {
	case rom.Reading:
		return b.Episode
	case rom.Therapy:
		return b.Episode
	case rom.Visit:
		return b.Episode
	case rom.Session:
		return b.Episode
	case rom.Plan:
		return b.Episode
	case rom.Task:
		return b.Episode
	case rom.Note:
		return b.Episode
	case rom.Episode:
		return b.ID
	}
	return ""
}

// recordPage shows one record with its corrections.
func (d *Desk) recordPage(v *visit) error {
	_, _, p, err := v.findRecord()
	if err != nil {
		return err
	}
	return v.recordShow(http.StatusOK, p, "")
}

func (v *visit) recordShow(status int, p recordPage, problem string) error {
	return v.showWith(status, "record", frame{Title: "Record of " + v.patient.Name, Error: problem, Page: p})
}

// recordAct corrects a record or takes it back.
func (d *Desk) recordAct(v *visit) error {
	if err := v.may(access.AmendRecord); err != nil {
		return err
	}
	_, _, p, err := v.findRecord()
	if err != nil {
		return err
	}
	dr, err := v.correction(p)
	if err == nil {
		err = v.write(nil, dr)
	}
	var s *sorry
	if errors.As(err, &s) && s.status == http.StatusUnprocessableEntity {
		return v.recordShow(s.status, p, s.text)
	} else if err != nil {
		return err
	}
	return v.back(p.Base+"/"+p.E.Address(), "corrected")
}

func (v *visit) correction(p recordPage) (ledger.Draft, error) {
	reason := v.form("reason")
	switch {
	case reason == "":
		return ledger.Draft{}, refuse(http.StatusUnprocessableEntity, "Please say why. The reason stays with the record.")
	case len([]rune(reason)) > 400:
		return ledger.Draft{}, refuse(http.StatusUnprocessableEntity, "The reason is too long. Please say it in 400 letters.")
	}
	reason += " (" + v.staff.Name + ")"
	if v.form("act") == "void" {
		if !p.Void {
			return ledger.Draft{}, refuse(http.StatusConflict, "This record cannot be taken back. "+p.Why)
		}
		return v.draft(wire.KindVoid, rom.Void{Target: p.E.Ref, Reason: reason})
	}
	var body any
	var err error
	kind := p.E.Kind
	switch p.Fix {
	case "reading":
		body, err = v.fixedReading(p.Reading)
	case "therapy":
		t := p.Therapy
		t.Outcome, t.By = v.form("outcome"), v.staff.ID
		t.On, err = v.pastDay("on")
		body = t
	case "visit":
		t := p.Visit
		t.Text, t.By = v.text("text"), v.staff.ID
		if t.On, err = v.pastDay("on"); err == nil {
			t.Next, err = v.dateField("next", "Next visit")
		}
		body = t
	default:
		return ledger.Draft{}, refuse(http.StatusConflict, "This record cannot be corrected. "+p.Why)
	}
	if err != nil {
		return ledger.Draft{}, err
	}
	if now, _ := json.Marshal(body); string(now) == string(mustJSON(p.E.Body)) {
		return ledger.Draft{}, refuse(http.StatusUnprocessableEntity, "Nothing is different from how it stands.")
	}
	raw, version, err := wire.EncodeBody(kind, body)
	var bad *rom.InvalidError
	if errors.As(err, &bad) {
		return ledger.Draft{}, plainly(bad, rom.Plan{})
	} else if err != nil {
		return ledger.Draft{}, err
	}
	return v.draft(wire.KindAmend, rom.Amend{Target: p.E.Ref, V: version, Body: raw, Reason: reason})
}

func mustJSON(body any) []byte {
	b, err := json.Marshal(body)
	if err != nil {
		panic(err) // it came out of JSON
	}
	return b
}

// pastDay reads a date of the past two years.
func (v *visit) pastDay(field string) (rom.Date, error) {
	on, err := v.dateField(field, "Date")
	if err == nil && (on.IsZero() || on > v.today || v.today.Sub(on) > 730) {
		err = refuse(http.StatusUnprocessableEntity, "The date lies in the past two years. Please check it.")
	}
	return on, err
}

// fixedReading is a reading as it should have been entered. Motion, arm and
// method stay: another one is another reading.
func (v *visit) fixedReading(r rom.Reading) (rom.Reading, error) {
	if r.Motion.ByLevel() {
		n, err := strconv.Atoi(v.form("value"))
		if err != nil || n < int(rom.LevelT1) || n > int(rom.LevelThigh) {
			return r, refuse(http.StatusUnprocessableEntity, "Please choose the level from the list.")
		}
		r.Level = rom.Level(n)
	} else {
		a, ok := degreesOf(v.form("value"))
		if !ok || a < rom.Deg(-60) || a > r.Motion.AnatomicalMax() {
			return r, refuse(http.StatusUnprocessableEntity, fmt.Sprintf("%q is not an angle from -60 to %s degrees.", v.form("value"), r.Motion.AnatomicalMax()))
		}
		r.Angle, r.Trials = a, []rom.Trial{{Angle: a}}
	}
	if v.form("on") != "" {
		on, err := v.pastDay("on")
		if err != nil {
			return r, err
		}
		r.On = on
	}
	r.EndFeel = rom.EndFeel(v.form("feel"))
	pain, err := v.painField("pain")
	r.Pain = pain
	return r, err
}

// painField reads a pain of 0 to 10, or none.
func (v *visit) painField(field string) (*int, error) {
	s := v.form(field)
	if s == "" {
		return nil, nil
	}
	n, err := strconv.Atoi(s)
	if err != nil || n < 0 || n > 10 {
		return nil, refuse(http.StatusUnprocessableEntity, fmt.Sprintf("Pain: %q is not a whole number from 0 to 10.", s))
	}
	return &n, nil
}
