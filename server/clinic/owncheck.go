package clinic

import (
	"encoding/json"
	"net/http"
	"reflect"

	"unsling/engine/protocol"
	"unsling/engine/rom"
	"unsling/server/access"
	"unsling/server/clinic/planning"
)

// nextVersion is the text of the clinic's own protocol that was adopted last,
// with the next number, to go on from.
func (v *visit) nextVersion(id string) (string, error) {
	rows, err := v.desk.Store.Adoptions()
	if err != nil {
		return "", err
	}
	var last *protocol.Protocol
	for _, row := range rows {
		if row.Name == id {
			pr, err := planning.Read(row)
			if err != nil {
				return "", err
			}
			last = &pr
		}
	}
	if last == nil {
		return "", nil
	}
	last.Version++
	last.Adopted = protocol.Adoption{}
	text, err := json.MarshalIndent(last, "", "  ")
	return string(text), err
}

// versionTaken reports whether another text of the same id and version was
// adopted.
func (v *visit) versionTaken(p protocol.Protocol) (bool, error) {
	rows, err := v.desk.Store.Adoptions()
	if err != nil {
		return false, err
	}
	p.Adopted = protocol.Adoption{}
	for _, row := range rows {
		if row.Name != p.ID {
			continue
		}
		was, err := planning.Read(row)
		if err != nil {
			return false, err
		}
		was.Adopted = protocol.Adoption{}
		if was.Version > p.Version || was.Version == p.Version && !reflect.DeepEqual(was, p) {
			return true, nil
		}
	}
	return false, nil
}

// reviewOwn puts in view what a surgeon answers for: in what the text differs
// from what is prescribed now, and which of its values nobody has read.
func (v *visit) reviewOwn(page *ownPage, p protocol.Protocol) error {
	adopted, err := v.adopted()
	if err != nil {
		return err
	}
	if was, ok := adopted[p.Procedure]; ok {
		page.Against = refs([]rom.ProtocolRef{was.Ref()})
		page.Changes = protocolChanges(was, p)
	}
	for _, ph := range p.Phases {
		for _, l := range ph.Limits {
			if l.From.Mark == rom.Memory {
				page.Weak = append(page.Weak, ph.Key+", "+name(motionNames, l.Motion)+": "+limitText(l)+" ("+l.From.String()+")")
			}
		}
		for _, x := range ph.Prescriptions {
			if x.From.Mark == rom.Memory {
				page.Weak = append(page.Weak, ph.Key+", "+name(exerciseNames, x.Exercise)+": "+x.Dose.String()+" ("+x.From.String()+")")
			}
		}
	}
	return nil
}

// ownFault is one fault as the editor's script reads it.
type ownFault struct {
	Line   int    `json:"line"`
	Path   string `json:"path"`
	Reason string `json:"reason"`
}

// ownCheck answers the editor while somebody types: the faults of the text,
// by the same rules as the button. Nothing is kept.
func (d *Desk) ownCheck(v *visit) error {
	if err := v.may(access.DraftProtocol); err != nil {
		return err
	}
	out := struct {
		Faults []ownFault `json:"faults"`
	}{[]ownFault{}}
	text := v.text("text")
	if text == "" {
		return refuse(http.StatusUnprocessableEntity, "Please paste the protocol's text.")
	}
	for _, x := range protocol.Check([]byte(text)) {
		out.Faults = append(out.Faults, ownFault{x.Line, x.Path, x.Reason})
	}
	return v.json(out)
}
