package access

import (
	"errors"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// OWASP ASVS 5.0, 3.3.1 to 3.3.4: __Host- prefix, Secure, HttpOnly, SameSite.
func TestCookie(t *testing.T) {
	for _, c := range []struct {
		plain bool
		name  string
	}{{false, "__Host-sid"}, {true, "sid"}} {
		cookies := Cookies{Plain: c.plain}
		w := httptest.NewRecorder()
		cookies.Set(w, "token")
		got := w.Result().Cookies()[0]
		if got.Name != c.name || got.Path != "/" || got.Domain != "" || !got.HttpOnly || got.SameSite != http.SameSiteStrictMode ||
			got.Secure == c.plain || got.MaxAge != 0 || !got.Expires.IsZero() {
			t.Errorf("plain %v: %+v", c.plain, got)
		}
		r := httptest.NewRequest("GET", "/clinic/", nil)
		if cookies.Token(r) != "" {
			t.Error("a token from nowhere")
		}
		r.AddCookie(got)
		if cookies.Token(r) != "token" {
			t.Error("cookie not read back")
		}
		r.AddCookie(&http.Cookie{Name: c.name, Value: "planted"})
		if cookies.Token(r) != "" {
			t.Error("two cookies of one name are believed")
		}
		w = httptest.NewRecorder()
		cookies.Clear(w)
		if w.Result().Cookies()[0].MaxAge != -1 || w.Header().Get("Clear-Site-Data") != "" {
			t.Errorf("clear: %v", w.Header())
		}
	}
}

func TestStaffSessionLife(t *testing.T) {
	tokens := testTokens(t)
	start := noon.Add(700 * time.Millisecond)
	s := StaffToken{Staff: "vega", Session: "s1", Started: start, Scopes: ScopesFor("surgeon")}
	text, err := tokens.IssueStaff(s, "jti-1", start)
	if err != nil {
		t.Fatal(err)
	}
	got, err := tokens.ParseStaff(text, start)
	if err != nil || got.Staff != "vega" || got.Session != "s1" || got.Scopes.String() != s.Scopes.String() {
		t.Fatalf("%+v %v", got, err)
	}
	if _, err := tokens.ParseStaff(text, start.Add(SessionIdle)); !errors.Is(err, ErrTokenExpired) {
		t.Errorf("idle for 15 minutes: %v", err)
	}
	old := forge(t, tokens, map[string]any{"alg": "EdDSA", "typ": "at+jwt", "kid": tokens.Keys.Current.ID}, map[string]any{
		"iss": tokens.Issuer, "aud": tokens.Issuer + "/clinic", "sub": "vega", "client_id": "clinic", "sid": "s1", "jti": "x", "scope": "__staff.manage",
		"iat": noon.Unix(), "exp": noon.Add(time.Minute).Unix(), "auth_time": noon.Add(-SessionLife).Unix()})
	if _, err := tokens.ParseStaff(old, noon); !errors.Is(err, ErrTokenExpired) {
		t.Errorf("signed in twelve hours ago, whatever exp says: %v", err)
	}
	// In use every five minutes it lives for twelve hours and no longer.
	at, signed := start, 1
	for {
		at = at.Add(5 * time.Minute)
		got, err := tokens.ParseStaff(text, at)
		if err != nil {
			if !errors.Is(err, ErrTokenExpired) {
				t.Fatal(err)
			}
			break
		}
		renewed, err := tokens.Renew(got, "jti", at)
		if err != nil {
			t.Fatal(err)
		}
		if renewed != "" {
			text, signed = renewed, signed+1
		}
	}
	if lived := at.Sub(start); lived < SessionLife || lived > SessionLife+5*time.Minute {
		t.Errorf("a session in use lived %v", lived)
	}
	if signed < 100 {
		t.Errorf("signed %d times", signed)
	}
	if young, err := tokens.Renew(StaffToken{Issued: noon, Started: noon, Expires: noon.Add(SessionIdle)}, "jti", noon.Add(59*time.Second)); err != nil || young != "" {
		t.Errorf("a young token was renewed: %v", err)
	}
	if _, err := tokens.IssueStaff(s, "jti", start.Add(SessionLife)); !errors.Is(err, ErrSessionOver) {
		t.Errorf("signed after twelve hours: %v", err)
	}
}

func TestKeyring(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "keys")
	first, err := OpenKeyring(dir, seeded(9), noon)
	if err != nil {
		t.Fatal(err)
	}
	again, err := OpenKeyring(dir, seeded(10), noon)
	if err != nil {
		t.Fatal(err)
	}
	if again.Signing.Current.ID != first.Signing.Current.ID || string(again.Content) != string(first.Content) || string(again.Codes) != string(first.Codes) {
		t.Error("keys changed when opened again")
	}
	if string(first.Content) == string(first.Codes) || string(first.Codes) == string(first.ClinicMAC) {
		t.Error("two uses share a key")
	}
	files, _ := os.ReadDir(dir)
	if len(files) != 4 {
		t.Errorf("%d files", len(files))
	}
	for _, f := range files {
		if info, _ := f.Info(); info.Mode().Perm() != 0o600 {
			t.Errorf("%s has mode %v", f.Name(), info.Mode())
		}
	}
	rotated, err := first.Signing.Rotate(seeded(11), noon)
	if err != nil {
		t.Fatal(err)
	}
	if err := SaveSigning(dir, rotated); err != nil {
		t.Fatal(err)
	}
	if got, err := OpenKeyring(dir, seeded(10), noon); err != nil || got.Signing.Previous.ID != first.Signing.Current.ID {
		t.Errorf("after rotation: %v", err)
	}
	for _, c := range []struct {
		name  string
		spoil func() error
	}{
		{"loose", func() error { return os.Chmod(filepath.Join(dir, "content.key"), 0o644) }},
		{"cut short", func() error { return os.WriteFile(filepath.Join(dir, "codes.key"), []byte("AAAA"), 0o600) }},
		{"mixed up", func() error {
			text, err := rotated.MarshalJSON()
			if err != nil {
				return err
			}
			mixed := strings.Replace(string(text), b64.EncodeToString(rotated.Current.Public()), b64.EncodeToString(rotated.Next.Public()), 1)
			return os.WriteFile(filepath.Join(dir, "signing.json"), []byte(mixed), 0o600)
		}},
		{"emptied", func() error { return os.WriteFile(filepath.Join(dir, "signing.json"), nil, 0o600) }},
	} {
		if err := c.spoil(); err != nil {
			t.Fatal(err)
		}
		if _, err := OpenKeyring(dir, seeded(12), noon); err == nil || c.name == "loose" && !errors.Is(err, ErrLoose) {
			t.Errorf("%s: %v", c.name, err)
		}
		if err := os.Chmod(filepath.Join(dir, "content.key"), 0o600); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(dir, "codes.key"), []byte(b64.EncodeToString(first.Codes)), 0o600); err != nil {
			t.Fatal(err)
		}
	}
}
