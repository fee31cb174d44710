package clinic

import (
	"fmt"
	"maps"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"time"

	"unsling/engine/rom"
	"unsling/server/ledger"
)

// carried is a form that was sent, or was being written, when its sender had
// to prove who is there. It travels through the browser sealed for that
// person, so that nobody else who signs in gets to read or to send it, and
// nothing typed is lost.
type carried struct {
	To   string    `json:"to"`   // where the form goes
	Page string    `json:"page"` // where it stands
	Body string    `json:"body"`
	At   time.Time `json:"at"`
	Open bool      `json:"open,omitempty"` // was still being written
}

// Bounds of what is carried.
const (
	carryMost = 64 << 10
	carryLife = 24 * time.Hour
)

const useForm = "form"

// carry seals a form for its owner; "" if it is too long.
func (d *Desk) carry(owner rom.StaffID, c carried) string {
	if owner == "" || len(c.Body) > carryMost {
		return ""
	}
	text, err := d.box.Pack(useForm, string(owner), c)
	if err != nil {
		d.Log.Error("form not carried", "error", err.Error())
		return ""
	}
	return text
}

// uncarry opens what was carried for that person.
func (d *Desk) uncarry(owner rom.StaffID, text string) (carried, bool) {
	var c carried
	if text == "" || d.box.Unpack(useForm, string(owner), text, &c) != nil {
		return carried{}, false
	}
	if age := d.Now().Sub(c.At); age < 0 || age > carryLife || safeNext(c.To) != c.To {
		return carried{}, false
	}
	return c, true
}

// ownerOf says whose form a request without a live session is: by its session
// token, though that has run out, or by the mark that every form carries.
func (d *Desk) ownerOf(r *http.Request) rom.StaffID {
	if who := d.Tokens.StaffOf(d.Cookies.Token(r), d.Now()); who != "" {
		return rom.StaffID(who)
	}
	id, mark, ok := strings.Cut(r.PostForm.Get("once"), ".")
	if !ok {
		return ""
	}
	all, err := d.Store.AllStaff()
	if err != nil {
		return ""
	}
	for _, s := range all {
		if d.box.Marked("once", id+"\x00"+string(s.ID), mark) {
			return s.ID
		}
	}
	return ""
}

// onceFor is the token of one form of one person, see onces.
func (d *Desk) onceFor(who rom.StaffID) string {
	id := d.id()
	return id + "." + d.box.Mark("once", id+"\x00"+string(who))
}

// opened reports whether the person is the one whom the form was shown to. A
// form without a mark says nothing.
func (v *visit) opened(once string) bool {
	id, mark, ok := strings.Cut(once, ".")
	return !ok || v.desk.box.Marked("once", id+"\x00"+string(v.staff.ID), mark)
}

// body is a posted form without what belongs to one attempt only.
func body(form url.Values) string {
	form = maps.Clone(form)
	form.Del("once")
	return form.Encode()
}

type resumePage struct {
	To     string
	Page   string
	Fields [][2]string
	Now    bool   // the person's own click sent it a moment ago: send it
	Kept   string // sealed, for the page to fill itself in again
}

// resume gives a carried form back. One that was sent is sent again: at once
// after a step-up, by the person's own click after a sign-in. One that was
// still being written goes back to its page, if scripts run.
func (d *Desk) resume(w http.ResponseWriter, staff ledger.Staff, c carried, at bool) {
	values, err := url.ParseQuery(c.Body)
	if err != nil {
		values = nil
	}
	page := resumePage{To: c.To, Page: c.Page, Now: at && !c.Open}
	if c.Open {
		page.Kept = d.carry(staff.ID, c)
	}
	for _, name := range slices.Sorted(maps.Keys(values)) {
		for _, x := range values[name] {
			page.Fields = append(page.Fields, [2]string{name, x})
		}
	}
	page.Fields = append(page.Fields, [2]string{"once", d.onceFor(staff.ID)})
	clinic, _ := d.Store.Clinic()
	title := "Signed in"
	if at {
		title = "Thank you"
	}
	f := frame{Title: title, Clinic: clinic, Demo: clinic.Demo, Page: page}
	if err := write(w, http.StatusOK, "resume", f); err != nil {
		d.Log.Error("clinic page failed", "error", err.Error())
	}
}

