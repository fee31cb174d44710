package clinic

import (
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"path"
	"slices"
	"strings"
	"time"

	"unsling/engine/rom"
	"unsling/server/access"
	"unsling/server/ledger"
)

// sessionIdle is how long a session lasts that nobody uses.
const sessionIdle = access.SessionIdle

// signInForm is what the sign-in page carries. Kept is a form that was sent
// after the session had ended, sealed for its owner.
type signInForm struct {
	Login string
	Next  string
	Kept  string
}

// secondFactor reports whether the clinic asks everybody for a second factor.
// It does unless the clinic says otherwise; the demo's printed passwords are
// meant to work alone.
func secondFactor(c ledger.Clinic) bool {
	switch c.Settings[settingSecond] {
	case "on":
		return true
	case "off":
		return false
	}
	return !c.Demo
}

const settingSecond = "second_factor"

// signInPage shows the form. next is kept so that a session that ran out
// costs nobody their place.
func (d *Desk) signInPage(w http.ResponseWriter, r *http.Request) {
	d.signInShow(w, http.StatusOK, signInForm{Next: safeNext(r.URL.Query().Get("next"))}, "")
}

func (d *Desk) signInShow(w http.ResponseWriter, status int, form signInForm, problem string) {
	d.public(w, status, "signin", "Sign in", form, problem)
}

// public shows a page to whom nobody is known to be.
func (d *Desk) public(w http.ResponseWriter, status int, name, title string, page any, problem string) {
	clinic, _ := d.Store.Clinic()
	f := frame{Title: title, Clinic: clinic, Demo: clinic.Demo, Error: problem, Notice: d.notice(), Page: page}
	if err := write(w, status, name, f); err != nil {
		d.Log.Error("clinic page failed", "error", err.Error())
	}
}

const (
	wrongSignIn  = "Login or password is wrong."
	noSignIn     = "The server cannot sign you in right now. Please try again."
	wrongPasskey = "This passkey was not accepted. Try it again, or sign in with login and password."
)

// signIn takes login and password. Unknown people, disabled people and wrong
// passwords are answered alike, after the same work.
func (d *Desk) signIn(w http.ResponseWriter, r *http.Request) {
	now := d.Now()
	form, err := d.signInFields(r)
	if err != nil {
		d.signInShow(w, http.StatusBadRequest, form, "The form could not be read. Please try again.")
		return
	}
	try, wait := d.Gate.TryShort(form.Login, r.RemoteAddr, now)
	if d.tooMany(w, form, wait) {
		return
	}
	staff, err := d.Store.StaffByLogin(form.Login)
	stored := ""
	if err == nil && !staff.Disabled {
		stored = staff.Password
	}
	ok, _, err := d.Passwords.Verify(r.Context(), stored, r.PostForm.Get("password"))
	if err != nil || !ok || stored == "" {
		d.signInShow(w, http.StatusUnauthorized, form, wrongSignIn)
		return
	}
	try.Right()
	clinic, err := d.Store.Clinic()
	if err != nil && !errors.Is(err, ledger.ErrUnknown) {
		d.Log.Error("sign-in failed", "error", err.Error())
		d.signInShow(w, http.StatusServiceUnavailable, form, noSignIn)
		return
	}
	asks := secondFactor(clinic)
	if staff.Factors.TOTP != nil || asks && staff.Factors.Any() {
		d.secondPage(w, http.StatusOK, staff, form, "")
		return
	}
	d.enter(w, r, staff, "password", asks, form)
}

func (d *Desk) signInFields(r *http.Request) (signInForm, error) {
	if err := takeForm(r); err != nil {
		return signInForm{Next: "/clinic/"}, err
	}
	return signInForm{Login: strings.ToLower(oneLine(r.PostForm.Get("login"))), Next: safeNext(r.PostForm.Get("next")), Kept: r.PostForm.Get("kept")}, nil
}

func (d *Desk) tooMany(w http.ResponseWriter, form signInForm, wait time.Duration) bool {
	if wait <= 0 {
		return false
	}
	w.Header().Set("Retry-After", fmt.Sprint(int(wait.Seconds())+1))
	d.signInShow(w, http.StatusTooManyRequests, form, fmt.Sprintf("Too many wrong tries. Please wait %s and try again.", waiting(wait)))
	return true
}

// pending is what the second page brings back, sealed: whose password was
// right, and when.
type pending struct {
	Staff rom.StaffID `json:"staff"`
	At    time.Time   `json:"at"`
	Login string      `json:"login"`
	Next  string      `json:"next"`
	Kept  string      `json:"kept,omitempty"`
	Mark  string      `json:"mark"` // of the password then: a changed one ends this too
}

const (
	usePending  = "pending"
	pendingLife = 5 * time.Minute
)

type secondForm struct {
	State    string
	Next     string
	Kept     string
	App      bool // six digits are set up
	Passkey  bool
	Recovery int // codes left
}

