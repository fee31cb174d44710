package fhirapi

import (
	"errors"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"unsling/server/access"
	"unsling/server/formats/fhir"
	"unsling/server/ledger"
)

// resource is one row of the table: a type, what can be done with it, and by
// which parameters it is searched.
type resource struct {
	kind   string
	read   func(*call) error
	search func(*call) ([]fhir.Resource, error)
	params []param
}

// param is one search parameter.
type param struct {
	name  string
	kind  string // of R4: token, date or reference
	must  bool
	match func(c *call, r fhir.Resource, value string) (bool, error) // nil: search itself looks at it
	says  string
}

var byPatient = param{name: "patient", kind: "reference", must: true, says: "id of the patient"}

// table is everything that is at the door.
var table = []resource{
	{"Patient", (*call).readPatient, (*call).findPatients, []param{
		{name: "_id", kind: "token", match: func(_ *call, r fhir.Resource, v string) (bool, error) {
			return anyOf(v, func(one string) bool { return r.Ref() == "Patient/"+one }), nil
		}, says: "id of the resource"},
		{name: "identifier", kind: "token", match: matchIdentifier, says: "number of the clinic, or id of this program"}}},
	{"EpisodeOfCare", (*call).readPart, (*call).findParts, []param{byPatient}},
	{"Procedure", (*call).readPart, (*call).findParts, []param{byPatient, {name: "date", kind: "date", match: matchDate, says: "when it was done"}}},
	{"CarePlan", (*call).readPart, (*call).findParts, []param{byPatient, {name: "category", kind: "token", match: matchCategory, says: "kind of plan"}}},
	{"Observation", (*call).readPart, (*call).findParts, []param{byPatient,
		{name: "code", kind: "token", match: matchCode, says: "code of the motion or of pain, with its system"},
		{name: "category", kind: "token", match: matchCategory, says: "exam, therapy or survey"},
		{name: "date", kind: "date", match: matchDate, says: "when it was measured"}}},
	{"Device", (*call).readPart, (*call).findParts, []param{byPatient}},
	{"Provenance", (*call).readPart, (*call).findParts, []param{byPatient, {name: "target", kind: "reference", match: matchTarget, says: "what was recorded"}}},
	{"Practitioner", (*call).readPractitioner, nil, nil},
	{"Organization", (*call).readOrganization, nil, nil},
}

// The size of a page.
const (
	usualCount = 50
	mostCount  = 200
)

// find answers a search: what the parameters leave, one page of it.
func (c *call) find(t resource) error {
	q, err := url.ParseQuery(c.r.URL.RawQuery)
	if err != nil {
		return invalid("The query could not be read.")
	}
	used := url.Values{}
	strict := strings.Contains(c.r.Header.Get("Prefer"), "handling=strict")
	for name := range q {
		known := name == "_count" || name == "_offset" || name == "_format" || slices.ContainsFunc(t.params, func(p param) bool { return p.name == name })
		switch {
		case known:
			used[name] = q[name]
		case strict:
			return invalid("The parameter " + strconv.Quote(name) + " is not known here.")
		}
	}
	count, err := number(q, "_count", usualCount)
	if err != nil {
		return err
	}
	offset, err := number(q, "_offset", 0)
	if err != nil {
		return err
	}
	count = min(count, mostCount)
	for _, p := range t.params {
		if p.must && (len(q[p.name]) != 1 || q.Get(p.name) == "") {
			return &refusal{http.StatusBadRequest, "required", "Please name one " + p.name + "."}
		}
	}
	list, err := t.search(c)
	if err != nil {
		return err
	}
	var left []fhir.Resource
	for _, r := range list {
		ok := true
		for _, p := range t.params {
			for _, value := range q[p.name] {
				if p.match == nil || !ok {
					continue
				}
				if ok, err = p.match(c, r, value); err != nil {
					return err
				}
			}
		}
		if ok {
			left = append(left, r)
		}
	}
	page := left[min(offset, len(left)):min(offset+count, len(left))]
	if t.kind == "Patient" {
		if err := c.listed(page); err != nil {
			return err
		}
	}
	b := fhir.NewBundle("searchset", c.door.base(), page)
	total := len(left)
	b.Total = &total
	at := func(relation string, offset int) {
		link := url.Values{}
		for k, v := range used {
			link[k] = v
		}
		link.Del("_offset")
		if offset > 0 {
			link.Set("_offset", strconv.Itoa(offset))
		}
		link.Set("_count", strconv.Itoa(count))
		b.Link = append(b.Link, fhir.Link{Relation: relation, URL: c.door.base() + "/" + t.kind + "?" + link.Encode()})
	}
	at("self", offset)
	if offset+count < total && count > 0 {
		at("next", offset+count)
	}
	if offset > 0 {
		at("previous", max(0, offset-count))
	}
	return c.send(http.StatusOK, b)
}

