// Package fhir writes what the clinic has of a patient as FHIR R4 (4.0.1)
// resources, and reads patients that others bring as a Bundle.
//
// Written are Patient, EpisodeOfCare, Procedure (the operation and each home
// session), CarePlan (every revision), Observation (angles and pain), Device
// (phones), Practitioner, Organization, and a Provenance for each that says who
// recorded it and when. Angles carry LOINC codes and UCUM units; where LOINC
// has no code for a motion, or one that says less than we know, the code of
// our own stands alone or beside it. An angle of external rotation at 20 of
// abduction is never given without saying so.
//
// The package is pure: instants are arguments. Ids of resources are those of
// the store, with what FHIR does not allow in an id replaced (see ID).
//
// # Decisions
//
//   - LOINC's range-of-motion codes say passive or active and nothing of the arm's position: our own code stands
//     beside each and alone for active-assisted, glenohumeral and levels. Look each code up at loinc.org before a
//     release.
package fhir

// Resource is one resource. The concrete types below have the members that
// we write, in the order in which R4 defines them.
type Resource interface {
	// Ref is "Type/id".
	Ref() string
}

// Meta is what every resource says of itself.
type Meta struct {
	LastUpdated string `json:"lastUpdated,omitempty"` // instant
	VersionID   string `json:"versionId,omitempty"`
}

// Coding is one code of one system.
type Coding struct {
	System  string `json:"system,omitempty"`
	Code    string `json:"code,omitempty"`
	Display string `json:"display,omitempty"`
}

// Concept is a CodeableConcept.
type Concept struct {
	Coding []Coding `json:"coding,omitempty"`
	Text   string   `json:"text,omitempty"`
}

// Reference points at a resource.
type Reference struct {
	Reference string `json:"reference,omitempty"`
	Display   string `json:"display,omitempty"`
}

// Identifier is a business identifier.
type Identifier struct {
	System string `json:"system,omitempty"`
	Value  string `json:"value,omitempty"`
}

// Period is from a date or instant to another.
type Period struct {
	Start string `json:"start,omitempty"`
	End   string `json:"end,omitempty"`
}

// Quantity is a number with its UCUM unit.
type Quantity struct {
	Value  int    `json:"value"`
	Unit   string `json:"unit,omitempty"`
	System string `json:"system,omitempty"`
	Code   string `json:"code,omitempty"`
}

// Note is an Annotation.
type Note struct {
	Text string `json:"text"`
}

// HumanName is a name.
type HumanName struct {
	Text   string   `json:"text,omitempty"`
	Family string   `json:"family,omitempty"`
	Given  []string `json:"given,omitempty"`
}

// Contact is a ContactPoint.
type Contact struct {
	System string `json:"system,omitempty"`
	Value  string `json:"value,omitempty"`
}

// Communication is a language of a patient.
type Communication struct {
	Language Concept `json:"language"`
}

type head struct {
	ResourceType string `json:"resourceType"`
	ID           string `json:"id,omitempty"`
	Meta         *Meta  `json:"meta,omitempty"`
}

// Ref is "Type/id".
func (h head) Ref() string { return h.ResourceType + "/" + h.ID }

// Patient is the person. Without a name it is a pseudonym.
type Patient struct {
	head
	Identifier           []Identifier    `json:"identifier,omitempty"`
	Active               bool            `json:"active"`
	Name                 []HumanName     `json:"name,omitempty"`
	Telecom              []Contact       `json:"telecom,omitempty"`
	BirthDate            string          `json:"birthDate,omitempty"`
	Communication        []Communication `json:"communication,omitempty"`
	ManagingOrganization *Reference      `json:"managingOrganization,omitempty"`
}

// EpisodeOfCare is one operated shoulder from booking to discharge.
type EpisodeOfCare struct {
	head
	Status               string     `json:"status"`
	Type                 []Concept  `json:"type,omitempty"`
	Patient              Reference  `json:"patient"`
	ManagingOrganization *Reference `json:"managingOrganization,omitempty"`
	Period               *Period    `json:"period,omitempty"`
}

// Procedure is an operation, or a session of exercises.
type Procedure struct {
	head
	Identifier        []Identifier `json:"identifier,omitempty"`
	Status            string       `json:"status"`
	StatusReason      *Concept     `json:"statusReason,omitempty"`
	Category          *Concept     `json:"category,omitempty"`
	Code              *Concept     `json:"code,omitempty"`
	Subject           Reference    `json:"subject"`
	PerformedDateTime string       `json:"performedDateTime,omitempty"`
	Performer         []Performer  `json:"performer,omitempty"`
	BodySite          []Concept    `json:"bodySite,omitempty"`
	Note              []Note       `json:"note,omitempty"`
}

// Performer is who did a procedure.
type Performer struct {
	Actor Reference `json:"actor"`
}

// CarePlan is one revision of a plan.
type CarePlan struct {
	head
	Identifier []Identifier `json:"identifier,omitempty"`
	Replaces   []Reference  `json:"replaces,omitempty"`
	Status     string       `json:"status"`
	Intent     string       `json:"intent"`
	Category   []Concept    `json:"category,omitempty"`
	Title      string       `json:"title,omitempty"`
	Subject    Reference    `json:"subject"`
	Period     *Period      `json:"period,omitempty"`
	Created    string       `json:"created,omitempty"`
	Author     *Reference   `json:"author,omitempty"`
	Activity   []Activity   `json:"activity,omitempty"`
	Note       []Note       `json:"note,omitempty"`
}

