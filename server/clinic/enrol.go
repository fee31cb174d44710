package clinic

import (
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"unsling/engine/protocol"
	"unsling/engine/rom"
	"unsling/server/access"
	"unsling/server/clinic/planning"
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
	Again                                 string // for whom the duplicate warning was shown
}

type enrolPage struct {
	Form       enrolForm
	Procedures []procedureChoice
	carers
	Days    []time.Weekday
	Langs   [][2]string
	Problem string
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
	form := enrolForm{Lang: string(langsOffered(v.clinic)[0]), Zone: v.clinic.Zone, Therapy: therapyDefault(v.clinic)}
	var err error
	if form.Surgeon, form.Therapist, err = v.likelyCarers(); err != nil {
		return err
	}
	return v.enrolShow(http.StatusOK, form, "")
}

func (v *visit) enrolShow(status int, form enrolForm, problem string) error {
	adopted, err := v.adopted()
	if err != nil {
		return err
	}
	p := enrolPage{Form: form, Days: weekOrder, Problem: problem, Langs: langChoices(v.clinic)}
	for _, id := range rom.Procedures {
		_, ok := adopted[id]
		p.Procedures = append(p.Procedures, procedureChoice{id, name(procedureNames, id), ok})
	}
	if p.carers, err = v.carers(); err != nil {
		return err
	}
	return v.showWith(status, "enrol", frame{Title: "Enrol a patient", Here: "enrol", Error: problem, Page: p})
}

// enrol makes the patient, the planned episode, the plan from the adopted
// protocols, the care team and the first invitation, and ends on the sheet.
func (d *Desk) enrol(v *visit) error {
	if err := v.may(access.EnrolPatient); err != nil {
		return err
	}
	form := enrolForm{
		Name: v.form("name"), Born: v.form("born"), Number: v.form("number"), Phone: v.form("phone"),
		Lang: v.form("lang"), Zone: v.form("zone"), Side: v.form("side"), Surgery: v.form("surgery"), Main: v.form("main"),
		Also: v.r.PostForm["also"], Therapy: v.r.PostForm["therapy"],
		Surgeon: v.form("surgeon"), Therapist: v.form("therapist"), Again: v.form("again"),
	}
	problem, err := v.enrolNow(form)
	if err != nil {
		var s *sorry
		if !errors.As(err, &s) {
			return err
		}
		problem = s.text
	}
	form.Again = ""
	if problem == duplicate {
		form.Again = form.who()
	}
	if problem != "" {
		return v.enrolShow(http.StatusUnprocessableEntity, form, problem)
	}
	return nil
}

// who is what the duplicate warning is about.
func (f enrolForm) who() string { return oneLine(f.Name + " " + f.Number) }

const duplicate = "Somebody of this name or number is already in your care. If this is another person, press Enrol again."

// enrolNow returns a sentence when the form cannot be taken.
func (v *visit) enrolNow(form enrolForm) (problem string, err error) {
	switch {
	case v.clinic.Phone == "":
		return "The clinic's number must be set under Clinic first: the phone shows it on every screen.", nil
	case form.Name == "":
		return "Please write the patient's name.", nil
	case len([]rune(form.Name)) > 200:
		return "The name is too long.", nil
	case !rom.Side(form.Side).Valid():
		return "Please choose the side of the operation.", nil
	case !rom.Procedure(form.Main).Valid():
		return "Please choose the main procedure.", nil
	case len([]rune(form.Number)) > 60 || len([]rune(form.Phone)) > 40:
		return "The clinic's number or the telephone number is too long.", nil
	case form.Lang != "en" && form.Lang != "es":
		return "Please choose the language of the phone.", nil
	}
	team, problem, err := v.enrolTeam(form)
	if problem != "" || err != nil {
		return problem, err
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
	if _, err := time.LoadLocation(form.Zone); err != nil || form.Zone == "Local" {
		return "The time zone of the patient's home is not known.", nil
	}
	if form.Again != form.who() {
		panel, err := v.desk.Store.Panel(v.staff.ID)
		if err != nil {
			return "", err
		}
		for _, p := range panel {
			if strings.EqualFold(p.Patient.Name, form.Name) || form.Number != "" && p.Patient.Number == form.Number {
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
	if err := v.desk.Store.CreatePatient(patient, team, drafts, v.trail()); err != nil {
		return "", err
	}
	v.patient = patient
	return "", v.toSheet(ledger.AtDesk, "enrolled")
}

// enrolTeam is who will look after the patient: whoever enrols, and a surgeon.
func (v *visit) enrolTeam(form enrolForm) (team []rom.StaffID, problem string, err error) {
	team = []rom.StaffID{v.staff.ID}
	surgeon := v.staff.Role == ledger.Surgeon
	for _, pick := range []struct {
		id   string
		role ledger.Role
	}{{form.Surgeon, ledger.Surgeon}, {form.Therapist, ledger.Therapist}} {
		if pick.id == "" {
			continue
		}
		s, err := v.desk.Store.Staff(rom.StaffID(pick.id))
		if errors.Is(err, ledger.ErrUnknown) || err == nil && (s.Disabled || s.Role != pick.role) {
			return nil, "Please choose the " + string(pick.role) + " from the list.", nil
		} else if err != nil {
			return nil, "", err
		}
		surgeon = surgeon || pick.role == ledger.Surgeon
		if !slices.Contains(team, s.ID) {
			team = append(team, s.ID)
		}
	}
	// What the owner leaves goes to the deputy, who has to see it.
	if id := v.clinic.Deputy; id != "" && !slices.Contains(team, id) {
		if s, err := v.desk.Store.Staff(id); err == nil && !s.Disabled && s.Role != ledger.Administrator {
			team = append(team, id)
		}
	}
	if !surgeon {
		return nil, "Please choose the surgeon: only a surgeon can confirm the operation and clear phases.", nil
	}
	return team, "", nil
}

// firstPlan makes a plan from the adopted protocols of an episode.
func (v *visit) firstPlan(ep rom.Episode, c protocol.Choices) (rom.Plan, error) {
	adopted, err := v.adopted()
	if err != nil {
		return rom.Plan{}, err
	}
	c.Contact, c.By, c.On = v.contact(rom.Contact{}), v.staff.ID, v.today
	plan, err := planning.First(adopted, ep, c, holidays(v.clinic, v.today))
	return plan, notPlanned(err)
}

// notPlanned words why no plan can be made.
func notPlanned(err error) error {
	var missing *planning.NotAdoptedError
	var none *planning.NoPlanError
	switch {
	case errors.As(err, &missing):
		return refuse(http.StatusUnprocessableEntity,
			"No surgeon of this clinic has adopted a protocol for "+name(procedureNames, missing.Procedure)+". Review and adopt it under Protocols first.")
	case errors.As(err, &none):
		return refuse(http.StatusUnprocessableEntity, "No plan can be made from the adopted protocols: "+none.Error()+".")
	}
	return err
}

// contact is what the phone shows as the clinic's numbers: those of today, or
// what stood before where the clinic has set none.
func (v *visit) contact(before rom.Contact) rom.Contact {
	if v.clinic.Phone == "" {
		return before
	}
	emergency := v.clinic.Settings["emergency"]
	if emergency == "" {
		emergency = "112"
	}
	return rom.Contact{
		Clinic: v.clinic.Name, Phone: v.clinic.Phone, AfterHours: v.clinic.AfterHours,
		Emergency: emergency, Nearby: oneLine(v.clinic.Settings[settingUrgent]),
	}
}
