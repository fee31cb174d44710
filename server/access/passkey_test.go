package access

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/sha256"
	"encoding/binary"
	"encoding/json"
	"errors"
	"testing"
	"time"

	"unsling/server/ledger"
)

// device is a WebAuthn authenticator in software, written from the standard
// (W3C Web Authentication Level 3: section 6.1 authenticator data, 6.5.4
// attestation object of format none, 5.8.1 client data) and not from the
// library that verifies it.
type device struct {
	origin, rp string
	key        *ecdsa.PrivateKey
	id         []byte
	handle     []byte
	count      uint32
	unverified bool // does not ask for fingerprint or PIN
	crossed    bool // in a frame of another site
}

func newDevice(t *testing.T, origin, rp string) *device {
	t.Helper()
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	id := make([]byte, 32)
	if _, err := rand.Read(id); err != nil {
		t.Fatal(err)
	}
	return &device{origin: origin, rp: rp, key: key, id: id}
}

// CBOR (RFC 8949) as far as it is needed.
func cborHead(major byte, n int) []byte {
	switch {
	case n < 24:
		return []byte{major<<5 | byte(n)}
	case n < 256:
		return []byte{major<<5 | 24, byte(n)}
	}
	return []byte{major<<5 | 25, byte(n >> 8), byte(n)}
}
func cborBytes(b []byte) []byte { return append(cborHead(2, len(b)), b...) }
func cborText(s string) []byte  { return append(cborHead(3, len(s)), s...) }

func (d *device) data(attested bool) []byte {
	rp := sha256.Sum256([]byte(d.rp))
	flags := byte(1) // present
	if !d.unverified {
		flags |= 4
	}
	if attested {
		flags |= 0x40
	}
	d.count++
	out := binary.BigEndian.AppendUint32(append(rp[:], flags), d.count)
	if !attested {
		return out
	}
	out = append(out, make([]byte, 16)...) // AAGUID
	out = binary.BigEndian.AppendUint16(out, uint16(len(d.id)))
	out = append(out, d.id...)
	pub, _ := d.key.PublicKey.Bytes()
	// COSE key of RFC 9053: {1: 2, 3: -7, -1: 1, -2: x, -3: y}
	out = append(out, 0xa5, 0x01, 0x02, 0x03, 0x26, 0x20, 0x01, 0x21)
	out = append(out, cborBytes(pub[1:33])...)
	return append(append(out, 0x22), cborBytes(pub[33:])...)
}

func (d *device) client(kind string, c Challenge) []byte {
	var o struct {
		Challenge string `json:"challenge"`
		User      struct {
			ID string `json:"id"`
		} `json:"user"`
	}
	if err := json.Unmarshal(c.Options, &o); err != nil {
		panic(err)
	}
	if o.User.ID != "" {
		d.handle, _ = b64.DecodeString(o.User.ID)
	}
	text, _ := json.Marshal(map[string]any{"type": kind, "challenge": o.Challenge, "origin": d.origin, "crossOrigin": d.crossed})
	return text
}

func (d *device) answer(response map[string]string) string {
	id := b64.EncodeToString(d.id)
	text, _ := json.Marshal(map[string]any{"id": id, "rawId": id, "type": "public-key", "response": response, "clientExtensionResults": map[string]any{}})
	return string(text)
}

func (d *device) create(c Challenge) string {
	client := d.client("webauthn.create", c)
	object := append([]byte{0xa3}, cborText("fmt")...)
	object = append(append(object, cborText("none")...), cborText("attStmt")...)
	object = append(append(object, 0xa0), cborText("authData")...)
	object = append(object, cborBytes(d.data(true))...)
	return d.answer(map[string]string{"clientDataJSON": b64.EncodeToString(client), "attestationObject": b64.EncodeToString(object)})
}

func (d *device) sign(t *testing.T, c Challenge) string {
	t.Helper()
	client := d.client("webauthn.get", c)
	data := d.data(false)
	sum := sha256.Sum256(client)
	digest := sha256.Sum256(append(append([]byte{}, data...), sum[:]...))
	sig, err := ecdsa.SignASN1(rand.Reader, d.key, digest[:])
	if err != nil {
		t.Fatal(err)
	}
	return d.answer(map[string]string{"clientDataJSON": b64.EncodeToString(client), "authenticatorData": b64.EncodeToString(data),
		"signature": b64.EncodeToString(sig), "userHandle": b64.EncodeToString(d.handle)})
}

