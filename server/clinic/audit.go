package clinic

import (
	"cmp"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"

	"unsling/engine/rom"
	"unsling/server/access"
	"unsling/server/ledger"
)

// Bounds of one look into the audit log: it can be long, and a page must not
// hold the server up.
const (
	auditRows  = 100    // shown at once
	auditChunk = 1000   // read at once
	auditScan  = 50_000 // looked through for one page
)

type auditPage struct {
	Filter auditFilter
	Rows   []auditRow
	Older  string // address of the next page, "" for the end
	Looked int64  // the oldest entry that was looked at, when the look was cut short
	Staff  []ledger.Staff
	Acts   []string
	Total  int64
}

// auditFilter is what the administrator looks for.
type auditFilter struct {
	Who, Act, Patient, From, To string
	Before                      int64
}

type auditRow struct {
	ledger.Entry
	Who     string
	Act     string
	When    string
	Patient string // pseudonym and the clinic's number
}

// auditPage answers who did what, when and why. It shows ids, never what is
// known of a patient; reasons are those that staff typed.
func (d *Desk) auditPage(v *visit) error {
	if err := v.may(access.SeeAudit); err != nil {
		return err
	}
	q := v.r.URL.Query()
	f := auditFilter{Who: q.Get("who"), Act: q.Get("act"), Patient: oneLine(q.Get("patient")), From: q.Get("from"), To: q.Get("to")}
	f.Before, _ = strconv.ParseInt(q.Get("before"), 10, 64)
	p := auditPage{Filter: f, Acts: auditActs()}
	var err error
	if p.Staff, err = d.Store.AllStaff(); err != nil {
		return err
	}
	slices.SortFunc(p.Staff, func(a, b ledger.Staff) int { return cmp.Compare(a.Name, b.Name) })
	match, problem, err := v.auditMatch(f)
	if err != nil {
		return err
	}
	if problem != "" {
		return v.showWith(http.StatusUnprocessableEntity, "audit", frame{Title: "Audit", Here: "audit", Error: problem, Page: p})
	}
	if p.Total, err = d.auditEnd(); err != nil {
		return err
	}
	before := p.Total + 1
	if f.Before > 0 {
		before = min(before, f.Before)
	}
	names, err := v.staffNames()
	if err != nil {
		return err
	}
	numbers := map[string]string{}
	for looked := 0; before > 1 && len(p.Rows) < auditRows; {
		from := max(1, before-auditChunk)
		chunk, err := d.Store.Audit(from, int(before-from))
		if err != nil {
			return err
		}
		for _, e := range slices.Backward(chunk) {
			before = e.Seq
			if match(e) {
				p.Rows = append(p.Rows, v.auditRow(e, names, numbers))
				if len(p.Rows) == auditRows {
					break
				}
			}
		}
		if before > from && len(p.Rows) < auditRows {
			before = from // entries that cannot be there: the log begins later
		}
		if looked += len(chunk); looked >= auditScan && len(p.Rows) < auditRows {
			p.Looked = before
			break
		}
	}
	if before > 1 {
		more := url.Values{"who": {f.Who}, "act": {f.Act}, "patient": {f.Patient}, "from": {f.From}, "to": {f.To}, "before": {fmt.Sprint(before)}}
		p.Older = "/clinic/audit?" + more.Encode()
	}
	return v.show("audit", "Audit", "audit", p)
}

// auditEnd is the number of the newest entry.
func (d *Desk) auditEnd() (int64, error) {
	low, high := int64(0), int64(1)
	there := func(n int64) (bool, error) {
		page, err := d.Store.Audit(n, 1)
		return len(page) > 0, err
	}
	for {
		ok, err := there(high)
		if err != nil {
			return 0, err
		}
		if !ok {
			break
		}
		low, high = high, high*2
	}
	for high-low > 1 {
		mid := low + (high-low)/2
		ok, err := there(mid)
		if err != nil {
			return 0, err
		}
		if ok {
			low = mid
		} else {
			high = mid
		}
	}
	return low, nil
}

