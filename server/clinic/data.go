package clinic

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"

	"unsling/engine/rom"
	"unsling/server/access"
	"unsling/server/formats/fhir"
	"unsling/server/ledger"
)

type dataPage struct {
	Patients   int // in the person's care, whose data may be handed out
	Restricted int
	Token      string // shown once
	Minutes    int
	FHIR       string // address of the FHIR door
	Example    rom.PatientID
}

// dataPage is where data goes out and comes in.
func (d *Desk) dataPage(v *visit) error {
	if err := v.may(access.IssueToken); err != nil {
		return err
	}
	return v.dataShow("")
}

func (v *visit) dataShow(token string) error {
	p := dataPage{Token: token, Minutes: int(access.FHIRTokenLife.Minutes()), FHIR: v.desk.PublicURL + "/fhir"}
	panel, err := v.desk.Store.Heads(v.staff.ID)
	if err != nil {
		return err
	}
	for _, row := range panel {
		if row.Patient.Restricted != nil {
			p.Restricted++
		} else {
			p.Patients++
		}
	}
	return v.showWith(http.StatusOK, "data", frame{Title: "Data in and out", Here: "outcomes", Page: p})
}

// dataAct makes a file of everybody, or a token for another program.
func (d *Desk) dataAct(v *visit) error {
	if err := v.may(access.IssueToken); err != nil {
		return err
	}
	switch what := v.r.PathValue("what"); what {
	case "token":
		token, err := d.Tokens.IssueFHIR(v.token, d.id(), v.at)
		if err != nil {
			return err
		}
		if err := v.audited(access.IssueToken, "", "good for "+access.FHIRTokenLife.String()); err != nil {
			return err
		}
		return v.dataShow(token)
	case "csv", "fhir":
		if err := v.may(access.ExportAll); err != nil {
			return err
		}
		return v.exportAll(what)
	}
	return errNotFound
}

// audited writes an act that changes nothing else into the audit log.
func (v *visit) audited(act access.Act, patient rom.PatientID, what string) error {
	t := v.trail()
	return v.desk.Store.Note(ledger.Entry{At: t.At, Actor: t.Actor, Session: t.Session, Act: string(act), Patient: string(patient), Resource: what, Reason: t.Reason})
}

// exportAll gives out the records of everybody in the person's care as one
// file. Every patient is decided on by itself; whose data may not be handed
// out is left out and counted. One patient's record is held at a time.
func (v *visit) exportAll(form string) error {
	panel, err := v.desk.Store.Heads(v.staff.ID)
	if err != nil {
		return err
	}
	staff, err := v.staffNames()
	if err != nil {
		return err
	}
	t, err := newTablesFile()
	if err != nil {
		return err
	}
	name := "records-" + v.at.Format("20060102")
	begun, given := false, 0
	begin := func() {
		if !begun {
			begun = true
			v.w.Header().Set("Content-Type", "application/fhir+ndjson")
			v.w.Header().Set("Content-Disposition", `attachment; filename="`+exportName(name)+`.ndjson"`)
		}
	}
	for _, row := range panel {
		f, err := v.mayGiveOut(row, form)
		if errors.Is(err, errLeftOut) {
			continue
		}
		switch {
		case err != nil:
		case form == "csv":
			err = t.patient(f, v.today)
		default:
			begin()
			err = v.ndjson(f, staff)
		}
		if err != nil {
			err = errors.Join(err, v.brokenOff(form, given, begun))
		}
		if err != nil && begun {
			v.desk.Log.Error("export broke off", "done", given, "error", err.Error())
			panic(http.ErrAbortHandler) // the browser must not take it for the whole file
		} else if err != nil {
			return fmt.Errorf("export of all: %w", err)
		}
		given++
	}
	var tables []byte
	if form == "csv" {
		if tables, err = t.bytes(); err != nil {
			return errors.Join(err, v.brokenOff(form, given, false))
		}
	}
	if err := v.audited(access.ExportAll, "", fmt.Sprintf("%s of %d patients, %d left out", form, given, len(panel)-given)); err != nil && !begun {
		return err
	}
	if form == "csv" {
		v.send(name+"-csv.zip", "application/zip", tables)
		return nil
	}
	begin()
	if err := v.stream(lastLine(given, len(panel)-given)); err != nil {
		return errors.Join(err, v.brokenOff(form, given, true))
	}
	return nil
}

