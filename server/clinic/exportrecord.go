package clinic

import (
	"archive/zip"
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/base64"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"unsling/engine/rom"
	"unsling/server/access"
	"unsling/server/ledger"
	"unsling/sync/wire"
)

// exported is record.json: everything that the clinic has of one patient.
type exported struct {
	Format  string                       `json:"format"`
	Made    time.Time                    `json:"made"`
	By      rom.StaffID                  `json:"by"`
	Clinic  exportedClinic               `json:"clinic"`
	Patient ledger.Patient               `json:"patient"`
	Staff   map[rom.StaffID]exportedName `json:"staff"` // the care team, and everybody whom a record names
	Team    []ledger.Member              `json:"team"`
	Phones  []exportedPhone              `json:"phones"`
	Glass   []ledger.Glass               `json:"emergency_access,omitempty"`
	Lines   []exportedLine               `json:"lines"`
	Aside   []exportedAside              `json:"set_aside,omitempty"`
	Sealed  []exportedAside              `json:"sealed,omitempty"` // from phones whose access had ended
	Files   map[string]string            `json:"sha256"`           // of the other files beside this one
}

type exportedClinic struct {
	Name  string `json:"name"`
	Phone string `json:"phone"`
	Zone  string `json:"zone"`
	Demo  bool   `json:"invented,omitempty"`
}

type exportedName struct {
	Name string      `json:"name"`
	Role ledger.Role `json:"role"`
}

type exportedPhone struct {
	Author    rom.Author         `json:"author"`
	Name      string             `json:"name"`
	State     ledger.AuthorState `json:"state"`
	Enrolled  time.Time          `json:"enrolled"`
	Revoked   time.Time          `json:"revoked,omitzero"`
	LastSeen  time.Time          `json:"last_seen,omitzero"`
	App       string             `json:"app,omitempty"`
	Following int                `json:"following"`
}

// exportedLine is one record, taken apart.
type exportedLine struct {
	Seq    int64           `json:"seq"` // its place in the log and in lines.ndjson
	Author rom.Author      `json:"author"`
	N      int64           `json:"n"`
	Hash   wire.Hash       `json:"hash"` // SHA-256 of the line in lines.ndjson
	Who    string          `json:"who"`
	Kind   wire.Kind       `json:"kind,omitempty"`
	V      int             `json:"v,omitempty"`
	At     time.Time       `json:"at,omitzero"`
	Zone   string          `json:"tz,omitempty"`
	Rev    int             `json:"rev,omitempty"`
	Was    *rom.Ref        `json:"was,omitempty"` // the record that it repeats
	Body   json.RawMessage `json:"body,omitempty"`
	Text   string          `json:"text,omitempty"`      // the body in one line
	Now    string          `json:"corrected,omitempty"` // and as it stands after a correction
	Fixed  *rom.Ref        `json:"corrected_by,omitempty"`
	Voided bool            `json:"taken_back,omitempty"`
	Fault  string          `json:"fault,omitempty"` // why it does not count
}

// exportedAside is a line that is kept and not part of the log.
type exportedAside struct {
	Author rom.Author `json:"author"`
	N      int64      `json:"n"`
	Why    string     `json:"why"`
	Line   string     `json:"line_base64"` // as it came
}

// Export makes a ZIP file of a patient's whole record: record.html to read
// and print, lines.ndjson with the very lines that were written, record.json
// with the same taken apart, dictionary.json that says what every field
// means, README.txt. Whether actor may is decided here; the act is in the
// audit log before anything is given out. Refusals are errors whose text may
// be shown.
func (d *Desk) Export(_ context.Context, p rom.PatientID, actor access.Actor, trail ledger.Trail) (name string, data []byte, err error) {
	patient, err := d.Store.Patient(p)
	if err != nil {
		return "", nil, err
	}
	team, err := d.Store.Team(p)
	if err != nil {
		return "", nil, err
	}
	if dec := access.Decide(actor, access.ExportPatient, access.Resource{Patient: p, Team: team, RestrictedBy: patient.RestrictedBy()}); !dec.Allowed {
		return "", nil, fmt.Errorf("not possible: %s", dec.Refusal)
	}
	x, err := d.exporting(patient, team, actor)
	if err != nil {
		return "", nil, err
	}
	if data, err = x.zip(); err != nil {
		return "", nil, err
	}
	err = d.Store.Note(ledger.Entry{At: trail.At, Actor: trail.Actor, Session: trail.Session, Act: string(access.ExportPatient), Patient: string(p),
		Resource: fmt.Sprintf("%d records, SHA-256 %x", len(x.record.Lines), sha256.Sum256(data)), Reason: trail.Reason})
	return "record-" + string(p) + "-" + actor.At.UTC().Format("20060102") + ".zip", data, err
}

// exporting is one export under way.
type exporting struct {
	v       *visit
	f       file
	entries []entry
	raw     bytes.Buffer
	record  exported
}

func (d *Desk) exporting(patient ledger.Patient, team []ledger.Member, actor access.Actor) (*exporting, error) {
	clinic, err := d.Store.Clinic()
	if err != nil && !errors.Is(err, ledger.ErrUnknown) {
		return nil, err
	}
	staff, err := d.Store.Staff(actor.Staff)
	if err != nil {
		return nil, err
	}
	asOf := d.source().AsOf(clinic, actor.At)
	x := &exporting{v: &visit{at: asOf.At, today: asOf.Today, minute: asOf.Minute, asOf: asOf, staff: staff, clinic: clinic, zone: asOf.At.Location(),
		actor: actor, desk: d, patient: patient, team: team}}
	if x.f, err = x.v.file(); err != nil {
		return nil, err
	}
	names, err := x.v.staffNames()
	if err != nil {
		return nil, err
	}
	if x.entries, err = x.v.log(x.f, names); err != nil {
		return nil, err
	}
	x.record = exported{
		Format: "unsling record 1", Made: actor.At.UTC(), By: actor.Staff, Patient: patient, Team: team,
		Clinic: exportedClinic{clinic.Name, clinic.Phone, clinic.Zone, clinic.Demo}, Staff: map[rom.StaffID]exportedName{}, Files: map[string]string{},
	}
	if x.record.Glass, err = d.Store.GlassOn(patient.ID); err != nil {
		return nil, err
	}
	x.lines()
	if err := x.beside(); err != nil {
		return nil, err
	}
	return x, x.people(actor.Staff)
}

