package clinic

import (
	"cmp"
	"errors"
	"fmt"
	"io"
	"net/http"
	"slices"
	"time"

	"unsling/server/access"
	"unsling/server/ledger"
)

const (
	importPath = "/clinic/import"
	// importBody bounds a posted file with what a browser puts around it.
	importBody = 1<<20 + 64<<10
)

// stagedImport is a file that was looked at and waits for "yes". It is held in
// memory only; after a restart the file is chosen again.
type stagedImport struct {
	session, name      string
	file               []byte
	surgeon, therapist string
	until              time.Time
}

const (
	importWaits  = 30 * time.Minute
	importStaged = 20
)

type importPage struct {
	Form enrolForm
	carers
	Columns    []string
	Must       []string
	Procedures []procedureChoice

	File   string // name of the file that was looked at, "" for none yet
	Token  string // of the file that waits
	Rows   []importRow
	New    int
	Here   int
	Twins  int
	Faults int
}

// importShow is the page, empty or with what came of a file.
func (v *visit) importShow(status int, form enrolForm, p importPage, problem string) error {
	p.Form, p.Columns, p.Must = form, importColumns, importMust
	var err error
	if p.carers, err = v.carers(); err != nil {
		return err
	}
	adopted, err := v.adopted()
	if err != nil {
		return err
	}
	for id, n := range procedureNames {
		_, ok := adopted[id]
		p.Procedures = append(p.Procedures, procedureChoice{id, n, ok})
	}
	slices.SortFunc(p.Procedures, func(a, b procedureChoice) int { return cmp.Compare(a.ID, b.ID) })
	return v.showWith(status, "import", frame{Title: "Bring patients in", Here: "enrol", Error: problem, Page: p})
}

func (d *Desk) importPage(v *visit) error {
	if err := v.may(access.EnrolPatient); err != nil {
		return err
	}
	var form enrolForm
	var err error
	if form.Surgeon, form.Therapist, err = v.likelyCarers(); err != nil {
		return err
	}
	return v.importShow(http.StatusOK, form, importPage{}, "")
}

// importAct looks at a file, or brings in what was looked at.
func (d *Desk) importAct(v *visit) error {
	err := v.may(access.EnrolPatient)
	if errors.Is(err, errAgain) && v.form("act") != "confirm" {
		err = nil // looking at a file changes nothing
	}
	if err != nil {
		return err
	}
	if v.form("act") == "confirm" {
		return v.importNow()
	}
	form := enrolForm{Surgeon: v.form("surgeon"), Therapist: v.form("therapist")}
	file, name, err := v.posted()
	if err == nil && v.clinic.Phone == "" {
		err = refuse(http.StatusUnprocessableEntity, "The clinic's number must be set under Clinic first: the phone shows it on every screen.")
	}
	if err == nil {
		var problem string
		if _, problem, err = v.enrolTeam(form); err == nil && problem != "" {
			err = refuse(http.StatusUnprocessableEntity, problem)
		}
	}
	p := importPage{File: name}
	if err == nil {
		p.Rows, err = v.dryRun(file)
	}
	var s *sorry
	if errors.As(err, &s) {
		return v.importShow(s.status, form, importPage{}, s.text)
	} else if err != nil {
		return err
	}
	p.count()
	if p.Faults == 0 {
		p.Token = d.stage(stagedImport{v.token.Session, name, file, form.Surgeon, form.Therapist, v.at.Add(importWaits)}, v.at)
	}
	return v.importShow(http.StatusOK, form, p, "")
}

func (p *importPage) count() {
	for _, r := range p.Rows {
		switch {
		case len(r.Faults) > 0:
			p.Faults++
		case r.Here:
			p.Here++
		case r.Twin != "":
			p.Twins++
		default:
			p.New++
		}
	}
}

// posted is the file of the form.
func (v *visit) posted() (file []byte, name string, err error) {
	none := refuse(http.StatusUnprocessableEntity, "Please choose a file.")
	if v.r.MultipartForm == nil {
		return nil, "", none
	}
	f, head, err := v.r.FormFile("file")
	if err != nil || head.Size == 0 {
		return nil, "", none
	}
	defer f.Close()
	if file, err = io.ReadAll(f); err != nil {
		return nil, "", refuse(http.StatusBadRequest, "The file could not be read. Please choose it again.")
	}
	return file, oneLine(head.Filename), nil
}

// stage keeps a file until its person says yes; of many the oldest go.
func (d *Desk) stage(s stagedImport, now time.Time) string {
	token := d.id()
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.imports == nil {
		d.imports = map[string]stagedImport{}
	}
	for k, old := range d.imports {
		if now.After(old.until) || old.session == s.session {
			delete(d.imports, k)
		}
	}
	for len(d.imports) >= importStaged {
		oldest := ""
		for k, x := range d.imports {
			if oldest == "" || x.until.Before(d.imports[oldest].until) {
				oldest = k
			}
		}
		delete(d.imports, oldest)
	}
	d.imports[token] = s
	return token
}

// importNow brings in what was looked at. Each person is one transaction with
// an id that the file decides: whatever interrupts it, the same file goes on
// where it stopped and brings nobody in twice.
func (v *visit) importNow() error {
	d := v.desk
	d.mu.Lock()
	s, ok := d.imports[v.form("token")]
	d.mu.Unlock()
	if !ok || v.at.After(s.until) || !v.sameSession(s.session) {
		return v.importShow(http.StatusGone, enrolForm{}, importPage{}, "This file is not kept any more. Nothing was changed. Please choose it again.")
	}
	form := enrolForm{Surgeon: s.surgeon, Therapist: s.therapist}
	rows, err := v.dryRun(s.file) // as it stands now, not as it was looked at
	if err != nil {
		return err
	}
	p := importPage{File: s.name, Rows: rows, Token: v.form("token")}
	if p.count(); p.Faults > 0 {
		p.Token = ""
		return v.importShow(http.StatusConflict, form, p, "Something changed since you looked at the file. Nothing was brought in. Please look at the lines below.")
	}
	team, problem, err := v.enrolTeam(form)
	if err != nil {
		return err
	}
	if problem != "" {
		return v.importShow(http.StatusUnprocessableEntity, form, p, problem)
	}
	in := 0
	for _, r := range rows {
		if r.Here || r.Twin != "" && v.form("twins") != "yes" {
			continue
		}
		drafts, err := v.importDrafts(r.episode)
		if err == nil {
			err = d.Store.CreatePatient(r.patient, team, drafts, v.trail())
		}
		if errors.Is(err, ledger.ErrTaken) {
			continue // a second window was first
		}
		if err != nil {
			d.Log.Error("import stopped", "done", in, "error", err.Error())
			return refuse(http.StatusServiceUnavailable, fmt.Sprintf("The server stopped after %d of the file. They are in and complete. Choose the same file again: it goes on with the others.", in))
		}
		in++
	}
	if err := v.audited(access.EnrolPatient, "", fmt.Sprintf("%d from a file", in)); err != nil {
		return err
	}
	d.mu.Lock()
	delete(d.imports, v.form("token"))
	d.mu.Unlock()
	return v.back(importPath, "imported")
}

// sameSession reports whether the staged file is of this person: the session
// itself, which saying again who one is gives a new id.
func (v *visit) sameSession(session string) bool {
	if session == v.token.Session {
		return true
	}
	_, staff, err := v.desk.Store.Session(session)
	return err == nil && staff.ID == v.staff.ID
}
