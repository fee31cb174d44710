package clinic

import (
	"bytes"
	"crypto/hmac"
	"crypto/sha256"
	"encoding/base64"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"unsling/engine/protocol"
	"unsling/engine/rom"
	"unsling/server/formats/csv"
	"unsling/server/formats/fhir"
	"unsling/server/ledger"
	"unsling/sync/wire"
)

// importMost is how many patients one file may bring: what can be written
// within one request.
const importMost = 500

// The columns of a table that brings patients.
var (
	importColumns = []string{"name", "born", "number", "phone", "lang", "zone", "side", "surgery", "procedure", "also"}
	importMust    = []string{"name", "side", "procedure"}
)

// importRow is one person of a file with what would become of the person.
type importRow struct {
	Line    int
	Name    string
	Faults  []string // why nothing of the file can be brought in
	Notes   []string // what was left out of the row
	Twin    string   // who this may be already, "" for nobody
	Here    bool     // was brought in from this very file before
	patient ledger.Patient
	episode rom.Episode
}

// OK reports whether the person would be brought in.
func (r importRow) OK() bool { return len(r.Faults) == 0 && r.Twin == "" && !r.Here }

// importText is one person as written in a file.
type importText struct {
	line                                                       int
	name, born, number, phone, lang, zone, side, surgery, proc string
	also, faults, notes                                        []string
}

// importTexts reads a file, a table or a FHIR Bundle. The error is a sentence
// for the person.
func importTexts(file []byte) ([]importText, error) {
	bad := func(why string) error { return refuse(422, "The file was not taken: "+why+" Nothing was changed.") }
	var out []importText
	if start := bytes.TrimSpace(bytes.TrimPrefix(file, []byte("\xef\xbb\xbf"))); len(start) > 0 && (start[0] == '{' || start[0] == '[' || start[0] == '<') {
		list, skipped, err := fhir.ReadPatients(file)
		if err != nil {
			return nil, bad(fhir.Why(err))
		}
		for _, x := range list {
			out = append(out, importText{line: x.Line, name: x.Name, born: x.Born, number: x.Number, phone: x.Phone, lang: x.Lang, side: x.Side, surgery: x.Surgery, proc: x.Procedure, also: x.Also, faults: x.Faults, notes: x.Notes})
		}
		if n := skipped["Observation"] + skipped["CarePlan"]; n > 0 {
			out[0].notes = append(out[0].notes, fmt.Sprintf("%d readings and plans of the file are left out: only people and operations are brought in", n))
		}
	} else {
		rows, err := csv.Read(file, importColumns, importMust)
		if err != nil {
			return nil, bad(csv.Why(err))
		}
		for _, r := range rows {
			c := r.Cells
			x := importText{line: r.Line, name: c["name"], born: c["born"], number: c["number"], phone: c["phone"], lang: c["lang"], zone: c["zone"], side: c["side"], surgery: c["surgery"], proc: c["procedure"]}
			for one := range strings.FieldsFuncSeq(c["also"], func(r rune) bool { return r == ';' || r == ',' || r == '|' }) {
				x.also = append(x.also, one)
			}
			if r.Fault != "" {
				x.faults = append(x.faults, "the row "+r.Fault)
			}
			out = append(out, x)
		}
	}
	if len(out) > importMost {
		return nil, bad(fmt.Sprintf("it has %d people, and %d is the most at once. Please divide it.", len(out), importMost))
	}
	return out, nil
}

// importID is the same for the same line of the same file, so that sending a
// file again brings nobody in twice. It cannot be guessed without the key.
func (d *Desk) importID(file []byte, line int, what string) string {
	sum := sha256.Sum256(file)
	m := hmac.New(sha256.New, d.Codes)
	fmt.Fprintf(m, "import\x00%x\x00%d\x00%s", sum, line, what)
	return base64.RawURLEncoding.EncodeToString(m.Sum(nil)[:16])
}

// dryRun says of every person of a file what would be done. It writes
// nothing.
func (v *visit) dryRun(file []byte) ([]importRow, error) {
	texts, err := importTexts(file)
	if err != nil {
		return nil, err
	}
	panel, err := v.desk.Store.Heads(v.staff.ID)
	if err != nil {
		return nil, err
	}
	plans := map[string]string{} // by procedures, why there is no plan
	out := make([]importRow, 0, len(texts))
	for _, x := range texts {
		r := v.importRow(x, file)
		if len(r.Faults) == 0 {
			key := fmt.Sprint(r.episode.Procedures)
			if _, tried := plans[key]; !tried {
				plans[key] = ""
				if _, err := v.importDrafts(r.episode); err != nil {
					var s *sorry
					if !errors.As(err, &s) {
						return nil, err
					}
					plans[key] = s.text
				}
			}
			if why := plans[key]; why != "" {
				r.Faults = append(r.Faults, why)
			}
		}
		if _, err := v.desk.Store.Patient(r.patient.ID); err == nil || errors.Is(err, ledger.ErrErased) {
			r.Here = true
		} else if !errors.Is(err, ledger.ErrUnknown) {
			return nil, err
		} else {
			r.Twin = twinOf(r, out, panel)
		}
		out = append(out, r)
	}
	return out, nil
}

