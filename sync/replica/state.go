package replica

import (
	"encoding/json"
	"fmt"
	"slices"
	"time"

	"unsling/engine/rom"
	"unsling/sync/wire"
)

// State is what a phone remembers of its agreement with the server. It is
// saved in the transaction of the records it speaks of. A driver does not save
// what follows from an older state than the one on the disk: it costs work only
// as long as the server loses nothing, but a cursor that was taken back would
// then pass over rows that nobody gives back.
type State struct {
	Author rom.Author   `json:"author"`          // this installation
	Old    []rom.Author `json:"old,omitempty"`   // what it was before a fork
	Epoch  string       `json:"epoch,omitempty"` // of the last exchange
	// Acked is how far the server has this author's lines, as far as the
	// phone believes it.
	Acked    wire.Mark   `json:"acked"`
	BackedUp int64       `json:"backed_up,omitempty"` // highest own n in a verified backup
	Since    wire.Cursor `json:"since"`               // how far the patient's log was pulled
	Head     wire.Cursor `json:"head"`                // where its end was at the last exchange
	// Rewound is true from a gap on until the log is pulled anew: the cursor
	// may be of a log that is no more although its hash fits.
	Rewound bool `json:"rewound,omitempty"`
	// Passes counts the passes over the server's log from its start, Pull
	// names the latest; Again is true while one is under way, Return while
	// clinic lines that it did not show are given back, ReturnAfter the last
	// of those sent.
	Passes      int64   `json:"passes,omitempty"`
	Pull        int64   `json:"pull,omitempty"`
	Again       bool    `json:"again,omitempty"`
	Return      bool    `json:"return,omitempty"`
	ReturnAfter rom.Ref `json:"return_after,omitzero"`
	// Revoked is final: sessions are locked, warning signs, the number and
	// export stay.
	Revoked bool `json:"revoked,omitempty"`
	// Unknown is true from the server's word that it knows no such phone until
	// an exchange succeeds or the phone was enrolled anew: records are kept and
	// wait, and a person has to ask the clinic for a new code.
	Unknown bool `json:"unknown,omitempty"`
	// Contact is the server's time at the last exchange.
	Contact time.Time `json:"contact,omitzero"`
}

// DecodeState reads what Encode wrote. Empty text is the state of a phone
// that was never enrolled.
func DecodeState(text []byte) (State, error) {
	var s State
	if len(text) == 0 {
		return s, nil
	}
	if err := json.Unmarshal(text, &s); err != nil {
		return State{}, fmt.Errorf("read the state of the agreement: %w", err)
	}
	return s, nil
}

// Encode returns the text to be saved.
func (s State) Encode() []byte {
	b, err := json.Marshal(s)
	if err != nil {
		panic("state of the agreement does not encode: " + err.Error()) // no field can fail
	}
	return b
}

func (s State) clone() State {
	s.Old = slices.Clone(s.Old)
	return s
}
