package clinic

import (
	"errors"
	"net/http"
	"slices"
	"strings"

	"unsling/engine/rom"
	"unsling/server/access"
	"unsling/server/ledger"
)

type accountPage struct {
	Me       ledger.Staff
	Asks     bool // the clinic asks for a second factor
	Sessions []sessionRow
	Resets   []resetRow
	Name     string // suggested for the next passkey
}

type sessionRow struct {
	ledger.Session
	Here bool
}

// resetRow is a new start that waits for a second person.
type resetRow struct {
	Staff ledger.Staff
	By    string
}

// accountPage is the person's own sign-in: passkeys, password, app, codes,
// and where the person is signed in.
func (d *Desk) accountPage(v *visit) error { return v.accountShow(http.StatusOK, "") }

func (v *visit) accountShow(status int, problem string) error {
	p := accountPage{Me: v.staff, Asks: secondFactor(v.clinic), Name: "This device"}
	all, err := v.desk.Store.Sessions(v.staff.ID)
	if err != nil {
		return err
	}
	for _, s := range all {
		if s.Live(v.at) {
			p.Sessions = append(p.Sessions, sessionRow{s, s.ID == v.session.ID})
		}
	}
	if p.Resets, err = v.resets(); err != nil {
		return err
	}
	return v.showWith(status, "account", frame{Title: "Your account", Here: "account", Error: problem, Page: p})
}

// resets are the new starts that this person can confirm.
func (v *visit) resets() ([]resetRow, error) {
	all, err := v.desk.Store.AllStaff()
	if err != nil {
		return nil, err
	}
	names := map[rom.StaffID]string{}
	for _, s := range all {
		names[s.ID] = s.Name
	}
	var out []resetRow
	for _, s := range all {
		if i := s.Invited; i != nil && i.Reset && i.Second == "" && v.at.Before(i.Until) && s.ID != v.staff.ID && i.By != v.staff.ID && v.canConfirm(*i) {
			out = append(out, resetRow{s, names[i.By]})
		}
	}
	return out, nil
}

func (v *visit) canConfirm(i ledger.StaffInvitation) bool {
	err := v.mayAfter(access.ConfirmReset, i.By)
	return err == nil || errors.Is(err, errAgain)
}

// accountOptions asks the browser to make a passkey.
func (d *Desk) accountOptions(v *visit) error {
	c, err := d.passkeys.BeginNew(v.staff, "account "+v.token.Session, v.at)
	if err != nil {
		return err
	}
	return v.json(c)
}

// accountAct changes the person's own sign-in. All of it asks for a fresh
// proof; what takes something away ends every other session.
func (d *Desk) accountAct(v *visit) error {
	if err := v.may(access.OwnAccount); err != nil {
		return err
	}
	act, ok := map[string]func(*visit) (string, error){
		"passkey": d.addPasskey, "rename": d.renamePasskey, "remove": d.removePasskey, "password": d.setPassword,
		"app-off": d.dropApp, "sessions": d.endOthers, "confirm": d.confirmReset,
	}[v.r.PathValue("what")]
	if !ok {
		switch v.r.PathValue("what") {
		case "app":
			return d.setApp(v)
		case "codes":
			return d.newCodes(v)
		}
		return errNotFound
	}
	what, err := act(v)
	var s *sorry
	if errors.As(err, &s) {
		return v.accountShow(s.status, s.text)
	} else if err != nil {
		return err
	}
	return v.back("/clinic/account", what)
}

// change alters the person's own row. When that has ended the sessions, this
// browser gets one again.
func (v *visit) change(act string, change func(*ledger.Staff) error) error {
	old := v.staff
	row, err := v.desk.Store.ChangeStaff(v.staff.ID, act, v.trail(), change)
	if err != nil {
		return err
	}
	v.staff = row
	switch {
	case row.Weaker(old):
		return v.startOver()
	case v.session.Bare && row.Factors.Any():
		return v.nextSession(v.session.How)
	}
	return nil
}

const maxPasskeys = 20

func (v *visit) keyName() string {
	name := v.form("name")
	if name == "" {
		name = "Passkey of " + v.at.Format("2 Jan 2006")
	}
	if r := []rune(name); len(r) > 60 {
		name = string(r[:60])
	}
	return name
}

func (d *Desk) addPasskey(v *visit) (string, error) {
	key, err := d.passkeys.FinishNew(v.staff, "account "+v.token.Session, v.r.PostForm.Get("state"), v.r.PostForm.Get("credential"), v.keyName(), v.at)
	if errors.Is(err, access.ErrPasskey) {
		return "", refuse(http.StatusUnprocessableEntity, "The passkey was not accepted. Please try again.")
	} else if err != nil {
		return "", err
	}
	return "passkey", v.change("staff.passkey-add", func(s *ledger.Staff) error { return addKey(s, key) })
}