// Activity is one prescribed exercise of one phase.
type Activity struct {
	Detail ActivityDetail `json:"detail"`
}

// ActivityDetail is what is done.
type ActivityDetail struct {
	Kind            string   `json:"kind,omitempty"`
	Code            *Concept `json:"code,omitempty"`
	Status          string   `json:"status"`
	DoNotPerform    bool     `json:"doNotPerform,omitempty"`
	ScheduledTiming *Timing  `json:"scheduledTiming,omitempty"`
	Description     string   `json:"description,omitempty"`
}

// Timing is how often.
type Timing struct {
	Repeat TimingRepeat `json:"repeat"`
}

// TimingRepeat is so many times in a period.
type TimingRepeat struct {
	Frequency  int    `json:"frequency"`
	Period     int    `json:"period"`
	PeriodUnit string `json:"periodUnit"`
}

// Observation is an angle, a level, or a score of pain.
type Observation struct {
	head
	Status               string      `json:"status"`
	Category             []Concept   `json:"category,omitempty"`
	Code                 Concept     `json:"code"`
	Subject              Reference   `json:"subject"`
	EffectiveDateTime    string      `json:"effectiveDateTime,omitempty"`
	Issued               string      `json:"issued,omitempty"`
	Performer            []Reference `json:"performer,omitempty"`
	ValueQuantity        *Quantity   `json:"valueQuantity,omitempty"`
	ValueCodeableConcept *Concept    `json:"valueCodeableConcept,omitempty"`
	Note                 []Note      `json:"note,omitempty"`
	BodySite             *Concept    `json:"bodySite,omitempty"`
	Method               *Concept    `json:"method,omitempty"`
	Device               *Reference  `json:"device,omitempty"`
	Component            []Component `json:"component,omitempty"`
}

// Component is one trial, or what was felt beside the value.
type Component struct {
	Code                 Concept   `json:"code"`
	ValueQuantity        *Quantity `json:"valueQuantity,omitempty"`
	ValueCodeableConcept *Concept  `json:"valueCodeableConcept,omitempty"`
}

// Provenance says who recorded a resource and when.
type Provenance struct {
	head
	Target           []Reference `json:"target"`
	OccurredDateTime string      `json:"occurredDateTime,omitempty"`
	Recorded         string      `json:"recorded"`
	Agent            []Agent     `json:"agent"`
	Entity           []Entity    `json:"entity,omitempty"`
}

// Agent is who had a part in it.
type Agent struct {
	Type       *Concept   `json:"type,omitempty"`
	Who        Reference  `json:"who"`
	OnBehalfOf *Reference `json:"onBehalfOf,omitempty"`
}

// Entity is what it was made from.
type Entity struct {
	Role string    `json:"role"`
	What Reference `json:"what"`
}

// Device is one installation of the app.
type Device struct {
	head
	Identifier []Identifier    `json:"identifier,omitempty"`
	Status     string          `json:"status,omitempty"`
	Type       *Concept        `json:"type,omitempty"`
	Version    []DeviceVersion `json:"version,omitempty"`
	Patient    *Reference      `json:"patient,omitempty"`
}

// DeviceVersion is the version of the app.
type DeviceVersion struct {
	Value string `json:"value"`
}

// Practitioner is a member of staff.
type Practitioner struct {
	head
	Identifier []Identifier `json:"identifier,omitempty"`
	Name       []HumanName  `json:"name,omitempty"`
}

// Organization is the clinic.
type Organization struct {
	head
	Name    string    `json:"name"`
	Telecom []Contact `json:"telecom,omitempty"`
}

// Bundle is a set of resources.
type Bundle struct {
	head
	Type      string  `json:"type"`
	Timestamp string  `json:"timestamp,omitempty"`
	Total     *int    `json:"total,omitempty"`
	Link      []Link  `json:"link,omitempty"`
	Entry     []Entry `json:"entry,omitempty"`
}

// Link leads to another page of a search.
type Link struct {
	Relation string `json:"relation"`
	URL      string `json:"url"`
}

// Entry is one resource of a bundle.
type Entry struct {
	FullURL  string   `json:"fullUrl,omitempty"`
	Resource Resource `json:"resource"`
	Search   *Search  `json:"search,omitempty"`
}

// Search says why an entry is there.
type Search struct {
	Mode string `json:"mode"`
}

// OperationOutcome is what went wrong.
type OperationOutcome struct {
	head
	Issue []Issue `json:"issue"`
}

// Issue is one thing that went wrong.
type Issue struct {
	Severity    string `json:"severity"`
	Code        string `json:"code"`
	Diagnostics string `json:"diagnostics,omitempty"`
}

// Outcome makes an OperationOutcome of one error; code is of the value set
// issue-type.
func Outcome(code, text string) OperationOutcome {
	return OperationOutcome{head: head{ResourceType: "OperationOutcome"}, Issue: []Issue{{"error", code, text}}}
}

// NewBundle makes a bundle; base is put before the references of its entries.
func NewBundle(kind, base string, list []Resource) Bundle {
	b := Bundle{head: head{ResourceType: "Bundle"}, Type: kind}
	for _, r := range list {
		e := Entry{FullURL: base + "/" + r.Ref(), Resource: r}
		if kind == "searchset" {
			e.Search = &Search{"match"}
		}
		b.Entry = append(b.Entry, e)
	}
	return b
}
