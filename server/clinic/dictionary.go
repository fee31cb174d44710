package clinic

import _ "embed"

// dictionaryText says of every kind of record and every field what it means
// and how it is written. It is made from the sources by a test.
//
//go:embed paper/dictionary.json
var dictionaryText []byte

// dictionary is the form of dictionaryText.
type dictionary struct {
	Kinds []dictionaryKind `json:"kinds"`
}

type dictionaryKind struct {
	Kind    string            `json:"kind"`
	Version int               `json:"version"` // that is written today
	Phone   bool              `json:"phone"`   // phones write it
	Clinic  bool              `json:"clinic"`  // the clinic writes it
	Means   string            `json:"means"`
	Form    string            `json:"form,omitempty"` // how it is written, when not plainly field by field
	Fields  []dictionaryField `json:"fields"`
}

type dictionaryField struct {
	Path   string            `json:"path"` // [] is each of a list, .* each of a map
	Type   string            `json:"type"`
	Means  string            `json:"means,omitempty"`
	May    bool              `json:"may_be_absent,omitempty"`
	Values []dictionaryValue `json:"values,omitempty"` // all there are
}

type dictionaryValue struct {
	Value string `json:"value"`
	Means string `json:"means,omitempty"`
}