func (v *visit) auditMatch(f auditFilter) (match func(ledger.Entry) bool, problem string, err error) {
	var from, to time.Time
	for _, one := range []struct {
		text string
		into *time.Time
		add  int
	}{{f.From, &from, 0}, {f.To, &to, 1}} {
		if one.text == "" {
			continue
		}
		day, err := time.ParseInLocation(time.DateOnly, one.text, v.zone)
		if err != nil {
			return nil, fmt.Sprintf("%q is not a date. Write it as 2026-01-31.", one.text), nil
		}
		*one.into = day.AddDate(0, 0, one.add)
	}
	patient := f.Patient
	if patient != "" {
		if _, err := v.desk.Store.Patient(rom.PatientID(patient)); err != nil {
			id, err := v.identify(patient, "", "")
			if err != nil {
				return nil, "", err
			}
			if id == "" {
				return nil, "No patient has this number or pseudonym.", nil
			}
			patient = string(id)
		}
	}
	return func(e ledger.Entry) bool {
		return (f.Who == "" || e.Actor == f.Who) && (f.Act == "" || e.Act == f.Act || strings.HasPrefix(e.Act, f.Act+".")) &&
			(patient == "" || e.Patient == patient) && (from.IsZero() || !e.At.Before(from)) && (to.IsZero() || e.At.Before(to))
	}, "", nil
}

func (v *visit) auditRow(e ledger.Entry, names map[rom.StaffID]string, numbers map[string]string) auditRow {
	row := auditRow{Entry: e, Who: e.Actor, Act: auditWords(e.Act), When: e.At.In(v.zone).Format("2 Jan 2006 15:04:05"), Patient: e.Patient}
	switch name := names[rom.StaffID(e.Actor)]; {
	case name != "":
		row.Who = name
	case e.Actor == "server":
	default:
		row.Who = "phone " + shortID(e.Actor)
	}
	if e.Patient != "" {
		number, known := numbers[e.Patient]
		if !known {
			if p, err := v.desk.Store.Patient(rom.PatientID(e.Patient)); err == nil {
				number = p.Number
			} else if errors.Is(err, ledger.ErrErased) {
				number = "erased"
			}
			numbers[e.Patient] = number
		}
		if number != "" {
			row.Patient = shortID(e.Patient) + " (" + number + ")"
		}
	}
	return row
}

func shortID(id string) string {
	if len(id) > 10 {
		return id[:10] + "…"
	}
	return id
}

// auditActs are the kinds of acts to choose from.
func auditActs() []string {
	var kinds []string
	for _, k := range actKinds {
		kinds = append(kinds, k[0])
	}
	return kinds
}

// actKinds are the first words of acts, with what they are about.
var actKinds = [][2]string{
	{"patient", "the record"}, {"record", "what was written"}, {"phone", "a phone"}, {"team", "the care team"}, {"glass", "emergency access"}, {"session", "sign-in"}, {"staff", "staff"},
	{"protocol", "protocols"}, {"clinic", "the clinic"}, {"erasure", "erasure"}, {"audit", "the audit log"}, {"backup", "backup"}, {"epoch", "the store"},
	{"outcomes", "outcomes"}, {"export", "records handed out"}, {"token", "tokens for programs"},
}

var auditNames = map[string]string{
	"patient.view": "opened the record", "patient.create": "enrolled", "patient.change": "changed name or number", "patient.erase": "erased the record",
	"team.add": "added to the care team", "team.remove": "removed from the care team", "glass.break": "opened by emergency access", "glass.end": "ended an emergency access",
	"session.start": "signed in", "session.end": "signed out", "session.next": "proved again who is there", "session.code": "used a code of the app", "session.passkey": "used a passkey",
	"staff.add": "invited", "staff.change": "changed somebody's row", "staff.disable": "ended somebody's access", "staff.join": "set up the own sign-in", "staff.recovery-used": "used a recovery code",
	"staff.recovery-new": "made recovery codes", "staff.passkey-add": "added a passkey", "staff.passkey-remove": "removed a passkey", "staff.passkey-name": "renamed a passkey",
	"staff.app-add": "set up the app", "staff.app-remove": "removed the app", "staff.password": "changed the password", "staff.reset-confirm": "confirmed a new start",
	"clinic.set": "changed the clinic's settings", "protocol.adopt": "adopted a protocol", "audit.head": "signed the head of the audit log",
	"patient.export": "handed out the record", "patient.read-by-program": "a program read the record", "export.all": "handed out all records in the own care", "token.issue": "made a token for a program",
	"outcomes.see": "took outcomes as a file", "patient.enrol": "brought patients in from a file",
}

func auditWords(act string) string {
	if strings.HasPrefix(act, "record.") {
		return "wrote into the record"
	}
	return cmp.Or(auditNames[act], strings.ReplaceAll(act, "-", " "))
}
