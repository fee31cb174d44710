package protocol

import (
	"unsling/engine/rom"
)

// Protocol is what one clinic does after one procedure, from the day of
// surgery to discharge.
type Protocol struct {
	ID        string        `json:"id"`
	Version   int           `json:"version"`
	Procedure rom.Procedure `json:"procedure"`
	// Variant tells protocols of one procedure apart, such as "small-medium";
	// a key of app/words like Title.
	Variant string  `json:"variant"`
	Title   string  `json:"title"`
	Phases  []Phase `json:"phases"`
	// Questions must be answered by the surgeon before a plan is made.
	Questions []Question `json:"questions,omitempty"`
	// Opened and Closed change the locks of the catalogue for this protocol.
	Opened []rom.ExerciseID `json:"opened,omitempty"`
	Closed []rom.ExerciseID `json:"closed,omitempty"`
	// TherapyPerWeek is how many supervised sessions a week are usual.
	TherapyPerWeek int `json:"therapy_per_week,omitempty"`
	// PassedFrom is from which chance on a limit counts as passed; 0 is the
	// default. See rom.Chance.
	PassedFrom    rom.Chance `json:"passed_from,omitempty"`
	PassedFromSrc rom.Source `json:"passed_from_src,omitzero"`
	// Draft says in one sentence of plain English what a reviewer must know;
	// it stands beside the protocol wherever it is shown to staff.
	Draft   string   `json:"draft,omitempty"`
	Adopted Adoption `json:"adopted,omitzero"`
}

// Phase is a phase of a protocol: that of a plan with the day on which the
// next one takes over.
type Phase struct {
	rom.Phase
	// To is the day after surgery on which the next phase may begin; 0 in
	// the last phase, which lasts until discharge.
	To int
	// The sources of what a plan carries without one. Basis is that of the
	// days and the gate.
	SlingFrom, ForbiddenFrom, MeasuresFrom, PainFrom rom.Source
}

// Adoption says that a surgeon of the clinic has reviewed the protocol.
type Adoption struct {
	By rom.StaffID `json:"by"`
	On rom.Date    `json:"on"`
}

// Question is a fact of the operation that changes limits in a way for which
// no source gives numbers, such as a remplissage. When the answer is yes, the
// motions of Locks stay locked in every phase until the surgeon sets limits
// for them in the plan.
type Question struct {
	Key   string       `json:"key"` // key of app/words
	Locks []rom.Motion `json:"locks"`
	From  rom.Source   `json:"src"`
}

// IsAdopted reports whether a surgeon has adopted p.
func (p Protocol) IsAdopted() bool { return p.Adopted.By != "" && !p.Adopted.On.IsZero() }

// Ref names p in a plan.
func (p Protocol) Ref() rom.ProtocolRef { return rom.ProtocolRef{ID: p.ID, Version: p.Version} }

// Sources returns every source of a value in p, in the order of the file.
func (p Protocol) Sources() []rom.Source {
	var out []rom.Source
	add := func(s rom.Source) {
		if s != (rom.Source{}) {
			out = append(out, s)
		}
	}
	for _, ph := range p.Phases {
		add(ph.Basis)
		add(ph.SlingFrom)
		if ph.Gate.Review != nil {
			add(ph.Gate.Review.From)
		}
		for _, l := range ph.Limits {
			add(l.From)
		}
		add(ph.ForbiddenFrom)
		for _, x := range ph.Prescriptions {
			add(x.From)
		}
		add(ph.MeasuresFrom)
		add(ph.PainFrom)
	}
	for _, q := range p.Questions {
		add(q.From)
	}
	add(p.PassedFromSrc)
	return out
}

// Weakest returns the weakest mark of any value in p, which is what a
// reviewer must see first; empty when p has no values.
func (p Protocol) Weakest() rom.Mark {
	var all rom.Source
	for _, s := range p.Sources() {
		if all.Mark == "" {
			all = s
		}
		all = all.Join(s)
		all.Key = s.Key
	}
	return all.Mark
}
