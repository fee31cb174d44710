package protocol

import (
	"cmp"
	"encoding/json"
	"fmt"
	"slices"

	"unsling/engine/rom"
)

// Fault is one thing wrong with a protocol file.
type Fault struct {
	Line   int    // counted from 1
	Path   string // such as "phases[2].limits[0].ceil"
	Reason string // the predicate of a sentence
}

func (f Fault) String() string {
	if f.Path == "" {
		return fmt.Sprintf("line %d: %s", f.Line, f.Reason)
	}
	return fmt.Sprintf("line %d: %s %s", f.Line, f.Path, f.Reason)
}

// FaultsError says that a file is no valid protocol.
type FaultsError struct{ Faults []Fault }

func (e *FaultsError) Error() string {
	switch len(e.Faults) {
	case 0:
		return "the protocol has faults"
	case 1:
		return e.Faults[0].String()
	}
	return fmt.Sprintf("%s (and %d more)", e.Faults[0], len(e.Faults)-1)
}

// Check reads a protocol file and lists everything wrong with it, by line:
// form, days without a phase, ceilings above anatomy, classes that fall back,
// a rising class without clearance, exercises and measurements that their own
// phase does not allow, values without a source.
func Check(file []byte) []Fault {
	p, at, faults := readFile(file)
	if l, ok := at["adopted"]; ok {
		faults = append(faults, Fault{l, "adopted", "must not stand in a file: a surgeon adopts the protocol in the program"})
	}
	if len(p.Phases) == 0 && len(faults) > 0 {
		return sorted(faults)
	}
	known := map[string]bool{}
	for _, f := range faults {
		known[f.Path] = true
	}
	r := rules{p: p}
	for _, f := range r.run() {
		if !known[f.Path] {
			known[f.Path] = true
			f.Line = at.line(f.Path)
			faults = append(faults, f)
		}
	}
	if len(faults) == 0 {
		if n := p.planBytes(); n > MaxPlanBytes {
			faults = append(faults, Fault{1, "", fmt.Sprintf("makes a plan of %d bytes, more than a record can hold (%d)", n, MaxPlanBytes)})
		}
	}
	return sorted(faults)
}

// mostFaults is how many faults are told; a file with more is no protocol.
const mostFaults = 100

func sorted(faults []Fault) []Fault {
	slices.SortStableFunc(faults, func(a, b Fault) int { return cmp.Compare(a.Line, b.Line) })
	return faults[:min(len(faults), mostFaults)]
}

// Parse reads a protocol file; a *FaultsError lists what is wrong with it.
func Parse(file []byte) (Protocol, error) {
	if faults := Check(file); len(faults) > 0 {
		return Protocol{}, &FaultsError{faults}
	}
	p, _, _ := readFile(file)
	return p, nil
}

// planBytes returns the length of a plan made from p.
func (p Protocol) planBytes() int {
	b, err := json.Marshal(p.plan(Choices{By: "surgeon", Reason: "first plan", Contact: rom.Contact{Phone: "0"}}))
	if err != nil {
		return MaxPlanBytes + 1
	}
	return len(b)
}