// lines takes the records apart.
func (x *exporting) lines() {
	for _, e := range x.entries {
		l := exportedLine{Seq: e.Seq, Author: e.Ref.Author, N: e.Ref.N, Who: e.Who, Kind: e.Kind, At: e.At, Text: e.Text, Now: e.Now, Voided: e.Voided, Fault: e.Fault}
		if e.Raw != nil {
			l.Hash = wire.HashOf(e.Raw)
			x.raw.Write(e.Raw)
		}
		x.raw.WriteByte('\n') // an erased line leaves its place
		if rec, err := wire.DecodeStored(e.Raw); err == nil {
			l.V, l.Zone, l.Rev = rec.V, rec.TZ, rec.Rev
			if !rec.Was.IsZero() {
				l.Was = &rec.Was
			}
			if json.Valid(rec.Body) {
				l.Body = rec.Body
			}
		}
		if !e.Fixed.IsZero() {
			l.Fixed = &e.Fixed
		}
		x.record.Lines = append(x.record.Lines, l)
	}
}

// beside collects the phones, what was set aside and what is sealed.
func (x *exporting) beside() error {
	text := base64.StdEncoding.EncodeToString
	for _, a := range x.f.Phones {
		x.record.Phones = append(x.record.Phones, exportedPhone{a.ID, a.Name, a.State, a.Enrolled, a.Revoked, a.LastSeen, a.App, a.Following})
		sealed, err := x.v.desk.Store.Sealed(a.ID)
		if err != nil {
			return err
		}
		for _, l := range sealed {
			x.record.Sealed = append(x.record.Sealed, exportedAside{l.Author, l.N, "came after the phone's access had ended", text(l.Bytes)})
		}
	}
	aside, err := x.v.desk.Store.Quarantine(x.v.patient.ID)
	for _, q := range aside {
		x.record.Aside = append(x.record.Aside, exportedAside{q.Author, q.N, string(q.Kind), text(q.Bytes)})
	}
	return err
}

// people names the care team and everybody whom a record names.
func (x *exporting) people(by rom.StaffID) error {
	all, err := x.v.desk.Store.AllStaff()
	if err != nil {
		return err
	}
	for _, s := range all {
		named := s.ID == by || slices.ContainsFunc(x.v.team, func(m ledger.Member) bool { return m.Staff == s.ID }) ||
			slices.ContainsFunc(x.record.Lines, func(l exportedLine) bool {
				return l.Author.FromClinic() && bytes.Contains(l.Body, []byte(`"`+string(s.ID)+`"`))
			})
		if named {
			x.record.Staff[s.ID] = exportedName{s.Name, s.Role}
		}
	}
	return nil
}

const exportReadme = `The record of one patient, as the clinic's server holds it.

record.html       to read and to print; opens in any browser, without a network
lines.ndjson      the records as they were written, one a line, in the order in
                  which the server took them; nothing was left out or changed.
                  An empty line is a record whose text was erased.
record.json       the same taken apart, with what became of each record (corrected,
                  taken back), the phones, the care team, and what was set aside
dictionary.json   what every kind of record and every field means
README.txt        this file

Every line names the SHA-256 of its author's line before it ("prev"), so that a
missing or changed line shows: hash the line's bytes without the line feed.
Angles are integers in tenths of a degree. "at" is the writer's own clock.

This file holds health data in clear. Keep it as the law demands.
Unsling supports the clinic's judgement and makes no diagnosis.
`

// zip writes the files.
func (x *exporting) zip() ([]byte, error) {
	page, err := x.paper()
	if err != nil {
		return nil, err
	}
	files := []struct {
		name string
		text []byte
	}{
		{"README.txt", []byte(exportReadme)}, {"record.html", page}, {"lines.ndjson", x.raw.Bytes()}, {"dictionary.json", dictionaryText},
	}
	for _, f := range files {
		sum := sha256.Sum256(f.text)
		x.record.Files[f.name] = hex.EncodeToString(sum[:])
	}
	var record bytes.Buffer
	enc := json.NewEncoder(&record)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", " ")
	if err := enc.Encode(x.record); err != nil {
		return nil, fmt.Errorf("export: %w", err)
	}
	files = append(files, struct {
		name string
		text []byte
	}{"record.json", record.Bytes()})
	var out bytes.Buffer
	z := zip.NewWriter(&out)
	for _, f := range files {
		w, err := z.CreateHeader(&zip.FileHeader{Name: f.name, Method: zip.Deflate, Modified: x.record.Made})
		if err == nil {
			_, err = w.Write(f.text)
		}
		if err != nil {
			return nil, fmt.Errorf("export: %w", err)
		}
	}
	if err := z.Close(); err != nil {
		return nil, fmt.Errorf("export: %w", err)
	}
	return out.Bytes(), nil
}

// exportName keeps what stands in a header to letters that need no quoting.
func exportName(name string) string {
	return strings.Map(func(r rune) rune {
		if r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' || r >= '0' && r <= '9' || r == '-' || r == '.' || r == '_' {
			return r
		}
		return '-'
	}, name)
}
