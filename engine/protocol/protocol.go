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
	To int `json:"to,omitempty"`
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

// Weakest returns the weakest mark of any value in p, which is what a
// reviewer sees first.
func (p Protocol) Weakest() rom.Mark { return "" }

// All returns the protocols that come with the program, the five most common
// procedures first. They are drafts: none is adopted.
func All() []Protocol { return nil }

// ByID returns the protocol of All with the given id.
func ByID(id string) (Protocol, bool) { return Protocol{}, false }

// For returns the protocols of All for one procedure.
func For(p rom.Procedure) []Protocol { return nil }
