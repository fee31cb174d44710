package access

import (
	"crypto/rand"
	"errors"
	"testing"
	"time"
)

// A token signed before a rotation is good after it, until its own end; one
// signed with a key that is two rotations old is not. Common practice for
// overlapping keys; the key set is that of RFC 7517.
func TestRotateWhileInUse(t *testing.T) {
	dir := t.TempDir()
	now := time.Date(2026, 3, 2, 12, 0, 0, 0, time.UTC)
	ring, err := OpenKeyring(dir, rand.Reader, now)
	if err != nil {
		t.Fatal(err)
	}
	tokens := &Tokens{Issuer: "https://a.example", Keys: ring.Signing}
	old, err := tokens.IssuePhone(Phone{Author: "a1"}, "j1", now)
	if err != nil {
		t.Fatal(err)
	}
	rotate := func(at time.Time) error {
		ring, err := ReadKeyring(dir)
		if err != nil {
			return err
		}
		set, err := RotateSigning(dir, ring.Signing, rand.Reader, at)
		if err == nil {
			tokens.ReplaceKeys(set)
		}
		return err
	}
	published := ring.Signing.Next.ID
	if err := rotate(now); err != nil {
		t.Fatal(err)
	}
	if got := tokens.CurrentKeys().Current.ID; got != published {
		t.Error("the key that signs now was not published before")
	}
	fresh, err := tokens.IssuePhone(Phone{Author: "a1"}, "j2", now)
	if err != nil {
		t.Fatal(err)
	}
	for name, text := range map[string]string{"old": old, "fresh": fresh} {
		if _, err := tokens.ParsePhone(text, now.Add(14*time.Minute)); err != nil {
			t.Errorf("%s token after the rotation: %v", name, err)
		}
	}
	if err := rotate(now.Add(14 * time.Minute)); !errors.Is(err, ErrTooSoon) {
		t.Errorf("rotated again while old tokens live: %v", err)
	}
	if err := rotate(now.Add(20 * time.Minute)); err != nil {
		t.Fatal(err)
	}
	if _, err := tokens.ParsePhone(old, now.Add(14*time.Minute)); !errors.Is(err, ErrToken) {
		t.Errorf("a token of a key two rotations old: %v", err)
	}
	saved, err := ReadKeyring(dir)
	if err != nil || saved.Signing.Current.ID != tokens.CurrentKeys().Current.ID {
		t.Errorf("the saved keys are others: %v", err)
	}
	if _, err := ReadKeyring(t.TempDir()); err == nil {
		t.Error("a keyring was made of nothing")
	}
}
