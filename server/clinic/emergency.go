package clinic

import (
	"errors"
	"fmt"
	"net/http"
	"strings"
	"time"

	"unsling/engine/rom"
	"unsling/server/access"
	"unsling/server/ledger"
)

// How long a care team is told of an emergency access.
const (
	alarmOnPatient = 30 * 24 * time.Hour
	alarmOnList    = 7 * 24 * time.Hour
)

type emergencyPage struct {
	Open []openGlass
}

type openGlass struct {
	ledger.Glass
	Name string
}

// emergencyPage is the way to a patient of whose care team one is not: with a
// reason, for an hour, and the team is told.
func (d *Desk) emergencyPage(v *visit) error { return v.emergencyShow(http.StatusOK, "") }

func (v *visit) emergencyShow(status int, problem string) error {
	if err := v.may(access.BreakGlass); err != nil {
		return err
	}
	var p emergencyPage
	for _, g := range v.actor.Glass {
		if row, err := v.desk.Store.Patient(g.Patient); err == nil {
			p.Open = append(p.Open, openGlass{g, row.Name})
		}
	}
	return v.showWith(status, "emergency", frame{Title: "Emergency access", Error: problem, Page: p})
}

// emergency opens a patient by the clinic's number, or by full name and date
// of birth, for an hour. A search that finds nobody is audited too: this is no
// way to find out who is a patient here.
func (d *Desk) emergency(v *visit) error {
	if err := v.may(access.BreakGlass); err != nil {
		return err
	}
	if v.form("act") == "end" {
		if err := d.Store.EndGlass(rom.PatientID(v.form("patient")), v.staff.ID, v.trail()); err != nil {
			return v.emergencyShow(http.StatusConflict, "This access has ended already.")
		}
		return v.back("/clinic/emergency", "glass")
	}
	g, why := access.NewGlass(v.actor, "unknown", v.form("reason"))
	switch why {
	case "":
	case access.ReasonNeeded:
		return v.emergencyShow(http.StatusUnprocessableEntity, "Say in a sentence why you need this patient's data now.")
	default:
		return refuse(http.StatusForbidden, "Not possible: "+string(why)+".")
	}
	if len([]rune(g.Reason)) > 300 {
		return v.emergencyShow(http.StatusUnprocessableEntity, "Please give the reason in 300 letters.")
	}
	try, wait := d.secondGate.Try("glass "+string(v.staff.ID), v.r.RemoteAddr, d.Now())
	if wait > 0 {
		return v.emergencyShow(http.StatusTooManyRequests, "Too many searches that found nobody. Please wait "+waiting(wait)+", or ring the care team.")
	}
	p, err := v.identify(v.form("number"), v.form("name"), v.form("born"))
	if err != nil {
		try.Undo()
		return err
	}
	if p == "" {
		if err := d.Store.Note(ledger.Entry{At: v.at.UTC(), Actor: string(v.staff.ID), Session: v.token.Session, Act: string(access.BreakGlass), Outcome: "nobody found", Reason: g.Reason}); err != nil {
			return err
		}
		return v.emergencyShow(http.StatusNotFound, "Nobody is found by this. Give the clinic's number of the patient, or the full name and the date of birth, exactly as they were enrolled.")
	}
	try.Right()
	g.Patient = p
	if team, err := d.Store.Team(p); err != nil {
		return err
	} else if access.Decide(v.actor, access.ViewPatient, access.Resource{Patient: p, Team: team}).Allowed {
		return v.back("/clinic/patients/"+string(p), "inteam")
	}
	if err := d.Store.BreakGlass(g, v.trail()); err != nil {
		return err
	}
	return v.back("/clinic/patients/"+string(p), "broken")
}

// identify finds the one patient who is meant; "" for nobody, or for more
// than one.
func (v *visit) identify(number, name, born string) (rom.PatientID, error) {
	if number == "" && (name == "" || born == "") {
		return "", nil
	}
	rows, err := v.desk.Store.Heads("")
	if err != nil {
		return "", err
	}
	var found rom.PatientID
	for _, r := range rows {
		p := r.Patient
		if number != "" && !strings.EqualFold(p.Number, number) || name != "" && !strings.EqualFold(oneLine(p.Name), name) || born != "" && p.Born != born {
			continue
		}
		if found != "" {
			return "", nil
		}
		found = p.ID
	}
	return found, nil
}

// alarms tell what waits for a second person, and whoever opens the patient,
// and the team on its list, of emergency access: who, when and why.
func (v *visit) alarms(here string) []string {
	if here == "staff" || here == "list" || here == "settings" {
		if rows, err := v.resets(); err == nil && len(rows) > 0 {
			return append(v.glassAlarms(here), fmt.Sprintf("%s asks for a new start of the sign-in of %s. Speak with %s, then confirm it under “Account”.", rows[0].By, rows[0].Staff.Name, rows[0].Staff.Name))
		}
	}
	return v.glassAlarms(here)
}

// alarmUnknown stands where an alarm would, so that none reads as none only when
// it was looked for.
func (v *visit) alarmUnknown(err error) []string {
	v.desk.Log.Error("alarms not read", "error", err.Error())
	return []string{"It could not be read whether somebody used emergency access. Please load this page again."}
}

func (v *visit) glassAlarms(here string) []string {
	var all []ledger.Glass
	var err error
	since := alarmOnPatient
	switch {
	case v.patient.ID != "":
		all, err = v.desk.Store.GlassOn(v.patient.ID)
	case here == "list":
		since = alarmOnList
		all, err = v.desk.Store.Breaks()
	}
	if err != nil {
		return v.alarmUnknown(err)
	}
	if len(all) == 0 {
		return nil
	}
	names, err := v.staffNames()
	if err != nil {
		return v.alarmUnknown(err)
	}
	var out []string
	for _, g := range all {
		if v.at.Sub(g.From) > since {
			continue
		}
		from, until := g.From.In(v.zone).Format("Mon 2 Jan 15:04"), g.Until.In(v.zone).Format("15:04")
		if g.Staff == v.staff.ID {
			if v.patient.ID != "" && v.at.Before(g.Until) {
				out = append(out, fmt.Sprintf("You see this patient by emergency access, until %s. The care team is told, with your reason: “%s”", until, g.Reason))
			}
			continue
		}
		whose := "this patient's record"
		if v.patient.ID == "" {
			team, err := v.desk.Store.Team(g.Patient)
			if err != nil && !errors.Is(err, ledger.ErrUnknown) {
				return append(out, v.alarmUnknown(err)...)
			}
			if err != nil || !access.Decide(v.actor, access.ViewPatient, access.Resource{Patient: g.Patient, Team: team}).Allowed {
				continue
			}
			row, err := v.desk.Store.Patient(g.Patient)
			if errors.Is(err, ledger.ErrUnknown) || errors.Is(err, ledger.ErrErased) {
				continue
			} else if err != nil {
				return append(out, v.alarmUnknown(err)...)
			}
			whose = "the record of " + row.Name
		}
		out = append(out, fmt.Sprintf("%s opened %s by emergency access on %s, until %s. Reason given: “%s”", names[g.Staff], whose, from, until, g.Reason))
	}
	return out
}