func (d *Desk) secondPage(w http.ResponseWriter, status int, staff ledger.Staff, form signInForm, problem string) {
	state, err := d.box.Pack(usePending, "", pending{staff.ID, d.Now(), form.Login, form.Next, form.Kept, d.box.Mark("password", staff.Password)})
	if err != nil {
		d.Log.Error("sign-in failed", "error", err.Error())
		d.signInShow(w, http.StatusServiceUnavailable, form, noSignIn)
		return
	}
	d.public(w, status, "second", "Second step", secondForm{State: state, Next: form.Next, Kept: form.Kept, App: staff.Factors.TOTP != nil,
		Passkey: len(staff.Factors.Passkeys) > 0, Recovery: len(staff.Factors.Recovery)}, problem)
}

// signInCode takes the second step: six digits of an app, or a recovery code.
func (d *Desk) signInCode(w http.ResponseWriter, r *http.Request) {
	now := d.Now()
	form, err := d.signInFields(r)
	if err != nil {
		d.signInShow(w, http.StatusBadRequest, form, "The form could not be read. Please try again.")
		return
	}
	var p pending
	if d.box.Unpack(usePending, "", r.PostForm.Get("state"), &p) != nil || now.Sub(p.At) > pendingLife || now.Before(p.At) {
		d.signInShow(w, http.StatusUnauthorized, form, "That took too long. Please sign in again.")
		return
	}
	form = signInForm{Login: p.Login, Next: safeNext(p.Next), Kept: p.Kept}
	staff, err := d.Store.Staff(p.Staff)
	if err != nil || staff.Disabled || !d.box.Marked("password", staff.Password, p.Mark) {
		d.signInShow(w, http.StatusUnauthorized, form, wrongSignIn)
		return
	}
	name := "code " + string(staff.ID)
	try, wait := d.secondGate.TryShort(name, r.RemoteAddr, now)
	if d.tooMany(w, form, wait) {
		return
	}
	how, err := d.useCode(staff, r.PostForm.Get("code"), ledger.Trail{At: now.UTC(), Actor: string(staff.ID)})
	switch {
	case errors.Is(err, errWrongCode):
		d.secondPage(w, http.StatusUnauthorized, staff, form, "This code is wrong or was used before. Wait for the next one, or use a recovery code.")
		return
	case err != nil:
		try.Undo()
		d.Log.Error("sign-in failed", "error", err.Error())
		d.signInShow(w, http.StatusServiceUnavailable, form, noSignIn)
		return
	}
	try.Right()
	d.enter(w, r, staff, how, false, form)
}

var errWrongCode = errors.New("wrong code")

// useCode uses up a code of the person: each step of the app once, each
// recovery code once, whoever else tries at the same moment.
func (d *Desk) useCode(staff ledger.Staff, code string, trail ledger.Trail) (how string, err error) {
	code = trim(code)
	if access.IsRecoveryCode(code) {
		_, err := d.Store.ChangeStaff(staff.ID, "staff.recovery-used", trail, func(s *ledger.Staff) error {
			left, ok := access.UseRecoveryCode(d.Secrets, string(s.ID), code, s.Factors.Recovery)
			if !ok {
				return errWrongCode
			}
			s.Factors.Recovery = left
			return nil
		})
		return "password and recovery code", err
	}
	_, err = d.Store.ChangeStaff(staff.ID, "session.code", trail, func(s *ledger.Staff) error {
		if s.Factors.TOTP == nil {
			return errWrongCode
		}
		secret, err := d.box.Open(useTOTP, string(s.ID), s.Factors.TOTP.Secret)
		if err != nil {
			return err
		}
		step, ok := access.CheckTOTP(secret, code, trail.At, s.Factors.TOTP.Step)
		if !ok {
			return errWrongCode
		}
		totp := *s.Factors.TOTP
		totp.Step = step
		s.Factors.TOTP = &totp
		return nil
	})
	return "password and code", err
}

const useTOTP = "totp secret"

// enter starts the session and sends the person on.
func (d *Desk) enter(w http.ResponseWriter, r *http.Request, staff ledger.Staff, how string, bare bool, form signInForm) {
	now := d.Now()
	session := ledger.Session{ID: d.id(), Staff: staff.ID, Started: now, Until: now.Add(access.SessionLife), Checked: now, How: how, Bare: bare}
	err := d.Store.StartSession(session, ledger.Trail{At: now.UTC(), Actor: string(staff.ID), Session: session.ID, Reason: how})
	if err == nil {
		err = d.giveCookie(w, staff, session, now)
	}
	if err != nil {
		d.Log.Error("sign-in failed", "error", err.Error())
		d.signInShow(w, http.StatusServiceUnavailable, form, noSignIn)
		return
	}
	if c, ok := d.uncarry(staff.ID, form.Kept); ok && !bare {
		d.resume(w, staff, c, false)
		return
	}
	next := form.Next
	switch {
	case bare:
		next = "/clinic/account?done=setup"
	case form.Kept != "":
		next = "/clinic/?done=others"
	}
	http.Redirect(w, r, next, http.StatusSeeOther)
}

