package protocol

import (
	"encoding/json"
	"fmt"
	"slices"

	"unsling/engine/rom"
)

// NotAdoptedError says that a protocol was prescribed that no surgeon of the
// clinic has adopted.
type NotAdoptedError struct {
	ID      string
	Version int
}

func (e *NotAdoptedError) Error() string {
	return fmt.Sprintf("protocol %s version %d is a draft: a surgeon of the clinic must review and adopt it first", e.ID, e.Version)
}

// UnansweredError says that the surgeon must answer a question first.
type UnansweredError struct{ Protocol, Key string }

func (e *UnansweredError) Error() string {
	return fmt.Sprintf("protocol %s: the question %q must be answered first", e.Protocol, e.Key)
}

// Adopt returns p as reviewed and adopted by a surgeon on a day, with the days
// from which the clinic lets phases begin where they differ from the draft's
// (phase key to day after surgery). It refuses a protocol with faults. That
// by is a surgeon is for the caller to know.
func Adopt(p Protocol, by rom.StaffID, on rom.Date, gates map[string]int) (Protocol, error) {
	if by == "" || on.IsZero() {
		return Protocol{}, &rom.InvalidError{Field: "adopted", Rule: "must name the surgeon and the day"}
	}
	p = p.clone()
	p.Adopted = Adoption{}
	if err := p.gates(gates, false); err != nil {
		return Protocol{}, err
	}
	file, err := json.MarshalIndent(p, "", "  ")
	if err != nil {
		return Protocol{}, fmt.Errorf("adopt protocol %s: %w", p.ID, err)
	}
	if faults := Check(file); len(faults) > 0 {
		return Protocol{}, &FaultsError{faults}
	}
	p.Adopted = Adoption{By: by, On: on}
	return p, nil
}

// gates moves phases to other days; later phases give way, never earlier ones.
func (p *Protocol) gates(days map[string]int, onlyLater bool) error {
	for key, day := range days {
		i := slices.IndexFunc(p.Phases, func(ph Phase) bool { return ph.Key == key })
		switch {
		case i < 0:
			return &rom.InvalidError{Field: "gate " + key, Rule: "is not a phase of protocol " + p.ID}
		case i == 0 && day != 0:
			return &rom.InvalidError{Field: "gate " + key, Rule: "is the first phase, which begins with the operation"}
		case onlyLater && day < p.Phases[i].From:
			return &rom.InvalidError{Field: "gate " + key, Rule: fmt.Sprintf("must not come before day %d, which the surgeon adopted", p.Phases[i].From)}
		case day < 0 || day > 730:
			return &rom.InvalidError{Field: "gate " + key, Rule: "must lie between day 0 and day 730"}
		}
		p.Phases[i].From = day
	}
	for i := 1; i < len(p.Phases); i++ {
		p.Phases[i].From = max(p.Phases[i].From, p.Phases[i-1].From)
		p.Phases[i-1].To = p.Phases[i].From
	}
	return nil
}

// MissingError says that a procedure of the episode has no protocol among
// those given.
type MissingError struct{ Procedure rom.Procedure }

func (e *MissingError) Error() string {
	return fmt.Sprintf("no protocol for %s was given", e.Procedure)
}
