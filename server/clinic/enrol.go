package clinic

import (
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"time"

	"unsling/engine/protocol"
	"unsling/engine/rom"
	"unsling/server/access"
	"unsling/server/ledger"
	"unsling/sync/wire"
)

// enrolForm is what was typed, so that a form that cannot be taken comes back
// as it was.
type enrolForm struct {
	Name, Born, Number, Phone, Lang, Zone string
	Side, Surgery                         string
	Main                                  string
	Also                                  []string
	Therapy                               []string
	Surgeon, Therapist                    string
	Again                                 bool // the duplicate warning was shown
}

type enrolPage struct {
	Form       enrolForm
	Procedures []procedureChoice
	Surgeons   []ledger.Staff
	Therapists []ledger.Staff
	Days       []time.Weekday
	Langs      [][2]string
	Problem    string
}

// procedureChoice is a procedure with whether its protocol was adopted.
type procedureChoice struct {
	ID      rom.Procedure
	Name    string
	Adopted bool
}

var weekOrder = []time.Weekday{time.Monday, time.Tuesday, time.Wednesday, time.Thursday, time.Friday, time.Saturday, time.Sunday}

func (d *Desk) enrolPage(v *visit) error {
	if err := v.may(access.EnrolPatient); err != nil {
		return err
	}
	// Three supervised days a week is common practice, no source.
	form := enrolForm{Lang: "en", Zone: v.clinic.Zone, Therapy: []string{"1", "3", "5"}}
	return v.enrolShow(http.StatusOK, form, "")
}

func (v *visit) enrolShow(status int, form enrolForm, problem string) error {
	adopted, err := v.adopted()
	if err != nil {
		return err
	}
	p := enrolPage{Form: form, Days: weekOrder, Problem: problem, Langs: [][2]string{{"en", "English"}, {"es", "Español"}}}
	for _, id := range rom.Procedures {
		_, ok := adopted[id]
		p.Procedures = append(p.Procedures, procedureChoice{id, name(procedureNames, id), ok})
	}
	all, err := v.desk.Store.AllStaff()
	if err != nil {
		return err
	}
	for _, s := range all {
		switch {
		case s.Disabled:
		case s.Role == ledger.Surgeon:
			p.Surgeons = append(p.Surgeons, s)
		case s.Role == ledger.Therapist:
			p.Therapists = append(p.Therapists, s)
		}
	}
	return v.showWith(status, "enrol", frame{Title: "Enrol a patient", Here: "enrol", Error: problem, Page: p})
}

// Has serves the check boxes of the form.
func (f enrolForm) Has(list []string, x string) bool { return slices.Contains(list, x) }

// enrol makes the patient, the planned episode, the plan from the adopted
// protocols, the care team and the first invitation, and ends on the sheet.
func (d *Desk) enrol(v *visit) error {
	if err := v.may(access.EnrolPatient); err != nil {
		return err
	}
	if err := v.r.ParseForm(); err != nil {
		return err
	}
	form := enrolForm{
		Name: v.form("name"), Born: v.form("born"), Number: v.form("number"), Phone: v.form("phone"),
		Lang: v.form("lang"), Zone: v.form("zone"), Side: v.form("side"), Surgery: v.form("surgery"), Main: v.form("main"),
		Also: v.r.PostForm["also"], Therapy: v.r.PostForm["therapy"],
		Surgeon: v.form("surgeon"), Therapist: v.form("therapist"), Again: v.form("again") == "yes",
	}
	problem, err := v.enrolNow(form)
	if err != nil {
		var s *sorry
		if !errors.As(err, &s) {
			return err
		}
		problem = s.text
	}
	if problem == duplicate {
		form.Again = true
	}
	if problem != "" {
		return v.enrolShow(http.StatusUnprocessableEntity, form, problem)
	}
	return nil
}

const duplicate = "Somebody of this name or number is already in your care. If this is another person, press Enrol again."