func addKey(s *ledger.Staff, key ledger.Passkey) error {
	switch {
	case len(s.Factors.Passkeys) >= maxPasskeys:
		return refuse(http.StatusUnprocessableEntity, "There are twenty passkeys already. Remove one first.")
	case slices.ContainsFunc(s.Factors.Passkeys, func(k ledger.Passkey) bool { return k.ID == key.ID }):
		return refuse(http.StatusConflict, "This passkey is known already.")
	}
	s.Factors.Passkeys = append(slices.Clone(s.Factors.Passkeys), key)
	return nil
}

func (v *visit) keyAt(s *ledger.Staff) (int, error) {
	i := slices.IndexFunc(s.Factors.Passkeys, func(k ledger.Passkey) bool { return k.ID == v.form("id") })
	if i < 0 {
		return 0, refuse(http.StatusUnprocessableEntity, "This passkey is not yours, or it is removed already.")
	}
	return i, nil
}

func (d *Desk) renamePasskey(v *visit) (string, error) {
	return "account", v.change("staff.passkey-name", func(s *ledger.Staff) error {
		i, err := v.keyAt(s)
		if err == nil {
			s.Factors.Passkeys = slices.Clone(s.Factors.Passkeys)
			s.Factors.Passkeys[i].Name = v.keyName()
		}
		return err
	})
}

func (d *Desk) removePasskey(v *visit) (string, error) {
	return "account", v.change("staff.passkey-remove", func(s *ledger.Staff) error {
		i, err := v.keyAt(s)
		if err != nil {
			return err
		}
		s.Factors.Passkeys = slices.Delete(slices.Clone(s.Factors.Passkeys), i, i+1)
		return v.stillEnough(*s)
	})
}

// stillEnough keeps a person from taking away the last way in.
func (v *visit) stillEnough(s ledger.Staff) error {
	switch {
	case !s.CanSignIn():
		return refuse(http.StatusConflict, "This is your only way to sign in. Add a password or another passkey first.")
	case secondFactor(v.clinic) && !s.Factors.Any():
		return refuse(http.StatusConflict, "This clinic asks for a second factor, and this is your only one. Add another first.")
	}
	return nil
}

func (d *Desk) setPassword(v *visit) (string, error) {
	hash, err := d.newPassword(v.r, v.clinic, v.staff)
	if err != nil {
		return "", err
	}
	return "account", v.change("staff.password", func(s *ledger.Staff) error { s.Password = hash; return nil })
}

// newPassword checks and hashes what was typed twice.
func (d *Desk) newPassword(r *http.Request, clinic ledger.Clinic, s ledger.Staff) (string, error) {
	password := r.PostForm.Get("new")
	if password != r.PostForm.Get("repeat") {
		return "", refuse(http.StatusUnprocessableEntity, "The two passwords differ. Please type the same twice.")
	}
	if err := access.CheckPassword(password, false, s.Login, s.Name, clinic.Name); err != nil {
		return "", refuse(http.StatusUnprocessableEntity, sentence(err))
	}
	return d.Passwords.Hash(r.Context(), password, d.Chance)
}

func sentence(err error) string {
	s := err.Error()
	return strings.ToUpper(s[:1]) + s[1:] + "."
}

// endOthers ends every session of the person but this one.
func (d *Desk) endOthers(v *visit) (string, error) {
	all, err := d.Store.Sessions(v.staff.ID)
	for _, s := range all {
		if s.ID != v.session.ID && err == nil {
			err = d.Store.EndSession(s.ID, v.trail())
		}
	}
	return "account", err
}

// confirmReset is the second person's half of a new start.
func (d *Desk) confirmReset(v *visit) (string, error) {
	id := rom.StaffID(v.form("staff"))
	_, err := d.Store.ChangeStaff(id, "staff.reset-confirm", v.trail(), func(s *ledger.Staff) error {
		if s.Invited == nil || !s.Invited.Reset || s.Invited.Second != "" || !v.at.Before(s.Invited.Until) {
			return refuse(http.StatusConflict, "This new start does not wait for anybody any more.")
		}
		if s.ID == v.staff.ID {
			return refuse(http.StatusForbidden, "Another person has to confirm your own new start.")
		}
		if err := v.mayAfter(access.ConfirmReset, s.Invited.By); err != nil {
			return err
		}
		i := *s.Invited
		i.Second = v.staff.ID
		s.Invited = &i
		return nil
	})
	return "confirmed", err
}
