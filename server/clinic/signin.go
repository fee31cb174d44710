package clinic

import (
	"fmt"
	"maps"
	"net/http"
	"net/url"
	"path"
	"slices"
	"strings"
	"time"

	"unsling/server/access"
	"unsling/server/ledger"
)

// signInForm is what the sign-in page carries. Then and Body are a form that
// was sent after the session had ended: nothing typed is lost.
type signInForm struct {
	Login      string
	Next       string
	Then, Body string
}

// carryMost bounds a form that is carried over a sign-in.
const carryMost = 64 << 10

// signInPage shows the form. next is kept so that a session that ran out
// costs nobody their place.
func (d *Desk) signInPage(w http.ResponseWriter, r *http.Request) {
	d.signInShow(w, http.StatusOK, signInForm{Next: safeNext(r.URL.Query().Get("next"))}, "")
}

func (d *Desk) signInShow(w http.ResponseWriter, status int, form signInForm, problem string) {
	clinic, _ := d.Store.Clinic()
	f := frame{Title: "Sign in", Clinic: clinic, Demo: clinic.Demo, Error: problem, Notice: d.notice(), Page: form}
	if err := write(w, status, "signin", f); err != nil {
		d.Log.Error("clinic page failed", "error", err.Error())
	}
}

// signIn takes login and password. Unknown people, disabled people and wrong
// passwords are answered alike, after the same work.
func (d *Desk) signIn(w http.ResponseWriter, r *http.Request) {
	now := d.Now()
	if err := takeForm(r); err != nil {
		d.signInShow(w, http.StatusBadRequest, signInForm{Next: "/clinic/"}, "The form could not be read. Please try again.")
		return
	}
	form := signInForm{Login: strings.ToLower(oneLine(r.PostForm.Get("login"))), Next: safeNext(r.PostForm.Get("next"))}
	if then := safeNext(r.PostForm.Get("then")); then != "/clinic/" {
		form.Then, form.Body = then, r.PostForm.Get("body")
	}
	password := r.PostForm.Get("password")
	wait := max(d.Gate.Wait(form.Login, r.RemoteAddr, now), d.Gate.Flooded(now))
	if wait > 0 {
		w.Header().Set("Retry-After", fmt.Sprint(int(wait.Seconds())+1))
		d.signInShow(w, http.StatusTooManyRequests, form, fmt.Sprintf("Too many wrong tries. Please wait %s and try again.", waiting(wait)))
		return
	}
	staff, err := d.Store.StaffByLogin(form.Login)
	stored := ""
	if err == nil && !staff.Disabled {
		stored = staff.Password
	}
	ok, _, err := d.Passwords.Verify(r.Context(), stored, password)
	if err != nil || !ok || stored == "" {
		d.Gate.Wrong(form.Login, r.RemoteAddr, now)
		d.signInShow(w, http.StatusUnauthorized, form, "Login or password is wrong.")
		return
	}
	d.Gate.Right(form.Login, r.RemoteAddr)
	session := ledger.Session{ID: d.id(), Staff: staff.ID, Started: now, Until: now.Add(access.SessionLife)}
	if err := d.Store.StartSession(session, ledger.Trail{At: now.UTC(), Actor: string(staff.ID), Session: session.ID}); err != nil {
		d.Log.Error("sign-in failed", "error", err.Error())
		d.signInShow(w, http.StatusServiceUnavailable, form, "The server cannot sign you in right now. Please try again.")
		return
	}
	token, err := d.Tokens.IssueStaff(access.StaffToken{
		Staff: string(staff.ID), Session: session.ID, Started: now, Scopes: access.ScopesFor(staff.Role),
	}, d.id(), now)
	if err != nil {
		d.Log.Error("sign-in failed", "error", err.Error())
		d.signInShow(w, http.StatusServiceUnavailable, form, "The server cannot sign you in right now. Please try again.")
		return
	}
	d.Cookies.Set(w, token)
	if form.Then != "" {
		d.resume(w, form)
		return
	}
	http.Redirect(w, r, form.Next, http.StatusSeeOther)
}

type resumePage struct {
	To     string
	Fields [][2]string
}

// resume offers to send a form again that was carried over the sign-in. It is
// the person's own click that sends it.
func (d *Desk) resume(w http.ResponseWriter, form signInForm) {
	values, err := url.ParseQuery(form.Body)
	if err != nil {
		values = nil
	}
	page := resumePage{To: form.Then}
	for _, name := range slices.Sorted(maps.Keys(values)) {
		for _, x := range values[name] {
			page.Fields = append(page.Fields, [2]string{name, x})
		}
	}
	clinic, _ := d.Store.Clinic()
	f := frame{Title: "Signed in", Clinic: clinic, Demo: clinic.Demo, Page: page}
	if err := write(w, http.StatusOK, "resume", f); err != nil {
		d.Log.Error("clinic page failed", "error", err.Error())
	}
}

// signOut ends the session's row, so that a copy of the cookie is worth
// nothing. It never clears the origin's storage: a phone's log may live there.
func (d *Desk) signOut(w http.ResponseWriter, r *http.Request) {
	now := d.Now()
	if token, err := d.Tokens.ParseStaff(d.Cookies.Token(r), now); err == nil {
		trail := ledger.Trail{At: now.UTC(), Actor: token.Staff, Session: token.Session}
		if err := d.Store.EndSession(token.Session, trail); err != nil {
			d.Log.Error("sign-out failed", "error", err.Error())
		}
	}
	d.Cookies.Clear(w)
	http.Redirect(w, r, "/clinic/sign-in", http.StatusSeeOther)
}

// toSignIn sends whoever is not signed in to the door. A form that came too
// late is carried through it.
func (d *Desk) toSignIn(w http.ResponseWriter, r *http.Request) {
	if r.Method == http.MethodGet || r.Method == http.MethodHead {
		http.Redirect(w, r, "/clinic/sign-in?next="+url.QueryEscape(r.URL.RequestURI()), http.StatusSeeOther)
		return
	}
	form := signInForm{Next: "/clinic/"}
	text := "You were signed out because nothing was done for a while. What you sent was not saved."
	if err := takeForm(r); err == nil {
		if body := r.PostForm.Encode(); len(body) <= carryMost {
			form.Then, form.Body = safeNext(r.URL.RequestURI()), body
			text = "You were signed out because nothing was done for a while. What you wrote is kept: sign in to send it."
		}
	}
	d.signInShow(w, http.StatusUnauthorized, form, text)
}

// safeNext keeps an address within the clinic's pages.
func safeNext(next string) string {
	u, err := url.Parse(next)
	if err != nil || u.Host != "" || u.Scheme != "" || path.Clean(u.Path) != strings.TrimSuffix(u.Path, "/") ||
		!strings.HasPrefix(u.Path, "/clinic/") || strings.HasPrefix(u.Path, "/clinic/sign-") {
		return "/clinic/"
	}
	return u.RequestURI()
}

func waiting(d time.Duration) string {
	if d < time.Minute {
		return fmt.Sprintf("%d seconds", int(d.Seconds())+1)
	}
	return fmt.Sprintf("%d minutes", int(d.Minutes())+1)
}
