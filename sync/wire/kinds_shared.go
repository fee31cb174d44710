package wire

import (
	"encoding/json"
	"fmt"

	"unsling/engine/rom"
)

// sharedKinds are those that phone and clinic both write. Their bodies name a
// member of staff where the clinic writes; one that does and comes from a
// phone does not count (replica.Counts), nor does an amendment by a phone that
// brings such a name in.
var sharedKinds = []KindInfo{
	kind[rom.Reading](KindReading, true, true),
	kind[rom.Seen](KindSeen, true, true),
	{Kind: KindAmend, Version: 1, Phone: true, Clinic: true, encode: encodeAmend, decode: decodeAmend},
	kind[rom.Void](KindVoid, true, true),
}

// amendBody is how a rom.Amend travels: its new body as JSON inside JSON.
type amendBody struct {
	Target rom.Ref         `json:"target"`
	V      int             `json:"v"` // version of the new body
	Body   json.RawMessage `json:"body"`
	Reason string          `json:"reason"`
}

func encodeAmend(body any) (json.RawMessage, error) {
	a, ok := body.(rom.Amend)
	if !ok {
		return nil, fmt.Errorf("%w: it is a %T", ErrBody, body)
	}
	if err := a.Validate(); err != nil {
		return nil, fmt.Errorf("%w: %w", ErrBody, err)
	}
	if !isCompactObject(a.Body) {
		return nil, fmt.Errorf("%w: the new body is not compact JSON", ErrBody)
	}
	return marshal(amendBody{Target: a.Target, V: max(1, a.V), Body: a.Body, Reason: a.Reason})
}

func decodeAmend(_ int, raw []byte) (any, error) {
	var w amendBody
	if err := json.Unmarshal(raw, &w); err != nil {
		return nil, fmt.Errorf("%w: %w", ErrBody, err)
	}
	a := rom.Amend{Target: w.Target, V: w.V, Body: w.Body, Reason: w.Reason}
	if err := a.Validate(); err != nil {
		return nil, fmt.Errorf("%w: %w", ErrBody, err)
	}
	if w.V < 1 || !isCompactObject(w.Body) {
		return nil, fmt.Errorf("%w: the new body or its version is missing", ErrBody)
	}
	return a, nil
}
