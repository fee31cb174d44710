package clinic

import (
	"encoding/base64"
	"errors"
	"io"
	"net/http"
	"strings"
	"time"

	"unsling/engine/rom"
	"unsling/server/access"
	"unsling/server/clinic/cases"
	"unsling/server/ledger"
)

// visit is one request of a person who is signed in.
type visit struct {
	w       http.ResponseWriter
	r       *http.Request
	at      time.Time // the one instant of this request
	today   rom.Date  // at the clinic
	minute  int       // of today, at the clinic
	staff   ledger.Staff
	token   access.StaffToken
	session ledger.Session
	clinic  ledger.Clinic
	zone    *time.Location
	actor   access.Actor
	desk    *Desk

	once *once      // of the form that was posted; nil for none
	asOf cases.AsOf // the same instant, to judge by

	// Set on patient routes.
	patient ledger.Patient
	team    []ledger.Member
	glass   *ledger.Glass
}

// The ways in which a request ends without its page.
var (
	errNotFound  = errors.New("there is no such page")
	errNoPatient = errors.New("there is no such patient in your care")
	errSignedOut = errors.New("nobody is signed in")
)

// sorry is a refusal with one sentence for the person.
type sorry struct {
	status int
	text   string
}

func (s *sorry) Error() string { return s.text }

func refuse(status int, text string) error { return &sorry{status, text} }

// signedIn asks for a live session, renews it, reads the form if one was
// posted, and calls h.
func (d *Desk) signedIn(h func(*visit) error) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		v, err := d.begin(w, r)
		if errors.Is(err, errSignedOut) {
			d.toSignIn(w, r)
			return
		}
		if err != nil {
			d.Log.Error("clinic page failed", "route", r.Pattern, "error", err.Error())
			d.plain(w, http.StatusInternalServerError, broken)
			return
		}
		if r.Method == http.MethodPost {
			if err := takeForm(r); err != nil {
				d.fail(v, err)
				return
			}
			if token := r.PostForm.Get("once"); token != "" && len(token) <= 64 {
				if !v.opened(token) {
					d.fail(v, refuse(http.StatusConflict, "This form was opened by somebody else, who is not signed in any more. Nothing was changed."))
					return
				}
				v.once = d.onces.enter(v.token.Session + "\x00" + r.URL.Path + "\x00" + token)
				defer v.once.mu.Unlock()
				if v.once.to != "" {
					http.Redirect(w, r, v.once.to, http.StatusSeeOther)
					return
				}
			}
		}
		if v.session.Bare && !strings.HasPrefix(r.URL.Path, "/clinic/account") && r.URL.Path != "/clinic/again" && r.URL.Path != "/clinic/again/options" && r.URL.Path != "/clinic/stay" {
			http.Redirect(w, r, "/clinic/account?done=setup", http.StatusSeeOther)
			return
		}
		if err := h(v); errors.Is(err, errAgain) {
			d.askAgain(v, "")
		} else if err != nil {
			d.fail(v, err)
		}
	})
}

// onPatient asks besides for the act on the patient of the address.
func (d *Desk) onPatient(act access.Act, h func(*visit) error) http.Handler {
	return d.signedIn(func(v *visit) error {
		id := rom.PatientID(v.r.PathValue("patient"))
		p, err := d.Store.Patient(id)
		if errors.Is(err, ledger.ErrUnknown) {
			return errNoPatient
		} else if err != nil {
			return err
		}
		if v.team, err = d.Store.Team(id); err != nil {
			return err
		}
		v.patient = p
		if of := v.r.PostForm.Get("for"); of != "" && of != string(id) {
			return refuse(http.StatusConflict, "This form is about another patient. Nothing was changed. Please open the patient's page again.")
		}
		if err := v.may(access.ViewPatient); err != nil {
			return err
		}
		if act != access.ViewPatient {
			if err := v.may(act); err != nil {
				return err
			}
		}
		if v.r.Method != http.MethodPost {
			// Reading is audited too; what is written is audited with it.
			if err := d.Store.Note(ledger.Entry{At: v.at.UTC(), Actor: string(v.staff.ID), Session: v.token.Session,
				Act: string(access.ViewPatient), Patient: string(id), Resource: v.r.Pattern, Reason: v.trail().Reason}); err != nil {
				return err
			}
		}
		return h(v)
	})
}

// may asks whether the person may do act to the patient of this visit, or to
// the clinic when there is none.
func (v *visit) may(act access.Act) error { return v.mayAfter(act, "") }

// mayAfter is may for acts whose first half firstBy did.
func (v *visit) mayAfter(act access.Act, firstBy rom.StaffID) error {
	dec := access.Decide(v.actor, act, access.Resource{Patient: v.patient.ID, Team: v.team, FirstBy: firstBy, RestrictedBy: v.patient.RestrictedBy()})
	if dec.Again && (v.r.Method == http.MethodGet || v.r.Method == http.MethodHead) && act != access.ExportPatient {
		dec.Allowed = true // looking at a form changes nothing yet
	}
	if dec.Allowed {
		v.glass = dec.Glass
		return nil
	}
	if dec.Again {
		return errAgain
	}
	if dec.Hide {
		return errNoPatient
	}
	return refuse(http.StatusForbidden, "Not possible: "+string(dec.Refusal)+".")
}

// can is may for templates.
func (v *visit) can(act string) bool {
	err := v.may(access.Act(act))
	return err == nil || errors.Is(err, errAgain)
}

// begin finds out who asks. Every row is read again on every request.
func (d *Desk) begin(w http.ResponseWriter, r *http.Request) (*visit, error) {
	now := d.Now()
	token, err := d.Tokens.ParseStaff(d.Cookies.Token(r), now)
	if err != nil {
		return nil, errSignedOut
	}
	session, staff, err := d.Store.Session(token.Session)
	switch {
	case errors.Is(err, ledger.ErrUnknown):
		return nil, errSignedOut
	case err != nil:
		return nil, err
	case !session.Live(now) || staff.Disabled || string(staff.ID) != token.Staff:
		return nil, errSignedOut
	}
	glass, err := d.Store.Glass(staff.ID, now)
	if err != nil {
		return nil, err
	}
	clinic, err := d.Store.Clinic()
	if err != nil && !errors.Is(err, ledger.ErrUnknown) {
		return nil, err
	}
	if fresh, err := d.Tokens.Renew(token, d.id(), now); err == nil && fresh != "" {
		d.Cookies.Set(w, fresh)
	}
	asOf := d.source().AsOf(clinic, now)
	return &visit{
		w: w, r: r, at: asOf.At, today: asOf.Today, minute: asOf.Minute, asOf: asOf,
		staff: staff, token: token, session: session, clinic: clinic, zone: asOf.At.Location(), desk: d,
		actor: access.Actor{Staff: staff.ID, Role: staff.Role, Glass: glass, At: now, Checked: session.LastChecked()},
	}, nil
}

// trail is what the audit log keeps of this request.
func (v *visit) trail() ledger.Trail {
	t := ledger.Trail{At: v.at.UTC(), Actor: string(v.staff.ID), Session: v.token.Session}
	if v.glass != nil {
		t.Reason = v.glass.Reason
	}
	return t
}

// id returns 128 random bits as text.
func (d *Desk) id() string {
	b := make([]byte, 16)
	if _, err := io.ReadFull(d.chance(), b); err != nil {
		panic(err) // without chance nothing here is safe to go on with
	}
	return base64.RawURLEncoding.EncodeToString(b)
}

func (d *Desk) chance() io.Reader { return d.Chance }
