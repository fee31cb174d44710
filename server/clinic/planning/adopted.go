package planning

import (
	"encoding/json"
	"fmt"
	"slices"

	"unsling/engine/protocol"
	"unsling/engine/rom"
	"unsling/server/ledger"
)

// Adopted is the protocol of each procedure that the clinic adopted last.
type Adopted map[rom.Procedure]protocol.Protocol

// Read returns the protocol that was adopted, as it was written then.
func Read(row ledger.Adoption) (protocol.Protocol, error) {
	var p protocol.Protocol
	if err := json.Unmarshal(row.Body, &p); err != nil {
		return p, fmt.Errorf("read adopted protocol %s: %w", row.Name, err)
	}
	return p, nil
}

// Newest reads what is in force from every adoption there was, which come by name and version.
func Newest(rows []ledger.Adoption) (Adopted, error) {
	var last []ledger.Adoption
	for i, row := range rows {
		if i+1 == len(rows) || rows[i+1].Name != row.Name {
			last = append(last, row)
		}
	}
	slices.SortStableFunc(last, func(a, b ledger.Adoption) int { return a.At.Compare(b.At) })
	out := Adopted{}
	for _, row := range last {
		p, err := Read(row)
		if err != nil {
			return nil, err
		}
		out[p.Procedure] = p
	}
	return out, nil
}

// Of are the protocols of an episode, in the order of its procedures. A procedure without one is left out.
func (a Adopted) Of(e rom.Episode) (list []protocol.Protocol) {
	for _, x := range e.Procedures {
		if p, ok := a[x]; ok {
			list = append(list, p)
		}
	}
	return list
}

// Behind reports whether a plan rests on another protocol than the one that was adopted last for one of the procedures.
func (a Adopted) Behind(plan rom.Plan, e rom.Episode) bool {
	return slices.ContainsFunc(a.Of(e), func(p protocol.Protocol) bool { return !slices.Contains(plan.Protocol, p.Ref()) })
}

// Conflicts lists where a plan permits more than the protocols of its episode. It is empty where none was adopted.
func (a Adopted) Conflicts(e rom.Episode, plan rom.Plan) ([]protocol.Conflict, error) {
	use := a.Of(e)
	if len(use) == 0 {
		return nil, nil
	}
	merged, err := protocol.Merge(use...)
	if err != nil {
		return nil, err
	}
	return protocol.CheckPlan(plan, merged), nil
}

// AsPlan is a protocol in the form in which plans are compared.
func AsPlan(p protocol.Protocol) rom.Plan {
	plan := rom.Plan{State: rom.Running, Opened: p.Opened, Closed: p.Closed, PassedFrom: p.PassedFrom}
	for _, ph := range p.Phases {
		plan.Phases = append(plan.Phases, ph.Phase)
	}
	return plan
}