const clinicOrigin, clinicHost = "https://clinic.test", "clinic.test"

func testPasskeys(t *testing.T) *Passkeys {
	t.Helper()
	box, err := NewBox([]byte("0123456789abcdef0123456789abcdef"), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	p, err := NewPasskeys(clinicOrigin, "Test practice", box)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// register gives the person a passkey of the device.
func register(t *testing.T, p *Passkeys, row *ledger.Staff, d *device) {
	t.Helper()
	c, err := p.BeginNew(*row, "s1", noon)
	if err != nil {
		t.Fatal(err)
	}
	key, err := p.FinishNew(*row, "s1", c.State, d.create(c), "laptop", noon)
	if err != nil {
		t.Fatal(err)
	}
	row.Factors.Passkeys = append(row.Factors.Passkeys, key)
}

func finder(rows ...*ledger.Staff) func(string) (ledger.Staff, error) {
	return func(id string) (ledger.Staff, error) {
		for _, r := range rows {
			if string(r.ID) == id {
				return *r, nil
			}
		}
		return ledger.Staff{}, ledger.ErrUnknown
	}
}

func TestPasskeyRoundTrip(t *testing.T) {
	p := testPasskeys(t)
	vega := &ledger.Staff{ID: "vega", Login: "vega", Name: "Dr Vega", Role: ledger.Surgeon}
	d := newDevice(t, clinicOrigin, clinicHost)
	register(t, p, vega, d)
	c, err := p.BeginSignIn("b1", noon)
	if err != nil {
		t.Fatal(err)
	}
	row, used, clone, err := p.FinishSignIn("b1", c.State, d.sign(t, c), noon.Add(time.Minute), finder(vega))
	if err != nil || row.ID != "vega" || used.Name != "laptop" || clone || used.Used.IsZero() {
		t.Fatalf("%+v %+v clone %v: %v", row.ID, used.Name, clone, err)
	}
	vega.Factors.Passkeys[0] = used
	// A counter that does not rise is told, and does not keep anybody out
	// (Web Authentication Level 3, section 6.1.1).
	d.count = 0
	c, _ = p.BeginSignIn("b1", noon)
	if _, _, clone, err = p.FinishSignIn("b1", c.State, d.sign(t, c), noon, finder(vega)); err != nil || !clone {
		t.Errorf("counter fell: clone %v, %v", clone, err)
	}
}

// Phishing, replay and mix-ups (OWASP ASVS 5.0, 6.3.3; Web Authentication
// Level 3, sections 7.1 and 7.2): each is refused.
func TestPasskeyRefused(t *testing.T) {
	p := testPasskeys(t)
	vega := &ledger.Staff{ID: "vega", Login: "vega", Name: "Dr Vega", Role: ledger.Surgeon}
	orr := &ledger.Staff{ID: "orr", Login: "orr", Name: "Dr Orr", Role: ledger.Surgeon}
	d, other := newDevice(t, clinicOrigin, clinicHost), newDevice(t, clinicOrigin, clinicHost)
	register(t, p, vega, d)
	register(t, p, orr, other)
	find := finder(vega, orr)
	begin := func(bound string) Challenge {
		c, err := p.BeginSignIn(bound, noon)
		if err != nil {
			t.Fatal(err)
		}
		return c
	}
	finish := func(bound, state, answer string, at time.Time) error {
		_, _, _, err := p.FinishSignIn(bound, state, answer, at, find)
		return err
	}
	for name, try := range map[string]func() error{
		"another origin": func() error {
			c := begin("b")
			x := *d
			x.origin = "https://clinic.test.evil.example"
			return finish("b", c.State, x.sign(t, c), noon)
		},
		"another relying party": func() error {
			c := begin("b")
			x := *d
			x.rp = "evil.example"
			return finish("b", c.State, x.sign(t, c), noon)
		},
		"in a frame of another site": func() error {
			c := begin("b")
			x := *d
			x.crossed = true
			return finish("b", c.State, x.sign(t, c), noon)
		},
		"person not verified": func() error {
			c := begin("b")
			x := *d
			x.unverified = true
			return finish("b", c.State, x.sign(t, c), noon)
		},
		"replayed": func() error {
			c := begin("b")
			answer := d.sign(t, c)
			if err := finish("b", c.State, answer, noon); err != nil {
				t.Fatal("the first time: ", err)
			}
			return finish("b", c.State, answer, noon)
		},
		"another browser": func() error { c := begin("b"); return finish("b2", c.State, d.sign(t, c), noon) },
		"too late": func() error {
			c := begin("b")
			return finish("b", c.State, d.sign(t, c), noon.Add(CeremonyLife+time.Second))
		},
		"other challenge": func() error { return finish("b", begin("b").State, d.sign(t, begin("b")), noon) },
		"challenge to make one": func() error {
			c, err := p.BeginNew(*vega, "b", noon)
			if err != nil {
				t.Fatal(err)
			}
			x := *d
			return finish("b", c.State, x.sign(t, c), noon)
		},
		"handle of another person": func() error {
			c := begin("b")
			x := *d
			x.handle = []byte("orr")
			return finish("b", c.State, x.sign(t, c), noon)
		},
		"nobody's handle": func() error {
			c := begin("b")
			x := *d
			x.handle = []byte("nobody")
			return finish("b", c.State, x.sign(t, c), noon)
		},
		"key of another device": func() error {
			c := begin("b")
			x := *d
			x.key = other.key
			return finish("b", c.State, x.sign(t, c), noon)
		},
		"no state": func() error { c := begin("b"); return finish("b", "", d.sign(t, c), noon) },
		"not JSON": func() error { return finish("b", begin("b").State, "{", noon) },
		"empty":    func() error { return finish("b", begin("b").State, "", noon) },
		"new, other origin": func() error {
			c, _ := p.BeginNew(*vega, "s", noon)
			x := newDevice(t, "https://evil.example", clinicHost)
			_, err := p.FinishNew(*vega, "s", c.State, x.create(c), "x", noon)
			return err
		},
		"new, person not verified": func() error {
			c, _ := p.BeginNew(*vega, "s", noon)
			x := newDevice(t, clinicOrigin, clinicHost)
			x.unverified = true
			_, err := p.FinishNew(*vega, "s", c.State, x.create(c), "x", noon)
			return err
		},
		"new, of another session": func() error {
			c, _ := p.BeginNew(*vega, "s", noon)
			_, err := p.FinishNew(*vega, "s2", c.State, newDevice(t, clinicOrigin, clinicHost).create(c), "x", noon)
			return err
		},
		"new, for another person": func() error {
			c, _ := p.BeginNew(*vega, "s", noon)
			_, err := p.FinishNew(*orr, "s", c.State, newDevice(t, clinicOrigin, clinicHost).create(c), "x", noon)
			return err
		},
	} {
		if err := try(); !errors.Is(err, ErrPasskey) {
			t.Errorf("%s: %v", name, err)
		}
	}
	// A flood of answers that nobody signed fills no memory: the right one is
	// still taken.
	p.once = NewOnce(3)
	for range 10 {
		c := begin("b")
		x := *d
		x.key = other.key
		if err := finish("b", c.State, x.sign(t, c), noon); err == nil {
			t.Fatal("taken")
		}
	}
	if c := begin("b"); finish("b", c.State, d.sign(t, c), noon) != nil {
		t.Error("after a flood the right passkey is refused")
	}
	// And the options ask for what is needed.
	c, _ := p.BeginNew(*vega, "s", noon)
	var o struct {
		RP                     struct{ ID string }
		ExcludeCredentials     []struct{ ID string }
		AuthenticatorSelection struct{ ResidentKey, UserVerification string }
		Attestation            string
	}
	if err := json.Unmarshal(c.Options, &o); err != nil || o.RP.ID != clinicHost || len(o.ExcludeCredentials) != 1 || o.AuthenticatorSelection.ResidentKey != "required" || o.AuthenticatorSelection.UserVerification != "required" {
		t.Errorf("options %s: %v", c.Options, err)
	}
	if _, err := NewPasskeys("not an origin", "x", p.box); err == nil {
		t.Error("no origin was taken")
	}
}