// brokenOff writes into the audit log that a file of everybody did not come to
// its end, and whether any of it left.
func (v *visit) brokenOff(form string, given int, begun bool) error {
	outcome := "broken off, nothing was handed out"
	if begun {
		outcome = "broken off, the file is not whole"
	}
	t := v.trail()
	return v.desk.Store.Note(ledger.Entry{At: t.At, Actor: t.Actor, Session: t.Session, Act: string(access.ExportAll),
		Resource: fmt.Sprintf("%s, after %d patients", form, given), Outcome: outcome, Reason: t.Reason})
}

// errLeftOut says that somebody's record is not given out with the others.
var errLeftOut = errors.New("left out")

// mayGiveOut decides on one patient, writes that the record is handed out into
// the audit log, and reads it.
func (v *visit) mayGiveOut(row ledger.PanelRow, form string) (file, error) {
	id := row.Patient.ID
	team, err := v.desk.Store.Team(id)
	if err != nil {
		return file{}, err
	}
	dec := access.Decide(v.actor, access.ExportPatient, access.Resource{Patient: id, Team: team, RestrictedBy: row.Patient.RestrictedBy()})
	if !dec.Allowed || row.Patient.Restricted != nil {
		return file{}, errLeftOut
	}
	f, err := v.asOf.Row(row)
	if errors.Is(err, ledger.ErrErased) {
		return file{}, errLeftOut // since the list was read
	} else if err != nil {
		return file{}, err
	}
	return f, v.audited(access.ExportPatient, id, "with all, "+form)
}

// fhirInput is what the FHIR door and the exports write of one patient.
func (v *visit) fhirInput(f file, staff map[rom.StaffID]string, named bool) fhir.Input {
	in := fhir.Input{Base: v.desk.PublicURL + "/fhir", Clinic: v.clinic.Name, Phone: v.clinic.Phone, Patient: f.Patient.ID, History: f.History, Staff: staff, Created: f.Patient.Created.In(v.zone)}
	for _, p := range f.Phones {
		in.Phones = append(in.Phones, fhir.Phone{Author: p.ID, App: p.App, Active: p.State == ledger.Active, Since: p.Enrolled.In(v.zone)})
	}
	if named {
		x := f.Patient
		in.Person = &fhir.Person{Name: x.Name, Number: x.Number, Phone: x.Phone, Born: x.Born, Lang: x.Lang}
	}
	return in
}

// ndjson writes one patient without name, a resource a line.
func (v *visit) ndjson(f file, staff map[rom.StaffID]string) error {
	var text bytes.Buffer
	enc := json.NewEncoder(&text)
	enc.SetEscapeHTML(false)
	for _, r := range fhir.Write(v.fhirInput(f, staff, false)) {
		if err := enc.Encode(r); err != nil {
			return fmt.Errorf("write %s: %w", r.Ref(), err)
		}
	}
	return v.stream(text.Bytes())
}

// lastLine says that a file of everybody is whole, as a resource like the others (FHIR R4, OperationOutcome): without it
// the file was cut, which a reader over a connection without lengths cannot see.
func lastLine(given, left int) []byte {
	return fmt.Appendf(nil, `{"resourceType":"OperationOutcome","issue":[{"severity":"information","code":"informational",`+
		`"diagnostics":"This file is complete: %d patients, %d left out."}]}`+"\n", given, left)
}

// exportAs gives out one patient's record as tables or as a FHIR Bundle.
func (d *Desk) exportAs(v *visit) error {
	if err := v.may(access.ExportPatient); err != nil {
		return err
	}
	f, err := v.file()
	if err != nil {
		return err
	}
	form := v.r.PathValue("what")
	if form != "csv" && form != "fhir" {
		return errNotFound
	}
	if err := v.audited(access.ExportPatient, v.patient.ID, form); err != nil {
		return err
	}
	name := "record-" + string(v.patient.ID) + "-" + v.at.Format("20060102")
	if form == "csv" {
		t, err := newTablesFile()
		if err == nil {
			err = t.patient(f, v.today)
		}
		if err != nil {
			return err
		}
		data, err := t.bytes()
		if err != nil {
			return err
		}
		v.send(name+"-csv.zip", "application/zip", data)
		return nil
	}
	staff, err := v.staffNames()
	if err != nil {
		return err
	}
	in := v.fhirInput(f, staff, true)
	bundle := fhir.NewBundle("collection", in.Base, fhir.Write(in))
	bundle.Timestamp = v.at.Format("2006-01-02T15:04:05.000Z07:00")
	data, err := json.Marshal(bundle)
	if err != nil {
		return errors.Join(errors.New("write the bundle"), err)
	}
	v.send(name+".fhir.json", "application/fhir+json", data)
	return nil
}
