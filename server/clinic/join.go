package clinic

import (
	"net/http"
	"net/url"
	"time"

	"unsling/engine/rom"
	"unsling/server/access"
	"unsling/server/ledger"
)

type joinPage struct {
	Code   string
	Ticket string
	Who    ledger.Staff
	Asks   bool
}

// ticket is a code that was right, sealed, so that it is typed once.
type ticket struct {
	Staff rom.StaffID `json:"staff"`
	MAC   string      `json:"mac"`
	At    time.Time   `json:"at"`
}

const (
	useTicket  = "join"
	ticketLife = 30 * time.Minute
	wrongJoin  = "This code is not good, or not any more. Each is good for seven days and once. Ask an administrator of the clinic for a new one."
)

func (d *Desk) joinPage(w http.ResponseWriter, _ *http.Request) {
	d.public(w, http.StatusOK, "join", "Set up your sign-in", joinPage{}, "")
}

// join takes the code of an invitation and shows whom it is for.
func (d *Desk) join(w http.ResponseWriter, r *http.Request) {
	now := d.Now()
	p := joinPage{}
	if err := takeForm(r); err != nil {
		d.public(w, http.StatusBadRequest, "join", "Set up your sign-in", p, "The form could not be read. Please try again.")
		return
	}
	gate := "join " + access.AddressKey(r.RemoteAddr) // 100 bits: nobody elsewhere has to wait
	try, wait := d.secondGate.Try(gate, r.RemoteAddr, now)
	if wait > 0 {
		d.public(w, http.StatusTooManyRequests, "join", "Set up your sign-in", p, "Too many wrong tries. Please wait "+waiting(wait)+" and try again.")
		return
	}
	mac := access.StaffCodeMAC(d.Secrets, r.PostForm.Get("code"))
	who, err := d.invited(mac, now)
	if err != nil {
		d.public(w, http.StatusUnauthorized, "join", "Set up your sign-in", p, wrongJoin)
		return
	}
	try.Right()
	d.joinShow(w, http.StatusOK, who, "")
}

func (d *Desk) joinShow(w http.ResponseWriter, status int, who ledger.Staff, problem string) {
	text, err := d.box.Pack(useTicket, "", ticket{who.ID, who.Invited.MAC, d.Now()})
	if err != nil {
		d.plain(w, http.StatusInternalServerError, broken)
		return
	}
	clinic, _ := d.Store.Clinic()
	d.public(w, status, "join", "Set up your sign-in", joinPage{Ticket: text, Who: who, Asks: secondFactor(clinic)}, problem)
}

// invited finds the person whose invitation has this mark. Every row is
// compared.
func (d *Desk) invited(mac string, now time.Time) (who ledger.Staff, err error) {
	all, err := d.Store.AllStaff()
	if err != nil {
		return who, err
	}
	err = errWrongCode
	for _, s := range all {
		if goodInvitation(s, mac, now) == nil {
			who, err = s, nil
		}
	}
	return who, err
}

func goodInvitation(s ledger.Staff, mac string, now time.Time) error {
	if i := s.Invited; s.Disabled || i == nil || !access.SameMAC(i.MAC, mac) || !now.Before(i.Until) || now.Before(i.Made) || i.Reset && i.Second == "" {
		return errWrongCode
	}
	return nil
}

// ticketOf opens the ticket of a step of joining.
func (d *Desk) ticketOf(text string, now time.Time) (ticket, ledger.Staff, error) {
	var k ticket
	if d.box.Unpack(useTicket, "", text, &k) != nil || now.Sub(k.At) > ticketLife || now.Before(k.At) {
		return k, ledger.Staff{}, errWrongCode
	}
	who, err := d.Store.Staff(k.Staff)
	if err == nil {
		err = goodInvitation(who, k.MAC, now)
	}
	return k, who, err
}

// joinOptions asks the browser to make the first passkey. The ticket is in
// the address: it is of no use without the browser's answer, and short-lived.
func (d *Desk) joinOptions(w http.ResponseWriter, r *http.Request) {
	k, who, err := d.ticketOf(r.URL.Query().Get("ticket"), d.Now())
	if err == nil {
		who.Factors = ledger.Factors{}
		var c access.Challenge
		if c, err = d.passkeys.BeginNew(who, "join "+k.MAC, d.Now()); err == nil {
			err = writeJSON(w, c)
		}
	}
	if err != nil {
		d.plain(w, http.StatusUnauthorized, wrongJoin)
	}
}

// joinWith takes the first passkey, or the password, and signs the person in.
// Whatever the person had before is void from here on.
func (d *Desk) joinWith(w http.ResponseWriter, r *http.Request) {
	now := d.Now()
	if err := takeForm(r); err != nil {
		d.public(w, http.StatusBadRequest, "join", "Set up your sign-in", joinPage{}, "The form could not be read. Please try again.")
		return
	}
	k, who, err := d.ticketOf(r.PostForm.Get("ticket"), now)
	if err != nil {
		d.public(w, http.StatusUnauthorized, "join", "Set up your sign-in", joinPage{}, wrongJoin)
		return
	}
	clinic, _ := d.Store.Clinic()
	var key *ledger.Passkey
	hash, how := "", "password"
	if answer := r.PostForm.Get("credential"); answer != "" {
		how = "passkey"
		bare := who
		bare.Factors = ledger.Factors{}
		made, err := d.passkeys.FinishNew(bare, "join "+k.MAC, r.PostForm.Get("state"), answer, "First passkey", now)
		if err != nil {
			d.joinShow(w, http.StatusUnprocessableEntity, who, "The passkey was not accepted. Please try again.")
			return
		}
		key = &made
	} else if hash, err = d.newPassword(r, clinic, who); err != nil {
		d.joinShow(w, http.StatusUnprocessableEntity, who, err.Error())
		return
	}
	who, err = d.Store.ChangeStaff(who.ID, "staff.join", ledger.Trail{At: now.UTC(), Actor: string(who.ID), Reason: how}, func(s *ledger.Staff) error {
		if err := goodInvitation(*s, k.MAC, now); err != nil {
			return err // somebody was first
		}
		s.Invited, s.Password, s.Factors = nil, hash, ledger.Factors{}
		if key != nil {
			s.Factors.Passkeys = []ledger.Passkey{*key}
		}
		return nil
	})
	if err != nil {
		d.public(w, http.StatusConflict, "join", "Set up your sign-in", joinPage{}, wrongJoin)
		return
	}
	asks := secondFactor(clinic) && !who.Factors.Any()
	d.enter(w, r, who, how, asks, signInForm{Next: "/clinic/account?" + url.Values{"done": {"joined"}}.Encode()})
}
