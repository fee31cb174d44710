package access

import (
	"crypto/ed25519"
	"crypto/sha256"
	"encoding/base64"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strings"
	"time"
)

// Alg is the signature algorithm of the clinic's tokens (RFC 8037).
const Alg = "EdDSA"

var (
	b64   = base64.RawURLEncoding.Strict() // of tokens and keys
	std64 = base64.RawStdEncoding.Strict() // of PHC strings
)

// SigningKey is one Ed25519 key of the clinic.
type SigningKey struct {
	ID      string // RFC 7638 thumbprint
	Private ed25519.PrivateKey
	Made    time.Time
}

// Public returns the public half.
func (k SigningKey) Public() ed25519.PublicKey { return k.Private.Public().(ed25519.PublicKey) }

// NewSigningKey makes a key from 32 bytes of chance.
func NewSigningKey(chance io.Reader, made time.Time) (SigningKey, error) {
	seed := make([]byte, ed25519.SeedSize)
	if _, err := io.ReadFull(chance, seed); err != nil {
		return SigningKey{}, fmt.Errorf("make signing key: %w", err)
	}
	return keyFromSeed(seed, made), nil
}

func keyFromSeed(seed []byte, made time.Time) SigningKey {
	private := ed25519.NewKeyFromSeed(seed)
	k := SigningKey{Private: private, Made: made}
	k.ID = thumbprint("crv", "Ed25519", "kty", "OKP", "x", b64.EncodeToString(k.Public()))
	return k
}

// thumbprint is the SHA-256 of the required members of a JWK, given as names
// and values in lexicographic order (RFC 7638 section 3; RFC 8037 appendix
// A.3 for OKP). Values are base64url or fixed words: nothing to escape.
func thumbprint(members ...string) string {
	var text strings.Builder
	for i := 0; i < len(members); i += 2 {
		text.WriteString(`,"` + members[i] + `":"` + members[i+1] + `"`)
	}
	sum := sha256.Sum256([]byte("{" + text.String()[1:] + "}"))
	return b64.EncodeToString(sum[:])
}

// KeySet holds the keys of one clinic. Current signs. Next is published
// before it signs, so that others can fetch it; Previous still verifies until
// every token it signed has run out. The zero SigningKey means none.
type KeySet struct {
	Next, Current, Previous SigningKey
}

// NewKeySet makes a set with a current and a next key.
func NewKeySet(chance io.Reader, made time.Time) (KeySet, error) {
	current, err := NewSigningKey(chance, made)
	if err != nil {
		return KeySet{}, err
	}
	next, err := NewSigningKey(chance, made)
	if err != nil {
		return KeySet{}, err
	}
	return KeySet{Current: current, Next: next}, nil
}

// Rotate makes Next the current key and adds a fresh Next. What was Previous
// no longer verifies.
func (s KeySet) Rotate(chance io.Reader, at time.Time) (KeySet, error) {
	fresh, err := NewSigningKey(chance, at)
	if err != nil {
		return s, err
	}
	return KeySet{Next: fresh, Current: s.Next, Previous: s.Current}, nil
}

// PublishedFor is how long a key is published before it signs.
const PublishedFor = 24 * time.Hour

// Due reports whether the current key has signed for that long. It began to
// when the next one was made. A next key that nobody could have fetched yet
// is never due.
func (s KeySet) Due(now time.Time, age time.Duration) bool {
	return now.Sub(s.Next.Made) >= max(age, PublishedFor)
}

func (s KeySet) all() []SigningKey {
	var keys []SigningKey
	for _, k := range []SigningKey{s.Next, s.Current, s.Previous} {
		if k.ID != "" {
			keys = append(keys, k)
		}
	}
	return keys
}

// find returns the public key with that id. It is a look-up in memory and
// nothing else: no key, address or file is ever taken from a token.
func (s KeySet) find(kid string) (ed25519.PublicKey, bool) {
	for _, k := range s.all() {
		if k.ID == kid {
			return k.Public(), true
		}
	}
	return nil, false
}

type publicJWK struct {
	Kty string `json:"kty"`
	Crv string `json:"crv"`
	X   string `json:"x"`
	Kid string `json:"kid"`
	Use string `json:"use"`
	Alg string `json:"alg"`
}

// JWKS returns the public keys as an RFC 7517 key set.
func (s KeySet) JWKS() []byte {
	set := struct {
		Keys []publicJWK `json:"keys"`
	}{Keys: []publicJWK{}}
	for _, k := range s.all() {
		set.Keys = append(set.Keys, publicJWK{
			Kty: "OKP", Crv: "Ed25519", X: b64.EncodeToString(k.Public()), Kid: k.ID, Use: "sig", Alg: Alg,
		})
	}
	text, err := json.Marshal(set)
	if err != nil { // strings only: cannot fail
		panic(err)
	}
	return text
}

type privateJWK struct {
	Kty  string    `json:"kty"`
	Crv  string    `json:"crv"`
	X    string    `json:"x"`
	D    string    `json:"d"`
	Role string    `json:"role"` // next, current, previous
	Made time.Time `json:"made"`
}

var errKeyFile = errors.New("not a key set as this program writes it")

// MarshalJSON writes the set with its private keys. Keep the result in a file
// that only the server can read.
func (s KeySet) MarshalJSON() ([]byte, error) {
	var keys []privateJWK
	for _, one := range []struct {
		role string
		key  SigningKey
	}{{"next", s.Next}, {"current", s.Current}, {"previous", s.Previous}} {
		if one.key.ID != "" {
			keys = append(keys, privateJWK{Kty: "OKP", Crv: "Ed25519", X: b64.EncodeToString(one.key.Public()),
				D: b64.EncodeToString(one.key.Private.Seed()), Role: one.role, Made: one.key.Made.UTC()})
		}
	}
	return json.Marshal(struct {
		Keys []privateJWK `json:"keys"`
	}{keys})
}

// UnmarshalJSON reads what MarshalJSON wrote and refuses a key whose two
// halves do not belong together.
func (s *KeySet) UnmarshalJSON(text []byte) error {
	var file struct {
		Keys []privateJWK `json:"keys"`
	}
	if err := json.Unmarshal(text, &file); err != nil {
		return errKeyFile
	}
	var set KeySet
	for _, j := range file.Keys {
		seed, err := b64.DecodeString(j.D)
		if err != nil || len(seed) != ed25519.SeedSize || j.Kty != "OKP" || j.Crv != "Ed25519" {
			return errKeyFile
		}
		key := keyFromSeed(seed, j.Made)
		if b64.EncodeToString(key.Public()) != j.X {
			return errKeyFile
		}
		switch j.Role {
		case "next":
			set.Next = key
		case "current":
			set.Current = key
		case "previous":
			set.Previous = key
		default:
			return errKeyFile
		}
	}
	if set.Current.ID == "" || set.Next.ID == "" {
		return errKeyFile
	}
	*s = set
	return nil
}
