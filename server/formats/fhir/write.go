package fhir

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"unsling/engine/rom"
)

// Input is what the clinic has of one patient.
type Input struct {
	Base    string // address of the FHIR door, without a slash at the end
	Clinic  string // name
	Phone   string // number of the clinic
	Patient rom.PatientID
	History rom.History
	Phones  []Phone
	Staff   map[rom.StaffID]string // names
	Person  *Person                // nil writes a pseudonym: no name, no number, year of birth only
	Created time.Time              // of the patient's row
}

// Person is what tells who the patient is.
type Person struct {
	Name, Number, Phone, Born, Lang string
}

// Phone is one installation.
type Phone struct {
	Author rom.Author
	App    string
	Active bool
	Since  time.Time
}

// OrganizationRef is the clinic.
const OrganizationRef = "Organization/clinic"

type writer struct {
	codes
	in     Input
	out    []Resource
	staff  map[rom.StaffID]bool
	device map[rom.Author]bool
}

// Write returns the resources of one patient: the organization and the people
// named first, then the patient, episodes, operations, plans, readings,
// pains and sessions in the order of the record, each followed by its
// Provenance.
func Write(in Input) []Resource {
	w := &writer{codes: codes{in.Base}, in: in, staff: map[rom.StaffID]bool{}, device: map[rom.Author]bool{}}
	w.patient()
	for _, p := range in.Phones {
		w.phone(p)
	}
	for _, id := range in.History.EpisodeIDs() {
		w.episode(id)
	}
	for _, p := range in.History.Plans {
		w.plan(p)
	}
	for _, r := range in.History.Readings {
		w.reading(r)
	}
	for _, p := range in.History.Pains {
		w.pain(p)
	}
	for _, s := range in.History.Sessions {
		w.session(s)
	}
	people := []Resource{Clinic(in.Clinic, in.Phone)}
	for _, id := range sortedKeys(w.staff) {
		people = append(people, StaffMember(in.Base, id, in.Staff[id]))
	}
	return append(people, w.out...)
}

// Clinic is the organization.
func Clinic(name, phone string) Organization {
	o := Organization{head: head{ResourceType: "Organization", ID: "clinic"}, Name: name}
	if name == "" {
		o.Name = "Clinic"
	}
	if phone != "" {
		o.Telecom = []Contact{{"phone", phone}}
	}
	return o
}

// StaffMember is a practitioner; a name that is not known is left out.
func StaffMember(base string, id rom.StaffID, name string) Practitioner {
	p := Practitioner{head: head{ResourceType: "Practitioner", ID: ID(string(id))}, Identifier: []Identifier{{base + "/identifier/staff", string(id)}}}
	if name != "" {
		p.Name = []HumanName{{Text: name}}
	}
	return p
}

func (w *writer) subject() Reference {
	return Reference{Reference: "Patient/" + ID(string(w.in.Patient))}
}

func (w *writer) practitioner(id rom.StaffID) Reference {
	w.staff[id] = true
	return Reference{Reference: "Practitioner/" + ID(string(id))}
}

// recorded adds a resource, and who recorded it.
func (w *writer) recorded(r Resource, m rom.Meta, by rom.StaffID) {
	w.out = append(w.out, r)
	agent := Agent{Type: &Concept{Coding: []Coding{{System: agentSystem, Code: "author"}}}}
	switch {
	case by != "":
		agent.Who = w.practitioner(by)
		agent.OnBehalfOf = &Reference{Reference: OrganizationRef}
	case m.Ref.Author.FromClinic():
		agent.Who = Reference{Reference: OrganizationRef}
	default:
		agent.Who = w.subject()
	}
	p := Provenance{head: head{ResourceType: "Provenance", ID: part(w.in.Patient, "provenance "+r.Ref())}, Target: []Reference{{Reference: r.Ref()}}, Recorded: instant(m.At), Agent: []Agent{agent}}
	if d, ok := w.deviceOf(m.Ref.Author); ok {
		p.Agent = append(p.Agent, Agent{Type: &Concept{Coding: []Coding{{System: agentSystem, Code: "assembler"}}}, Who: d})
	}
	p.Entity = []Entity{{Role: "source", What: Reference{Display: "record " + string(m.Ref.Author) + "/" + strconv.FormatInt(m.Ref.N, 10)}}}
	w.out = append(w.out, p)
}

func (w *writer) deviceOf(a rom.Author) (Reference, bool) {
	return Reference{Reference: "Device/" + part(w.in.Patient, "device "+string(a))}, w.device[a]
}

