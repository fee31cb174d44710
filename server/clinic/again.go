package clinic

import (
	"encoding/json"
	"errors"
	"fmt"
	"net/http"

	"unsling/server/access"
	"unsling/server/ledger"
)

// errAgain means that the person may do this, and has to prove first who is
// there.
var errAgain = errors.New("prove again who is there")

type againPage struct {
	Kept     string // the form that waits, sealed
	Next     string // or the page that was asked for
	Passkey  bool
	Password bool
	Lost     bool // the form was too long to be carried
}

// askAgain asks who is there before an act that needs a fresh proof. The form
// waits, sealed for this person, and is sent when the proof is there.
func (d *Desk) askAgain(v *visit, problem string) {
	p := againPage{Next: "/clinic/", Passkey: len(v.staff.Factors.Passkeys) > 0, Password: v.staff.Password != ""}
	switch {
	case v.r.URL.Path == "/clinic/again":
		p.Kept, p.Next = v.r.PostForm.Get("kept"), safeNext(v.r.PostForm.Get("next"))
	case v.r.Method == http.MethodPost:
		to := safeNext(v.r.URL.RequestURI())
		p.Kept = d.carry(v.staff.ID, carried{To: to, Page: to, Body: body(v.r.PostForm), At: v.at})
		p.Lost = p.Kept == ""
	default:
		p.Next = safeNext(v.r.URL.RequestURI())
	}
	if err := v.showWith(http.StatusUnauthorized, "again", frame{Title: "Is it still you?", Error: problem, Page: p}); err != nil {
		d.fail(v, err)
	}
}

// againOptions asks for a passkey of the person.
func (d *Desk) againOptions(v *visit) error {
	c, err := d.passkeys.BeginSignIn("again "+v.token.Session, v.at)
	if err != nil {
		return err
	}
	return v.json(c)
}

// again takes the proof, password or passkey, gives the session a new id, and
// sends on what waits.
func (d *Desk) again(v *visit) error {
	how := "password"
	name := "again " + string(v.staff.ID)
	try, wait := d.Gate.Try(name, v.r.RemoteAddr, v.at)
	if wait > 0 {
		d.askAgain(v, fmt.Sprintf("Too many wrong tries. Please wait %s and try again.", waiting(wait)))
		return nil
	}
	if answer := v.r.PostForm.Get("credential"); answer != "" {
		how = "passkey"
		staff, used, clone, err := d.passkeys.FinishSignIn("again "+v.token.Session, v.r.PostForm.Get("state"), answer, v.at, d.staffByID)
		if err != nil && !errors.Is(err, access.ErrPasskey) {
			try.Undo()
			return err
		}
		if err != nil || staff.ID != v.staff.ID {
			d.askAgain(v, "This passkey was not accepted. Try it again, or give your password.")
			return nil
		}
		d.usedPasskey(staff, used, clone, v.trail())
	} else {
		ok, _, err := d.Passwords.Verify(v.r.Context(), v.staff.Password, v.r.PostForm.Get("password"))
		if err != nil {
			try.Undo()
			return err
		}
		if !ok {
			d.askAgain(v, "The password is wrong. What you wrote is still kept.")
			return nil
		}
	}
	try.Right()
	if err := v.nextSession(how); err != nil {
		return err
	}
	if c, ok := d.uncarry(v.staff.ID, v.r.PostForm.Get("kept")); ok {
		d.resume(v.w, v.staff, c, true)
		return nil
	}
	http.Redirect(v.w, v.r, safeNext(v.r.PostForm.Get("next")), http.StatusSeeOther)
	return nil
}

// nextSession gives the session a new id, with the proof of now (OWASP ASVS
// 5.0, 7.2.4). Its end in any case stays.
func (v *visit) nextSession(how string) error {
	next := v.session
	next.ID, next.Checked, next.How = v.desk.id(), v.desk.Now(), how
	next.Bare = v.session.Bare && !v.staff.Factors.Any()
	trail := v.trail()
	trail.Reason = how
	if err := v.desk.Store.NextSession(v.session.ID, next, trail); err != nil {
		return err
	}
	v.desk.moveSheets(v.session.ID, next.ID)
	v.session, v.token.Session = next, next.ID
	return v.desk.giveCookie(v.w, v.staff, next, v.desk.Now())
}

// startOver gives the browser a session again after all of the person's were
// ended with a changed password or a passkey that is gone.
func (v *visit) startOver() error {
	next := v.session
	next.ID, next.Ended = v.desk.id(), ledger.Session{}.Ended
	if err := v.desk.Store.StartSession(next, v.trail()); err != nil {
		return err
	}
	v.desk.moveSheets(v.session.ID, next.ID)
	v.session, v.token.Session = next, next.ID
	return v.desk.giveCookie(v.w, v.staff, next, v.desk.Now())
}

// moveSheets lets invitations that are shown once be looked at further.
func (d *Desk) moveSheets(old, next string) {
	d.mu.Lock()
	defer d.mu.Unlock()
	for k, s := range d.sheets {
		if s.Session == old {
			s.Session = next
			d.sheets[k] = s
		}
	}
}

func (v *visit) json(x any) error { return writeJSON(v.w, x) }

func writeJSON(w http.ResponseWriter, x any) error {
	text, err := json.Marshal(x)
	if err != nil {
		return err
	}
	w.Header().Set("Content-Type", "application/json")
	_, _ = w.Write(text)
	return nil
}