// giveCookie hands a session to the browser.
func (d *Desk) giveCookie(w http.ResponseWriter, staff ledger.Staff, session ledger.Session, now time.Time) error {
	scopes := access.ScopesFor(staff.Role)
	if session.Bare {
		scopes = access.BareScopes
	}
	token, err := d.Tokens.IssueStaff(access.StaffToken{
		Staff: string(staff.ID), Session: session.ID, Started: session.Started, Scopes: scopes,
	}, d.id(), now)
	if err == nil {
		d.Cookies.Set(w, token)
	}
	return err
}

// bindCookie ties a challenge to the browser that asked for it, before
// anybody is signed in.
func (d *Desk) bindCookie() access.Cookies { return access.Cookies{Plain: d.Cookies.Plain, Use: "ask"} }

// signInOptions asks for a passkey. Whose it is, the passkey says.
func (d *Desk) signInOptions(w http.ResponseWriter, r *http.Request) {
	bound := d.bindCookie().Token(r)
	if bound == "" {
		bound = d.id()
		d.bindCookie().Set(w, bound)
	}
	c, err := d.passkeys.BeginSignIn("sign-in "+bound, d.Now())
	if err == nil {
		err = writeJSON(w, c)
	}
	if err != nil {
		d.Log.Error("clinic page failed", "error", err.Error())
		d.plain(w, http.StatusInternalServerError, broken)
	}
}

// signInPasskey takes what a passkey signed. A passkey that verified its
// person is two factors in one.
func (d *Desk) signInPasskey(w http.ResponseWriter, r *http.Request) {
	now := d.Now()
	form, err := d.signInFields(r)
	if err != nil {
		d.signInShow(w, http.StatusBadRequest, form, "The form could not be read. Please try again.")
		return
	}
	bound := d.bindCookie().Token(r)
	staff, used, clone, err := d.passkeys.FinishSignIn("sign-in "+bound, r.PostForm.Get("state"), r.PostForm.Get("credential"), now, d.staffByID)
	if err != nil || bound == "" || staff.Disabled {
		if err != nil && !errors.Is(err, access.ErrPasskey) {
			d.Log.Error("sign-in failed", "error", err.Error())
		}
		d.signInShow(w, http.StatusUnauthorized, form, wrongPasskey)
		return
	}
	d.bindCookie().Clear(w)
	d.usedPasskey(staff, used, clone, ledger.Trail{At: now.UTC(), Actor: string(staff.ID)})
	d.enter(w, r, staff, "passkey", false, form)
}

func (d *Desk) staffByID(id string) (ledger.Staff, error) { return d.Store.Staff(rom.StaffID(id)) }

// usedPasskey notes the counter and the time. That it fails keeps nobody out.
func (d *Desk) usedPasskey(staff ledger.Staff, used ledger.Passkey, clone bool, trail ledger.Trail) {
	if clone {
		trail.Reason = "the passkey's counter did not rise: it may have been copied"
	}
	_, err := d.Store.ChangeStaff(staff.ID, "session.passkey", trail, func(s *ledger.Staff) error {
		i := slices.IndexFunc(s.Factors.Passkeys, func(p ledger.Passkey) bool { return p.ID == used.ID })
		if i < 0 {
			return ledger.ErrUnknown
		}
		used.Name = s.Factors.Passkeys[i].Name
		s.Factors.Passkeys = slices.Clone(s.Factors.Passkeys)
		s.Factors.Passkeys[i] = used
		return nil
	})
	if err != nil {
		d.Log.Error("use of a passkey not noted", "error", err.Error())
	}
}

// signOut ends the session's row, so that a copy of the cookie is worth
// nothing. It never clears the origin's storage: a phone's log may live there.
func (d *Desk) signOut(w http.ResponseWriter, r *http.Request) {
	d.endSession(r)
	d.Cookies.Clear(w)
	http.Redirect(w, r, "/clinic/sign-in", http.StatusSeeOther)
}

func (d *Desk) endSession(r *http.Request) {
	now := d.Now()
	token, err := d.Tokens.ParseStaff(d.Cookies.Token(r), now)
	if err != nil {
		return
	}
	trail := ledger.Trail{At: now.UTC(), Actor: token.Staff, Session: token.Session}
	if err := d.Store.EndSession(token.Session, trail); err != nil {
		d.Log.Error("sign-out failed", "error", err.Error())
	}
}

// safeNext keeps an address within the clinic's pages.
func safeNext(next string) string {
	u, err := url.Parse(next)
	if err != nil || u.Host != "" || u.Scheme != "" || path.Clean(u.Path) != strings.TrimSuffix(u.Path, "/") ||
		!strings.HasPrefix(u.Path, "/clinic/") || strings.HasPrefix(u.Path, "/clinic/sign-") || u.Path == "/clinic/again" || u.Path == "/clinic/lock" {
		return "/clinic/"
	}
	return u.RequestURI()
}