func (w *writer) patient() {
	in := w.in
	p := Patient{head: head{ResourceType: "Patient", ID: ID(string(in.Patient))}, Active: true, ManagingOrganization: &Reference{Reference: OrganizationRef},
		Identifier: []Identifier{{w.base + "/identifier/patient", string(in.Patient)}}}
	if x := in.Person; x != nil {
		p.Name = []HumanName{{Text: x.Name}}
		if x.Number != "" {
			p.Identifier = append(p.Identifier, Identifier{w.base + "/identifier/number", x.Number})
		}
		if x.Phone != "" {
			p.Telecom = []Contact{{"phone", x.Phone}}
		}
		if x.Lang != "" {
			p.Communication = []Communication{{Concept{Coding: []Coding{{System: languageSystem, Code: x.Lang}}}}}
		}
		p.BirthDate = x.Born
	} else {
		for _, e := range in.History.Episodes {
			if e.Body.BornYear > 0 {
				p.BirthDate = strconv.Itoa(e.Body.BornYear)
			}
		}
	}
	w.out = append(w.out, p, Provenance{head: head{ResourceType: "Provenance", ID: part(in.Patient, "provenance "+p.Ref())}, Target: []Reference{{Reference: p.Ref()}},
		Recorded: instant(in.Created), Agent: []Agent{{Who: Reference{Reference: OrganizationRef}}}})
}

func (w *writer) phone(p Phone) {
	d := Device{head: head{ResourceType: "Device", ID: part(w.in.Patient, "device "+string(p.Author))}, Status: "active", Identifier: []Identifier{{w.base + "/identifier/installation", string(p.Author)}},
		Type: &Concept{Text: "patient's phone with the app of the clinic"}}
	if !p.Active {
		d.Status = "inactive"
	}
	if p.App != "" {
		d.Version = []DeviceVersion{{p.App}}
	}
	subject := w.subject()
	d.Patient = &subject
	w.device[p.Author] = true
	w.out = append(w.out, d, Provenance{head: head{ResourceType: "Provenance", ID: part(w.in.Patient, "provenance "+d.Ref())}, Target: []Reference{{Reference: d.Ref()}},
		Recorded: instant(p.Since), Agent: []Agent{{Who: Reference{Reference: OrganizationRef}}}})
}

var episodeStatus = map[rom.EpisodeState]string{
	rom.Planned: "planned", rom.Confirmed: "active", rom.Ongoing: "active", rom.Discharged: "finished", rom.Withdrawn: "cancelled",
}

// episode writes the newest version, and each procedure of it.
func (w *writer) episode(id rom.EpisodeID) {
	e, ok := w.in.History.Episode(id)
	if !ok {
		return
	}
	var meta rom.Meta
	start := ""
	for _, x := range w.in.History.Episodes {
		if x.Body.ID != id {
			continue
		}
		if start == "" {
			start = dateOf(x.Day())
		}
		if x.Body.Version == e.Version {
			meta = x.Meta
		}
	}
	c := EpisodeOfCare{head: w.head("EpisodeOfCare", "episode "+string(id), meta), Status: episodeStatus[e.State], Patient: w.subject(),
		Type: []Concept{*w.own("episode", "shoulder-"+string(e.Side), "care of the "+string(e.Side)+" shoulder after an operation")}, ManagingOrganization: &Reference{Reference: OrganizationRef},
		Period: &Period{Start: start, End: dateOf(e.Ended)}}
	w.recorded(c, meta, e.By)
	for _, p := range e.Procedures {
		op := Procedure{head: w.head("Procedure", "operation "+string(id)+" "+string(p), meta), Status: "completed", Code: w.own("procedure", string(p), words(string(p))),
			Category: w.own("category", "operation", "operation"), Subject: w.subject(), PerformedDateTime: dateOf(e.Surgery), BodySite: []Concept{*shoulder(e.Side)}}
		if !e.State.Operated() && e.ConfirmedBy == "" {
			op.Status = "preparation" // booked, not confirmed by the surgeon
		}
		if e.ConfirmedBy != "" {
			op.Performer = []Performer{{w.practitioner(e.ConfirmedBy)}}
			op.Note = []Note{{"Confirmed by this practitioner from the operation note."}}
		}
		w.recorded(op, meta, e.By)
	}
}

func (w *writer) head(kind, what string, m rom.Meta) head {
	h := head{ResourceType: kind, ID: part(w.in.Patient, what)}
	if !m.At.IsZero() {
		h.Meta = &Meta{LastUpdated: instant(m.At)}
	}
	return h
}

func (w *writer) observation(m rom.Meta, kind string) Observation {
	o := Observation{head: w.head("Observation", kind+" "+string(m.Ref.Author)+" "+strconv.FormatInt(m.Ref.N, 10), m), Status: "final", Subject: w.subject(), Issued: instant(m.At)}
	if !m.Amended.IsZero() {
		o.Status = "amended"
	}
	if d, ok := w.deviceOf(m.Ref.Author); ok {
		o.Device = &d
	}
	return o
}