// kept returns the fields of a carried form to the page it was written on.
func (d *Desk) kept(v *visit) error {
	c, ok := d.uncarry(v.staff.ID, v.r.PostForm.Get("kept"))
	if !ok {
		return refuse(http.StatusNotFound, "There is nothing of yours to bring back.")
	}
	values, err := url.ParseQuery(c.Body)
	if err != nil {
		return err
	}
	return v.json(struct {
		To     string     `json:"to"`
		Fields url.Values `json:"fields"`
	}{c.To, values})
}

// lock ends the session of a page that was left alone, and takes along what
// was being written there. It answers with the door.
func (d *Desk) lock(w http.ResponseWriter, r *http.Request) {
	if err := takeForm(r); err != nil {
		d.plain(w, http.StatusBadRequest, "The form could not be read.")
		return
	}
	now := d.Now()
	form := signInForm{Next: safeNext(r.PostForm.Get("page"))}
	text := "You were signed out because nothing was done for a while."
	if to := safeNext(r.PostForm.Get("to")); r.PostForm.Get("body") != "" {
		form.Kept = d.carry(d.ownerOf(r), carried{To: to, Page: form.Next, Body: r.PostForm.Get("body"), At: now, Open: true})
		if form.Kept != "" {
			text += " What you were writing is kept: sign in to go on."
		}
	}
	d.endSession(r)
	d.Cookies.Clear(w)
	d.signInShow(w, http.StatusUnauthorized, form, text)
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
		to := safeNext(r.URL.RequestURI())
		form.Kept = d.carry(d.ownerOf(r), carried{To: to, Page: to, Body: body(r.PostForm), At: d.Now()})
		if form.Kept != "" {
			text = "You were signed out because nothing was done for a while. What you wrote is kept: sign in to send it."
		}
	}
	d.signInShow(w, http.StatusUnauthorized, form, text)
}

// left says how long the browser's session still lasts, without renewing it,
// so that a page that is open in a second tab knows too.
func (d *Desk) left(w http.ResponseWriter, r *http.Request) {
	now := d.Now()
	out := sessionTimes{}
	if token, err := d.Tokens.ParseStaff(d.Cookies.Token(r), now); err == nil {
		if s, staff, err := d.Store.Session(token.Session); err == nil && s.Live(now) && !staff.Disabled {
			out = d.times(s, token.Expires, staff.ID, now)
		}
	}
	if err := writeJSON(w, out); err != nil {
		d.Log.Error("clinic page failed", "error", err.Error())
	}
}

// stay renews the session: the visit itself does.
func (d *Desk) stay(v *visit) error {
	return v.json(d.times(v.session, v.at.Add(sessionIdle), v.staff.ID, v.at))
}

// sessionTimes are in whole seconds from now.
type sessionTimes struct {
	Left int    `json:"left"` // until it ends unless it is used
	End  int    `json:"end"`  // until it ends in any case
	Who  string `json:"who"`  // tells one person from another, and nothing else
}

func (d *Desk) times(s ledger.Session, expires time.Time, who rom.StaffID, now time.Time) sessionTimes {
	left, end := expires.Sub(now), s.Until.Sub(now)
	return sessionTimes{int(min(left, end).Seconds()), int(end.Seconds()), d.box.Mark("who", string(who))}
}

// Session is what the page's script needs to warn in time.
func (f frame) Session() *sessionTimes {
	if f.visit == nil {
		return nil
	}
	t := f.visit.desk.times(f.visit.session, f.visit.at.Add(sessionIdle), f.visit.staff.ID, f.visit.at)
	return &t
}

func waiting(d time.Duration) string {
	if d < time.Minute {
		return fmt.Sprintf("%d seconds", int(d.Seconds())+1)
	}
	return fmt.Sprintf("%d minutes", int(d.Minutes())+1)
}
