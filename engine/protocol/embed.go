package protocol

import (
	"embed"
	"encoding/json"
	"fmt"
	"sync"

	"unsling/engine/rom"
)

//go:embed data/*.json data/protocols/*.json
var files embed.FS

type tableSet struct {
	exercises []Exercise
	signs     []SignRule
	pain      []PainRule
	sources   []Citation
}

// tables reads the embedded tables once. They are part of the program and
// covered by tests, so a fault in them is a fault of the program.
var tables = sync.OnceValue(func() tableSet {
	var t tableSet
	read("data/catalogue.json", &t.exercises)
	read("data/signs.json", &t.signs)
	read("data/pain.json", &t.pain)
	read("data/sources.json", &t.sources)
	return t
})

// shipped lists the protocols in the order of All.
var shipped = []string{
	"cuff-repair-small-medium", "anterior-labral-repair", "capsular-release", "biceps-tenodesis", "subacromial-decompression",
	"cuff-repair-large", "cuff-repair-massive", "subscapularis-repair", "posterior-labral-repair", "slap-repair",
}

var protocols = sync.OnceValue(func() []Protocol {
	out := make([]Protocol, len(shipped))
	for i, id := range shipped {
		read("data/protocols/"+id+".json", &out[i])
	}
	return out
})

func read(name string, into any) {
	data, err := files.ReadFile(name)
	if err == nil {
		err = json.Unmarshal(data, into)
	}
	if err != nil {
		panic(fmt.Sprintf("protocol: embedded %s: %v", name, err))
	}
}

// All returns the protocols that come with the program, the five most common
// procedures first. They are drafts: none is adopted. The caller must not
// change what they hold; Adopt returns a copy.
func All() []Protocol { return append([]Protocol(nil), protocols()...) }

// ByID returns the protocol of All with the given id.
func ByID(id string) (Protocol, bool) {
	for _, p := range protocols() {
		if p.ID == id {
			return p, true
		}
	}
	return Protocol{}, false
}

// File returns the text of a protocol of All, as a clinic would begin its own
// from it.
func File(id string) ([]byte, bool) {
	if _, ok := ByID(id); !ok {
		return nil, false
	}
	data, err := files.ReadFile("data/protocols/" + id + ".json")
	return data, err == nil
}

// For returns the protocols of All for one procedure.
func For(p rom.Procedure) []Protocol {
	var out []Protocol
	for _, x := range protocols() {
		if x.Procedure == p {
			out = append(out, x)
		}
	}
	return out
}
