package access

import (
	"net/http"
	"time"
)

// renewAfter is the age at which a session token in use is replaced. Young
// tokens are left alone: a page with ten pictures signs one token, not ten.
const renewAfter = time.Minute

// Cookies writes and reads the session cookie of staff.
//
// Plain is for a server on the loopback address without TLS, and for nothing
// else: browsers refuse the __Host- prefix and the Secure attribute there.
type Cookies struct {
	Plain bool
	// Use names the cookie; "" is the session's.
	Use string
}

// Name returns the cookie's name.
func (c Cookies) Name() string {
	name := c.Use
	if name == "" {
		name = "sid"
	}
	if c.Plain {
		return name
	}
	return "__Host-" + name
}

// Set hands the token to the browser. The cookie ends with the browser's
// session; the token inside runs out by itself.
func (c Cookies) Set(w http.ResponseWriter, token string) {
	http.SetCookie(w, c.cookie(token))
}

// Clear takes the cookie back. It never sends Clear-Site-Data: phone and
// clinic can share an origin, and that would erase a patient's log.
func (c Cookies) Clear(w http.ResponseWriter) {
	gone := c.cookie("")
	gone.MaxAge = -1
	http.SetCookie(w, gone)
}

func (c Cookies) cookie(value string) *http.Cookie {
	return &http.Cookie{
		Name: c.Name(), Value: value, Path: "/",
		Secure: !c.Plain, HttpOnly: true, SameSite: http.SameSiteStrictMode,
	}
}

// Token returns what the browser sent, "" for nothing. Two cookies of the
// name are a sign of somebody planting one; then neither is believed.
func (c Cookies) Token(r *http.Request) string {
	found := r.CookiesNamed(c.Name())
	if len(found) != 1 {
		return ""
	}
	return found[0].Value
}

// Renew signs the session token again if it has been in use for renewAfter.
// It returns "" when the present one will do, or when the session's end is
// already the token's.
func (t *Tokens) Renew(s StaffToken, jti string, now time.Time) (string, error) {
	if now.Sub(s.Issued) < renewAfter || !s.Expires.Before(s.Started.Add(SessionLife).Truncate(time.Second)) {
		return "", nil
	}
	return t.IssueStaff(s, jti, now)
}
