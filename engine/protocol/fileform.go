package protocol

import (
	"encoding/json"

	"unsling/engine/rom"
)

// The structs below are the file form for writing; readFile is its reader.

type fileProtocol struct {
	ID             string           `json:"id"`
	Version        int              `json:"version"`
	Procedure      rom.Procedure    `json:"procedure"`
	Variant        string           `json:"variant,omitempty"`
	Title          string           `json:"title"`
	Draft          string           `json:"draft,omitempty"`
	TherapyPerWeek int              `json:"therapy_per_week,omitempty"`
	PassedFrom     int              `json:"passed_from,omitempty"`
	PassedFromSrc  string           `json:"passed_from_src,omitempty"`
	Questions      []Question       `json:"questions,omitempty"`
	Opened         []rom.ExerciseID `json:"opened,omitempty"`
	Closed         []rom.ExerciseID `json:"closed,omitempty"`
	Adopted        Adoption         `json:"adopted,omitzero"`
	Phases         []filePhase      `json:"phases"`
}

type filePhase struct {
	Key          string            `json:"key"`
	From         int               `json:"from_day"`
	To           int               `json:"to_day,omitempty"`
	Gate         fileGate          `json:"gate,omitzero"`
	Basis        rom.Source        `json:"src"`
	Sling        rom.Sling         `json:"sling"`
	SlingFrom    rom.Source        `json:"sling_src"`
	Limits       []fileLimit       `json:"limits"`
	Forbidden    []string          `json:"forbidden,omitempty"`
	ForbiddenSrc string            `json:"forbidden_src,omitempty"`
	Exercises    []fileExercise    `json:"exercises,omitempty"`
	Measures     []rom.MeasureRule `json:"measures,omitempty"`
	MeasuresSrc  string            `json:"measures_src,omitempty"`
	PainCap      int               `json:"pain_cap"`
	PainFrom     rom.Source        `json:"pain_src"`
	Stretching   bool              `json:"stretching,omitempty"`
}

type fileGate struct {
	Clearance bool          `json:"clearance,omitempty"`
	Waived    rom.StaffID   `json:"waived,omitempty"`
	Review    *fileCriteria `json:"review,omitempty"`
}

type fileCriteria struct {
	Motion  rom.Motion  `json:"m"`
	AtLeast json.Number `json:"at_least"`
	From    rom.Source  `json:"src"`
}

type fileLimit struct {
	Motion  rom.Motion   `json:"m"`
	Class   rom.Class    `json:"class"`
	Floor   json.Number  `json:"floor,omitempty"`
	Open    bool         `json:"open,omitempty"`
	Ceiling *json.Number `json:"ceil,omitempty"`
	Active  json.Number  `json:"active_ceil,omitempty"`
	Highest string       `json:"highest,omitempty"`
	From    rom.Source   `json:"src"`
}

type fileExercise struct {
	Exercise rom.ExerciseID `json:"ex"`
	Motion   rom.Motion     `json:"m,omitempty"`
	Hold     int            `json:"hold"`
	Reps     int            `json:"reps"`
	Rest     int            `json:"rest"`
	PerDay   int            `json:"per_day"`
	From     rom.Source     `json:"src"`
}

// MarshalJSON writes the file form, which UnmarshalJSON and Check read.
func (p Protocol) MarshalJSON() ([]byte, error) {
	f := fileProtocol{
		ID: p.ID, Version: p.Version, Procedure: p.Procedure, Variant: p.Variant, Title: p.Title, Draft: p.Draft,
		TherapyPerWeek: p.TherapyPerWeek, Questions: p.Questions, Opened: p.Opened, Closed: p.Closed, Adopted: p.Adopted,
	}
	if p.PassedFrom != 0 {
		f.PassedFrom, f.PassedFromSrc = int(p.PassedFrom), p.PassedFromSrc.String()
	}
	for _, ph := range p.Phases {
		f.Phases = append(f.Phases, ph.file())
	}
	return json.Marshal(f)
}

func (p Phase) file() filePhase {
	f := filePhase{
		Key: p.Key, From: p.From, To: p.To, Basis: p.Basis, Sling: p.Sling, SlingFrom: p.SlingFrom,
		Gate:      fileGate{Clearance: p.Gate.Clearance, Waived: p.Gate.Waived},
		Forbidden: p.Forbidden, ForbiddenSrc: p.ForbiddenFrom.String(),
		Measures: p.Measures, MeasuresSrc: p.MeasuresFrom.String(),
		PainCap: p.PainCap, PainFrom: p.PainFrom, Stretching: p.Stretching, Limits: []fileLimit{},
	}
	if c := p.Gate.Review; c != nil {
		f.Gate.Review = &fileCriteria{c.Motion, number(c.AtLeast), c.From}
	}
	for _, l := range p.Limits {
		x := fileLimit{Motion: l.Motion, Class: l.Class, Open: l.Open, From: l.From}
		if l.Floor != 0 {
			x.Floor = number(l.Floor)
		}
		if l.ActiveCeil != 0 {
			x.Active = number(l.ActiveCeil)
		}
		switch {
		case l.Open:
		case l.Highest != 0:
			x.Highest = l.Highest.String()
		default:
			n := number(l.Ceiling)
			x.Ceiling = &n
		}
		f.Limits = append(f.Limits, x)
	}
	for _, x := range p.Prescriptions {
		f.Exercises = append(f.Exercises, fileExercise{x.Exercise, x.Motion, x.Dose.Hold, x.Dose.Reps, x.Dose.Rest, x.Dose.PerDay, x.From})
	}
	return f
}

func number(d rom.Degrees) json.Number { return json.Number(d.String()) }