// twinOf says who a person may be already: in the person's care, or in a line
// before.
func twinOf(r importRow, before []importRow, panel []ledger.PanelRow) string {
	for _, p := range panel {
		switch {
		case r.patient.Number != "" && p.Patient.Number == r.patient.Number:
			return "the number " + r.patient.Number + " is in your care already"
		case strings.EqualFold(p.Patient.Name, r.patient.Name) && (p.Patient.Born == "" || r.patient.Born == "" || p.Patient.Born == r.patient.Born):
			return "somebody of this name is in your care already"
		}
	}
	for _, b := range before {
		if r.patient.Number != "" && b.patient.Number == r.patient.Number || strings.EqualFold(b.patient.Name, r.patient.Name) && b.patient.Born == r.patient.Born {
			return fmt.Sprintf("the same name or number stands in line %d", b.Line)
		}
	}
	return ""
}

// importRow checks one person as the page of enrolment does.
func (v *visit) importRow(x importText, file []byte) importRow {
	r := importRow{Line: x.line, Name: oneLine(plainCell(x.name)), Faults: slices.Clone(x.faults), Notes: x.notes}
	fault := func(text string, args ...any) { r.Faults = append(r.Faults, fmt.Sprintf(text, args...)) }
	p := ledger.Patient{ID: rom.PatientID(v.desk.importID(file, x.line, "patient")), Name: r.Name, Number: oneLine(plainCell(x.number)), Phone: oneLine(plainCell(x.phone)), Lang: strings.ToLower(x.lang), Zone: x.zone, Created: v.at.UTC()}
	e := rom.Episode{ID: rom.EpisodeID(v.desk.importID(file, x.line, "episode")), Version: 1, State: rom.Planned, By: v.staff.ID}
	switch n := len([]rune(p.Name)); {
	case n == 0:
		fault("the name is missing")
	case n > 200:
		fault("the name is longer than 200 letters")
	case strings.ContainsAny(p.Name[:1], "=+-@"):
		fault("the name begins like a formula")
	}
	if strings.HasPrefix(p.Number, "=") || strings.HasPrefix(p.Number, "@") || strings.HasPrefix(p.Phone, "=") || strings.HasPrefix(p.Phone, "@") {
		fault("a number begins like a formula")
	}
	if len([]rune(p.Number)) > 60 || len([]rune(p.Phone)) > 40 {
		fault("the clinic's number or the telephone number is too long")
	}
	switch p.Lang {
	case "", "en", "es":
		if p.Lang == "" {
			p.Lang = "en"
		}
	default:
		r.Notes = append(r.Notes, fmt.Sprintf("the phone does not speak %q: English is taken", p.Lang))
		p.Lang = "en"
	}
	if p.Zone == "" {
		p.Zone = v.clinic.Zone
	}
	if _, err := time.LoadLocation(p.Zone); err != nil || p.Zone == "Local" {
		fault("the time zone %q is not known; leave it empty for the clinic's", p.Zone)
	}
	date := func(what, s string) rom.Date {
		if s == "" {
			return 0
		}
		d, err := rom.ParseDate(s)
		if err != nil {
			fault("%s: %q is not a date. Write it as 2026-01-31", what, s)
		}
		return d
	}
	if born := date("date of birth", x.born); !born.IsZero() {
		if born > v.today || v.today.Sub(born) > 120*366 {
			fault("the date of birth %s cannot be right", born)
		}
		p.Born, e.BornYear = born.String(), born.Time().Year()
	}
	if e.Surgery = date("date of surgery", x.surgery); !e.Surgery.IsZero() {
		if days := e.Surgery.Sub(v.today); days > 730 || days < -730 {
			fault("the date of surgery, %s, is more than two years away from today", e.Surgery)
		}
	}
	switch strings.ToLower(x.side) {
	case "left", "l":
		e.Side = rom.Left
	case "right", "r":
		e.Side = rom.Right
	case "":
		fault("the side is missing: left or right")
	default:
		fault("the side is %q, and not left or right", x.side)
	}
	for i, text := range append([]string{x.proc}, x.also...) {
		switch id, ok := procedureNamed(text); {
		case ok && !e.Has(id):
			e.Procedures = append(e.Procedures, id)
		case ok:
		case i == 0 && strings.TrimSpace(text) == "":
			fault("the procedure is missing")
		default:
			fault("%q is none of the procedures: %s", strings.TrimSpace(text), procedureCodes())
		}
	}
	r.patient, r.episode = p, e
	return r
}

// plainCell takes off the apostrophe by which a spreadsheet keeps a cell from
// being run.
func plainCell(s string) string {
	if len(s) > 1 && s[0] == '\'' && strings.ContainsRune("=+-@", rune(s[1])) {
		return s[1:]
	}
	return s
}

// procedureNamed finds a procedure by its code or its name.
func procedureNamed(text string) (rom.Procedure, bool) {
	text = strings.TrimSpace(text)
	for _, p := range rom.Procedures {
		if strings.EqualFold(text, string(p)) || strings.EqualFold(text, name(procedureNames, p)) {
			return p, true
		}
	}
	return "", false
}

func procedureCodes() string {
	list := make([]string, len(rom.Procedures))
	for i, p := range rom.Procedures {
		list[i] = string(p)
	}
	return strings.Join(list, ", ")
}

// importDrafts are the first records of a person: the planned episode and the
// plan from the adopted protocols, as enrolment makes them. The surgeon's
// confirmation makes the plan again.
func (v *visit) importDrafts(e rom.Episode) ([]ledger.Draft, error) {
	// Three supervised days a week is common practice, no source.
	plan, err := v.firstPlan(e, protocol.Choices{TherapyDays: []time.Weekday{time.Monday, time.Wednesday, time.Friday}, Reason: "Brought in from a file", Rev: 1})
	if err != nil {
		return nil, err
	}
	first, err := v.draft(wire.KindEpisode, e)
	if err != nil {
		return nil, err
	}
	second, err := v.draft(wire.KindPlan, plan)
	return []ledger.Draft{first, second}, err
}