func number(q url.Values, name string, usual int) (int, error) {
	if !q.Has(name) {
		return usual, nil
	}
	n, err := strconv.Atoi(q.Get(name))
	if err != nil || n < 0 || n > 1_000_000 || len(q[name]) != 1 {
		return 0, invalid(name + " is not a whole number.")
	}
	return n, nil
}

func (c *call) readPatient() error {
	p, err := c.patient(fhir.PatientOf(c.r.PathValue("id")))
	if err != nil {
		return err
	}
	return c.pick(p, "Patient/"+c.r.PathValue("id"), false)
}

// pick sends the one resource of the patient that has this reference.
func (c *call) pick(p ledger.Patient, ref string, whole bool) error {
	list, err := c.resources(p, whole)
	if err != nil {
		return err
	}
	for _, r := range list {
		if r.Ref() == ref {
			return c.send(http.StatusOK, r)
		}
	}
	return errNone
}

// readPart reads a resource whose id begins with its patient's.
func (c *call) readPart() error {
	owner, ok := fhir.OwnerOf(c.r.PathValue("id"))
	if !ok {
		return errNone
	}
	p, err := c.patient(owner)
	if err != nil {
		return err
	}
	kind := strings.Split(c.r.URL.Path, "/")[2]
	return c.pick(p, kind+"/"+c.r.PathValue("id"), true)
}

// findParts are the resources of the type of the address, of one patient.
func (c *call) findParts() ([]fhir.Resource, error) {
	id := strings.TrimPrefix(strings.TrimPrefix(c.r.URL.Query().Get("patient"), c.door.base()+"/"), "Patient/")
	p, err := c.patient(fhir.PatientOf(id))
	if err != nil {
		return nil, err
	}
	all, err := c.resources(p, true)
	kind := strings.Split(c.r.URL.Path, "/")[2]
	return slices.DeleteFunc(all, func(r fhir.Resource) bool { return !strings.HasPrefix(r.Ref(), kind+"/") }), err
}

// findPatients are those in the person's care whose data may be given out.
func (c *call) findPatients() ([]fhir.Resource, error) {
	panel, err := c.door.Store.Heads(c.staff.ID)
	if err != nil {
		return nil, err
	}
	var out []fhir.Resource
	for _, row := range panel {
		var no *refusal
		if err := c.may(row.Patient); errors.As(err, &no) || errors.Is(err, ledger.ErrUnknown) {
			continue // restricted, or erased or handed to others since the list was read
		} else if err != nil {
			return nil, err
		}
		list, err := c.resources(row.Patient, false)
		if err != nil {
			return nil, err
		}
		for _, r := range list {
			if strings.HasPrefix(r.Ref(), "Patient/") {
				out = append(out, r)
			}
		}
	}
	return out, nil
}

// listed writes who was on a page of patients into the audit log.
func (c *call) listed(page []fhir.Resource) error {
	for _, r := range page {
		id := fhir.PatientOf(strings.TrimPrefix(r.Ref(), "Patient/"))
		if err := c.door.Store.Note(ledger.Entry{At: c.at.UTC(), Actor: string(c.staff.ID), Session: c.token.Session, Act: string(access.ReadByProgram), Patient: string(id), Resource: c.r.Pattern}); err != nil {
			return err
		}
	}
	return nil
}

func (c *call) clinic() error {
	if dec := access.Decide(c.actor, access.ReadFHIR, access.Resource{}); !dec.Allowed {
		return &refusal{http.StatusForbidden, "forbidden", "Not possible: " + string(dec.Refusal) + "."}
	}
	return nil
}

func (c *call) readPractitioner() error {
	if err := c.clinic(); err != nil {
		return err
	}
	all, err := c.door.Store.AllStaff()
	if err != nil {
		return err
	}
	for _, s := range all {
		if fhir.ID(string(s.ID)) == c.r.PathValue("id") {
			return c.send(http.StatusOK, fhir.StaffMember(c.door.base(), s.ID, s.Name))
		}
	}
	return errNone
}

func (c *call) readOrganization() error {
	if err := c.clinic(); err != nil {
		return err
	}
	if c.r.PathValue("id") != "clinic" {
		return errNone
	}
	return c.send(http.StatusOK, fhir.Clinic(c.row.Name, c.row.Phone))
}