func (w *writer) reading(x rom.Entry[rom.Reading]) {
	r := x.Body
	o := w.observation(x.Meta, "reading")
	o.Category = []Concept{{Coding: []Coding{{System: categorySystem, Code: "exam"}}}}
	if r.Session != "" {
		o.Category = append(o.Category, Concept{Coding: []Coding{{System: categorySystem, Code: "therapy"}}})
	}
	o.Code, o.BodySite = w.motion(r), shoulder(r.Side)
	o.EffectiveDateTime = instant(x.At)
	if !r.On.IsZero() {
		o.EffectiveDateTime = dateOf(r.On)
	}
	o.Performer = []Reference{w.subject()}
	who := "by the patient"
	if r.By != "" {
		o.Performer = []Reference{w.practitioner(r.By)}
		who = "by a clinician"
	}
	method := string(r.Method) + ", " + who
	if r.Position != "" {
		method += ", " + string(r.Position)
	}
	if r.Anaesthetic {
		method += ", under anaesthetic"
	}
	o.Method = w.own("method", string(r.Method), method)
	if r.Motion.ByLevel() {
		o.ValueCodeableConcept = w.own("level", r.Level.String(), r.Level.String())
	} else {
		o.ValueQuantity = degrees(r.Angle)
		if len(r.Trials) > 1 {
			for i, t := range r.Trials {
				o.Component = append(o.Component, Component{Code: Concept{Text: "trial " + strconv.Itoa(i+1)}, ValueQuantity: degrees(t.Angle)})
			}
		}
		if r.SE > 0 {
			o.Note = append(o.Note, Note{"Standard error " + strconv.Itoa(r.SE.Whole()) + " deg."})
		}
	}
	if r.Baseline {
		o.Note = append(o.Note, Note{"Baseline before surgery."})
	}
	if r.Pain != nil {
		o.Component = append(o.Component, Component{Code: painCode(), ValueQuantity: score(*r.Pain)})
	}
	if r.EndFeel != "" {
		o.Component = append(o.Component, Component{Code: Concept{Text: "end feel"}, ValueCodeableConcept: w.own("end-feel", string(r.EndFeel), string(r.EndFeel))})
	}
	w.recorded(o, x.Meta, r.By)
}

func painCode() Concept {
	return Concept{Coding: []Coding{{System: LOINC, Code: PainCode}}, Text: "Pain, 0 to 10"}
}

func (w *writer) pain(x rom.Entry[rom.Pain]) {
	o := w.observation(x.Meta, "pain")
	o.Category = []Concept{{Coding: []Coding{{System: categorySystem, Code: "survey"}}}}
	o.Code, o.EffectiveDateTime, o.ValueQuantity = painCode(), instant(x.At), score(x.Body.Score)
	o.Performer = []Reference{w.subject()}
	o.Method = w.own("pain-when", string(x.Body.When), "pain: "+string(x.Body.When))
	w.recorded(o, x.Meta, "")
}

// session is a procedure of the patient's: completed, or stopped with the
// reason.
func (w *writer) session(x rom.Entry[rom.Session]) {
	s := x.Body
	p := Procedure{head: w.head("Procedure", "session "+string(s.ID), x.Meta), Status: "completed", Category: w.own("category", "home-session", "home session"),
		Code: w.own("procedure", "home-session", "Stretching at home"), Subject: w.subject(), PerformedDateTime: instant(x.At), Performer: []Performer{{w.subject()}}}
	if s.Ended != rom.Finished {
		p.Status = "stopped"
		reason := string(s.Ended)
		if s.Stop != "" {
			reason = string(s.Stop)
		}
		p.StatusReason = w.own("stop", reason, words(reason))
	}
	if e, ok := w.in.History.Episode(s.Episode); ok {
		p.BodySite = []Concept{*shoulder(e.Side)}
	}
	for _, it := range s.Items {
		text := words(string(it.Exercise)) + ": "
		if it.Skipped != "" {
			text += "left out, " + words(string(it.Skipped))
		} else {
			tenths, done := 0, 0
			for _, h := range it.Holds {
				tenths += h.Tenths
				if h.Counted {
					done++
				}
			}
			text += fmt.Sprintf("%d of %d repetitions, %d s held", done, it.Dose.Reps, tenths/10)
		}
		p.Note = append(p.Note, Note{text})
	}
	w.recorded(p, x.Meta, s.By)
}

func words(code string) string { return strings.ReplaceAll(code, "-", " ") }

// instant is a time with its offset. R4 wants one where a Provenance was
// recorded; a row that was never given a time has the beginning of 1970.
func instant(t time.Time) string {
	if t.IsZero() {
		return "1970-01-01T00:00:00Z"
	}
	return t.Format("2006-01-02T15:04:05.000Z07:00")
}

func dateOf(d rom.Date) string { return d.String() }

func sortedKeys(m map[rom.StaffID]bool) []rom.StaffID {
	out := make([]rom.StaffID, 0, len(m))
	for k := range m {
		out = append(out, k)
	}
	slices.Sort(out)
	return out
}
