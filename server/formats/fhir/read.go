package fhir

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"

	"unsling/engine/rom"
)

// The largest bundle that ReadPatients takes.
const (
	MostBytes   = 1 << 20
	MostEntries = 10_000
)

// Incoming is one patient of a bundle with the operation that is to be
// followed. What is not there is empty; Faults say in words what cannot be
// read of it.
type Incoming struct {
	Line      int // of the file, where the patient's entry begins
	Name      string
	Born      string
	Number    string
	Phone     string
	Lang      string
	Side      string
	Surgery   string
	Procedure string
	Also      []string
	Faults    []string
	Notes     []string // what was left out
}

// ErrBundle is wrapped by every reason why nothing of a file can be read; the
// text after it is one sentence for people.
var ErrBundle = errors.New("the bundle cannot be read")

func unreadable(format string, args ...any) error {
	return fmt.Errorf("%w: "+format, append([]any{ErrBundle}, args...)...)
}

// Why returns the sentence of an ErrBundle.
func Why(err error) string { return strings.TrimPrefix(err.Error(), ErrBundle.Error()+": ") }

// incomingResource has the members of Patient and Procedure that are read.
type incomingResource struct {
	ResourceType string `json:"resourceType"`
	ID           string `json:"id"`
	Identifier   []struct {
		System, Value string
	} `json:"identifier"`
	Name []struct {
		Use, Text, Family string
		Given             []string
	} `json:"name"`
	Telecom []struct {
		System, Value string
	} `json:"telecom"`
	BirthDate         string          `json:"birthDate"`
	Deceased          json.RawMessage `json:"deceasedDateTime"`
	Communication     []Communication `json:"communication"`
	Status            string          `json:"status"`
	Category          *Concept        `json:"category"`
	Code              *Concept        `json:"code"`
	Subject           Reference       `json:"subject"`
	PerformedDateTime string          `json:"performedDateTime"`
	PerformedPeriod   *Period         `json:"performedPeriod"`
	BodySite          []Concept       `json:"bodySite"`
}

type incomingEntry struct {
	line    int
	fullURL string
	r       incomingResource
}

// ReadPatients reads a Bundle with Patient and Procedure resources: one
// Incoming for each Patient, with the planned or newest operation about it.
// Resources of other types are left out and counted in skipped.
func ReadPatients(file []byte) (list []Incoming, skipped map[string]int, err error) {
	file = bytes.TrimPrefix(file, []byte("\xef\xbb\xbf"))
	switch {
	case len(file) > MostBytes:
		return nil, nil, unreadable("it is larger than %d KiB. Please divide it.", MostBytes>>10)
	case !utf8.Valid(file):
		return nil, nil, unreadable("it is not UTF-8.")
	case bytes.HasPrefix(bytes.TrimSpace(file), []byte("<")):
		return nil, nil, unreadable("it is XML. Please export it as JSON.")
	}
	if err := deep(file); err != nil {
		return nil, nil, err
	}
	var b struct {
		ResourceType string            `json:"resourceType"`
		Entry        []json.RawMessage `json:"entry"`
	}
	if err := json.Unmarshal(file, &b); err != nil {
		var bad *json.SyntaxError
		if errors.As(err, &bad) {
			return nil, nil, unreadable("it is not JSON: line %d, %s.", lineAt(file, int(bad.Offset)), bad.Error())
		}
		return nil, nil, unreadable("it is JSON, and not a FHIR Bundle.")
	}
	switch {
	case b.ResourceType != "Bundle":
		return nil, nil, unreadable("it is a %q, not a Bundle.", b.ResourceType)
	case len(b.Entry) == 0:
		return nil, nil, unreadable("there is nothing in it.")
	case len(b.Entry) > MostEntries:
		return nil, nil, unreadable("it has more than %d entries. Please divide it.", MostEntries)
	}
	var patients, operations []incomingEntry
	skipped = map[string]int{}
	from := 0
	for i, raw := range b.Entry {
		at := from + bytes.Index(file[from:], raw)
		from = at + len(raw)
		var e struct {
			FullURL  string          `json:"fullUrl"`
			Resource json.RawMessage `json:"resource"`
		}
		var r incomingResource
		var kind struct {
			ResourceType string `json:"resourceType"`
		}
		if json.Unmarshal(raw, &e) != nil || json.Unmarshal(e.Resource, &kind) != nil || kind.ResourceType == "" {
			return nil, nil, unreadable("entry %d, line %d, is no resource.", i+1, lineAt(file, at))
		}
		if kind.ResourceType != "Patient" && kind.ResourceType != "Procedure" {
			skipped[kind.ResourceType]++
			continue
		}
		if err := json.Unmarshal(e.Resource, &r); err != nil {
			return nil, nil, unreadable("entry %d, line %d: a member of this %s has another form than FHIR R4 gives it.", i+1, lineAt(file, at), kind.ResourceType)
		}
		x := incomingEntry{lineAt(file, at), e.FullURL, r}
		if r.ResourceType == "Patient" {
			patients = append(patients, x)
		} else {
			operations = append(operations, x)
		}
	}
	if len(patients) == 0 {
		return nil, nil, unreadable("there is no Patient in it.")
	}
	for _, p := range patients {
		list = append(list, incoming(p, operations))
	}
	return list, skipped, nil
}