// enrolNow returns a sentence when the form cannot be taken.
func (v *visit) enrolNow(form enrolForm) (problem string, err error) {
	switch {
	case form.Name == "":
		return "Please write the patient's name.", nil
	case len([]rune(form.Name)) > 200:
		return "The name is too long.", nil
	case !rom.Side(form.Side).Valid():
		return "Please choose the side of the operation.", nil
	case !rom.Procedure(form.Main).Valid():
		return "Please choose the main procedure.", nil
	}
	surgery, err := v.dateField("surgery", "Date of surgery")
	if err != nil {
		return "", err
	}
	if !surgery.IsZero() {
		// A future date is a planned episode. Two years either way is a slip.
		if days := surgery.Sub(v.today); days > 730 || days < -730 {
			return fmt.Sprintf("The date of surgery, %s, is more than two years away from today. Please check the year.", surgery), nil
		}
	}
	born, err := v.dateField("born", "Date of birth")
	if err != nil {
		return "", err
	}
	if !born.IsZero() && (born > v.today || v.today.Sub(born) > 120*366) {
		return "The date of birth cannot be right. Please check the year.", nil
	}
	if form.Zone == "" {
		form.Zone = v.clinic.Zone
	}
	if _, err := time.LoadLocation(form.Zone); err != nil {
		return "The time zone of the patient's home is not known.", nil
	}
	if !form.Again {
		panel, err := v.desk.Store.Panel(v.staff.ID)
		if err != nil {
			return "", err
		}
		for _, p := range panel {
			if p.Patient.Name == form.Name || form.Number != "" && p.Patient.Number == form.Number {
				return duplicate, nil
			}
		}
	}
	patient := ledger.Patient{
		ID: rom.PatientID(v.desk.id()), Name: form.Name, Born: born.String(), Number: form.Number, Phone: form.Phone,
		Zone: form.Zone, Lang: form.Lang, Created: v.at.UTC(),
	}
	ep := rom.Episode{
		ID: rom.EpisodeID(v.desk.id()), Version: 1, State: rom.Planned, Side: rom.Side(form.Side),
		Procedures: []rom.Procedure{rom.Procedure(form.Main)}, Surgery: surgery, By: v.staff.ID,
	}
	if !born.IsZero() {
		ep.BornYear = born.Time().Year()
	}
	for _, a := range form.Also {
		if p := rom.Procedure(a); p.Valid() && !ep.Has(p) {
			ep.Procedures = append(ep.Procedures, p)
		}
	}
	var days []time.Weekday
	for _, s := range form.Therapy {
		if n, err := strconv.Atoi(s); err == nil && n >= 0 && n < 7 {
			days = append(days, time.Weekday(n))
		}
	}
	first, err := v.draft(wire.KindEpisode, ep)
	if err != nil {
		return "", err
	}
	drafts := []ledger.Draft{first}
	plan, err := v.firstPlan(ep, protocol.Choices{TherapyDays: days, Reason: "Enrolled", Rev: 1})
	if err != nil {
		return "", err
	}
	dr, err := v.draft(wire.KindPlan, plan)
	if err != nil {
		return "", err
	}
	drafts = append(drafts, dr)
	team := []rom.StaffID{v.staff.ID}
	for _, id := range []rom.StaffID{rom.StaffID(form.Surgeon), rom.StaffID(form.Therapist)} {
		if _, err := v.desk.Store.Staff(id); id != "" && err == nil && !slices.Contains(team, id) {
			team = append(team, id)
		}
	}
	if err := v.desk.Store.CreatePatient(patient, team, drafts, v.trail()); err != nil {
		return "", err
	}
	v.patient = patient
	return "", v.toSheet(ledger.AtDesk, "enrolled")
}

// firstPlan makes a plan from the adopted protocols of an episode. Questions
// that only the surgeon can answer count as "yes", the stricter answer, until
// the operation is confirmed.
func (v *visit) firstPlan(ep rom.Episode, c protocol.Choices) (rom.Plan, error) {
	adopted, err := v.adopted()
	if err != nil {
		return rom.Plan{}, err
	}
	var use []protocol.Protocol
	if c.Answers == nil {
		c.Answers = map[string]string{}
	}
	for _, p := range ep.Procedures {
		pr, ok := adopted[p]
		if !ok {
			return rom.Plan{}, refuse(http.StatusUnprocessableEntity,
				"No surgeon of this clinic has adopted a protocol for "+name(procedureNames, p)+". Review and adopt it under Protocols first.")
		}
		for _, q := range pr.Questions {
			if c.Answers[q.Key] == "" {
				c.Answers[q.Key] = "yes"
			}
		}
		use = append(use, pr)
	}
	c.Contact = v.contact()
	c.By, c.On = v.staff.ID, v.today
	if c.TherapyDayLess == 0 && len(c.TherapyDays) > 0 {
		c.TherapyDayLess = 1
	}
	plan, err := protocol.MakePlan(use, ep, c)
	var bad *rom.InvalidError
	switch {
	case errors.As(err, &bad):
		return rom.Plan{}, refuse(http.StatusUnprocessableEntity, "No plan can be made: "+bad.Error()+".")
	case err != nil:
		return rom.Plan{}, refuse(http.StatusUnprocessableEntity, "No plan can be made: "+err.Error()+".")
	}
	return plan, nil
}

// contact is what the phone shows as the clinic's numbers.
func (v *visit) contact() rom.Contact {
	emergency := v.clinic.Settings["emergency"]
	if emergency == "" {
		emergency = "112"
	}
	return rom.Contact{Clinic: v.clinic.Name, Phone: v.clinic.Phone, AfterHours: v.clinic.AfterHours, Emergency: emergency}
}
