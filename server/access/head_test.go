package access

import (
	"errors"
	"strings"
	"testing"
	"time"
)

func TestAuditHead(t *testing.T) {
	ring := Keyring{ClinicMAC: []byte("0123456789abcdef0123456789abcdef")}
	key := ring.AuditKey()
	if again := ring.AuditKey(); again.ID != key.ID {
		t.Fatal("another key the second time")
	}
	h := AuditHead{Clinic: "https://clinic.test", Seq: 42, Hash: strings.Repeat("h", 43), Prev: 40, At: noon}
	text, err := SignHead(key, h)
	if err != nil {
		t.Fatal(err)
	}
	got, err := VerifyHead(key.Public(), text)
	got.At = got.At.UTC()
	if err != nil || got != h {
		t.Errorf("%+v, %v", got, err)
	}
	other := Keyring{ClinicMAC: []byte("x")}.AuditKey()
	tokens := testTokens(t)
	phone, err := tokens.IssuePhone(Phone{Author: "a"}, "j", noon)
	if err != nil {
		t.Fatal(err)
	}
	bad := map[string]string{"cut": text[:len(text)-4], "empty": "", "a phone's token": phone, "long": strings.Repeat("x", 5000)}
	for i, part := range strings.Split(text, ".") {
		turned := strings.Split(text, ".")
		turned[i] = part[:5] + flip(part[5]) + part[6:]
		bad["turned "+part[:3]] = strings.Join(turned, ".")
	}
	for name, b := range bad {
		if _, err := VerifyHead(key.Public(), b); !errors.Is(err, ErrToken) {
			t.Errorf("%s: %v", name, err)
		}
	}
	if _, err := VerifyHead(other.Public(), text); !errors.Is(err, ErrToken) {
		t.Errorf("another clinic's key: %v", err)
	}
	h.Hash = "short"
	if text, err = SignHead(key, h); err == nil {
		if _, err := VerifyHead(key.Public(), text); err == nil {
			t.Error("a head without a hash")
		}
	}
}

// A key signs for as long as was set, and no key signs that was published
// less than a day before (standard practice for overlapping keys; the key set
// is that of RFC 7517).
func TestRotationIsDue(t *testing.T) {
	set, err := NewKeySet(seeded(3), noon)
	if err != nil {
		t.Fatal(err)
	}
	const age = 90 * 24 * time.Hour
	for _, c := range []struct {
		after time.Duration
		age   time.Duration
		due   bool
	}{{age - time.Second, age, false}, {age, age, true}, {23 * time.Hour, time.Hour, false}, {24 * time.Hour, time.Hour, true}} {
		if got := set.Due(noon.Add(c.after), c.age); got != c.due {
			t.Errorf("after %v of %v: %v", c.after, c.age, got)
		}
	}
	later := noon.Add(age)
	if set, err = set.Rotate(seeded(4), later); err != nil || set.Due(later.Add(age-time.Second), age) || !set.Due(later.Add(age), age) {
		t.Errorf("after a rotation: %v", err)
	}
}

// Whose a session token was is told for a day after it ran out, and for
// nothing that was not signed here.
func TestStaffOf(t *testing.T) {
	tokens := testTokens(t)
	text, err := tokens.IssueStaff(StaffToken{Staff: "vega", Session: "s", Started: noon, Scopes: mustScopes("__staff.manage")}, "j", noon)
	if err != nil {
		t.Fatal(err)
	}
	for after, want := range map[time.Duration]string{0: "vega", SessionIdle + time.Hour: "vega", SessionLife + ownerFor - time.Second: "vega", SessionLife + ownerFor + time.Hour: "", -time.Hour: ""} {
		if got := tokens.StaffOf(text, noon.Add(after)); got != want {
			t.Errorf("after %v: %q, want %q", after, got, want)
		}
	}
	phone, _ := tokens.IssuePhone(Phone{Author: "a"}, "j", noon)
	for _, bad := range []string{"", "x.y.z", phone, text[:len(text)-3] + "AAA"} {
		if got := tokens.StaffOf(bad, noon); got != "" {
			t.Errorf("%.20q is said to be %q's", bad, got)
		}
	}
}