// deep refuses what nests deeper than any resource does.
func deep(file []byte) error {
	depth, text, escaped := 0, false, false
	for i, c := range file {
		switch {
		case escaped:
			escaped = false
		case text && c == '\\':
			escaped = true
		case c == '"':
			text = !text
		case text:
		case c == '{' || c == '[':
			if depth++; depth > 100 {
				return unreadable("line %d nests deeper than any resource does.", lineAt(file, i))
			}
		case c == '}' || c == ']':
			depth--
		}
	}
	return nil
}

func lineAt(file []byte, offset int) int {
	return 1 + bytes.Count(file[:max(0, min(offset, len(file)))], []byte("\n"))
}

func incoming(p incomingEntry, operations []incomingEntry) Incoming {
	r := p.r
	in := Incoming{Line: p.line, Born: r.BirthDate}
	if len(r.Deceased) > 0 {
		in.Faults = append(in.Faults, "the person is marked as deceased")
	}
	for _, n := range r.Name {
		if in.Name == "" || n.Use == "official" {
			if in.Name = strings.TrimSpace(n.Text); in.Name == "" {
				in.Name = strings.TrimSpace(strings.Join(append(slices.Clone(n.Given), n.Family), " "))
			}
		}
	}
	if len(r.BirthDate) > 0 && len(r.BirthDate) < 10 {
		in.Notes = append(in.Notes, "the date of birth is given as "+r.BirthDate+" only and is left out")
		in.Born = ""
	}
	for _, i := range r.Identifier {
		if !strings.HasSuffix(i.System, "/identifier/patient") && in.Number == "" {
			in.Number = i.Value
		}
	}
	for _, c := range r.Telecom {
		if c.System == "phone" && in.Phone == "" {
			in.Phone = c.Value
		}
	}
	for _, c := range r.Communication {
		for _, k := range c.Language.Coding {
			if lang, _, _ := strings.Cut(strings.ToLower(k.Code), "-"); in.Lang == "" {
				in.Lang = lang
			}
		}
	}
	in.operation(p, operations)
	return in
}

// operation takes the operations about the patient: the newest day counts, and
// what was done on that day on that side belongs together.
func (in *Incoming) operation(p incomingEntry, operations []incomingEntry) {
	var mine []incomingEntry
	for _, o := range operations {
		ref := o.r.Subject.Reference
		if ref != "Patient/"+p.r.ID && (p.fullURL == "" || ref != p.fullURL) && !strings.HasSuffix(ref, "/Patient/"+p.r.ID) {
			continue
		}
		switch {
		case o.r.Status == "not-done" || o.r.Status == "entered-in-error":
			in.Notes = append(in.Notes, fmt.Sprintf("line %d: a procedure that was not done is left out", o.line))
		case procedureOf(o.r) == "":
			if !ownSession(o.r) {
				in.Notes = append(in.Notes, fmt.Sprintf("line %d: the procedure %q is none of this program and is left out", o.line, conceptText(o.r.Code)))
			}
		default:
			mine = append(mine, o)
		}
	}
	for _, o := range mine {
		if on := performed(o.r); on > in.Surgery {
			in.Surgery = on
		}
	}
	for _, o := range mine {
		if performed(o.r) != in.Surgery {
			in.Notes = append(in.Notes, fmt.Sprintf("line %d: an earlier operation is left out", o.line))
			continue
		}
		side := string(sideOf(o.r.BodySite))
		if side == "" && o.r.Code != nil {
			side = string(sideOf([]Concept{*o.r.Code}))
		}
		switch code := string(procedureOf(o.r)); {
		case in.Procedure == "":
			in.Procedure, in.Side = code, side
		case side != in.Side:
			in.Faults = append(in.Faults, "two sides are named for one day of surgery: import one by hand")
		case code != in.Procedure && !slices.Contains(in.Also, code):
			in.Also = append(in.Also, code)
		}
	}
}

func performed(r incomingResource) string {
	on := r.PerformedDateTime
	if on == "" && r.PerformedPeriod != nil {
		on = r.PerformedPeriod.Start
	}
	if len(on) > 10 {
		on = on[:10]
	}
	return on
}

// procedureOf is the procedure of this program that a code of ours, or the
// very text of one, names. Codes of others are not translated: what was done
// decides the limits, and a guess is no place to begin.
func procedureOf(r incomingResource) rom.Procedure {
	if r.Code == nil {
		return ""
	}
	for _, k := range r.Code.Coding {
		if p := rom.Procedure(k.Code); strings.HasSuffix(k.System, "/CodeSystem/procedure") && p.Valid() {
			return p
		}
	}
	if p := rom.Procedure(strings.ReplaceAll(strings.ToLower(strings.TrimSpace(r.Code.Text)), " ", "-")); p.Valid() {
		return p
	}
	return ""
}

func ownSession(r incomingResource) bool {
	return r.Code != nil && slices.ContainsFunc(r.Code.Coding, func(k Coding) bool { return k.Code == "home-session" })
}

func conceptText(c *Concept) string {
	if c == nil {
		return ""
	}
	if c.Text != "" {
		return c.Text
	}
	return displayOf(*c)
}
