package wire

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"

	"unsling/engine/rom"
)

// Kind names what a record says.
type Kind string

// The kinds. Sling to Install are written by phones, Episode to Score by the
// clinic; Session, Pain, Reading, Seen, Amend and Void by both.
const (
	KindSession   Kind = "session"
	KindReading   Kind = "reading"
	KindPain      Kind = "pain"
	KindSign      Kind = "sign"
	KindSling     Kind = "sling"
	KindQuestion  Kind = "question"
	KindSeen      Kind = "seen"
	KindAdopted   Kind = "adopted"
	KindInstall   Kind = "install"
	KindEpisode   Kind = "episode"
	KindPlan      Kind = "plan"
	KindClearance Kind = "clearance"
	KindTherapy   Kind = "therapy"
	KindVisit     Kind = "visit"
	KindNote      Kind = "note"
	KindTask      Kind = "task"
	KindScore     Kind = "score"
	KindAmend     Kind = "amend"
	KindVoid      Kind = "void"
)

// ErrNotUnderstood means that this program does not know the kind or the
// version yet. Such a record is kept and passed on.
var ErrNotUnderstood = errors.New("kind or version of record is not known here")

// ErrBody means that a body is not what its kind promises.
var ErrBody = errors.New("body is not what its kind promises")

// KindInfo is what is known of a kind.
type KindInfo struct {
	Kind    Kind
	Version int  // the version that is written today
	Phone   bool // a phone may write it
	Clinic  bool // the clinic may write it
	encode  func(body any) (json.RawMessage, error)
	decode  func(v int, raw []byte) (any, error)
}

// MayWrite reports whether a may write records of the kind at all. Whether one
// counts depends on its body as well, see package replica.
func (k KindInfo) MayWrite(a rom.Author) bool {
	if a.FromClinic() {
		return k.Clinic
	}
	return k.Phone
}

var kindTable = index(phoneKinds, clinicKinds, sharedKinds)

func index(groups ...[]KindInfo) map[Kind]KindInfo {
	m := map[Kind]KindInfo{}
	for _, g := range groups {
		for _, k := range g {
			m[k.Kind] = k
		}
	}
	return m
}

// Info returns what is known of a kind; ok is false for an unknown one.
func Info(k Kind) (info KindInfo, ok bool) {
	info, ok = kindTable[k]
	return info, ok
}

// Kinds lists the known kinds in a fixed order.
func Kinds() []KindInfo {
	var out []KindInfo
	for _, g := range [][]KindInfo{phoneKinds, clinicKinds, sharedKinds} {
		out = append(out, g...)
	}
	return out
}

// EncodeBody returns the body's JSON and the version it is written in. body
// must be the rom type of the kind, by value, and valid. Errors wrap
// ErrNotUnderstood or ErrBody.
func EncodeBody(k Kind, body any) (raw json.RawMessage, v int, err error) {
	info, ok := kindTable[k]
	if !ok {
		return nil, 0, fmt.Errorf("encode a body of kind %q: %w", k, ErrNotUnderstood)
	}
	if raw, err = info.encode(body); err != nil {
		return nil, 0, fmt.Errorf("encode a %s: %w", k, err)
	}
	return raw, info.Version, nil
}

// DecodeBody returns the body as the rom type of the kind, by value,
// validated. Errors wrap ErrNotUnderstood for an unknown kind or a higher
// version, and ErrBody otherwise.
func DecodeBody(k Kind, v int, raw []byte) (any, error) {
	info, ok := kindTable[k]
	if !ok || v > info.Version {
		return nil, ErrNotUnderstood
	}
	return info.decode(v, raw)
}

// valid is what the rom types of bodies have in common.
type valid interface{ Validate() error }

// kind makes the entry of a kind whose body is T as encoding/json writes it.
func kind[T valid](k Kind, phone, clinic bool) KindInfo {
	return KindInfo{
		Kind: k, Version: 1, Phone: phone, Clinic: clinic,
		encode: func(body any) (json.RawMessage, error) {
			b, ok := body.(T)
			if !ok {
				return nil, fmt.Errorf("%w: it is a %T", ErrBody, body)
			}
			if err := b.Validate(); err != nil {
				return nil, fmt.Errorf("%w: %w", ErrBody, err)
			}
			return marshal(b)
		},
		decode: func(_ int, raw []byte) (any, error) {
			if b, ok := quickly[T](raw); ok && b.Validate() == nil {
				return b, nil
			}
			var b T
			if err := json.Unmarshal(raw, &b); err != nil {
				return nil, fmt.Errorf("%w: %w", ErrBody, err)
			}
			if err := b.Validate(); err != nil {
				return nil, fmt.Errorf("%w: %w", ErrBody, err)
			}
			return b, nil
		},
	}
}

// marshal writes compact JSON without the escapes meant for HTML.
func marshal(v any) (json.RawMessage, error) {
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false)
	if err := enc.Encode(v); err != nil {
		return nil, fmt.Errorf("%w: %w", ErrBody, err)
	}
	return bytes.TrimSuffix(b.Bytes(), []byte("\n")), nil
}
