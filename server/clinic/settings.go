package clinic

import (
	"errors"
	"fmt"
	"maps"
	"net/http"
	"strconv"
	"time"

	"unsling/engine/rom"
	"unsling/server/access"
	"unsling/server/ledger"
)

type settingsPage struct {
	Form   ledger.Clinic
	Hours  [7][2]string // by weekday, from and to as 08:00
	Staff  []ledger.Staff
	Days   []time.Weekday
	Change bool
	// Second says that everybody needs a second factor to sign in.
	Second bool
	// Watched says that the clinic has what monitoring needs.
	Watched bool
}

func (d *Desk) settingsPage(v *visit) error {
	return v.settingsShow(http.StatusOK, v.clinic, hoursText(v.clinic), "")
}

func hoursText(c ledger.Clinic) (out [7][2]string) {
	for _, h := range c.Hours {
		if h.Day >= 0 && h.Day < 7 {
			out[h.Day] = [2]string{clockTime(h.From), clockTime(h.To)}
		}
	}
	return out
}

func (v *visit) settingsShow(status int, c ledger.Clinic, hours [7][2]string, problem string) error {
	all, err := v.desk.Store.AllStaff()
	if err != nil {
		return err
	}
	p := settingsPage{Form: c, Hours: hours, Staff: all, Days: weekOrder, Change: v.may(access.SetClinic) == nil, Watched: v.clinic.Monitoring(), Second: secondFactor(c)}
	return v.showWith(status, "settings", frame{Title: "Clinic", Here: "settings", Error: problem, Page: p})
}

// saveSettings takes the clinic's numbers, hours and deputy. Without them
// nobody is watched, and the watch list says so.
func (d *Desk) saveSettings(v *visit) error {
	if err := v.may(access.SetClinic); err != nil {
		return err
	}
	c := v.clinic
	c.Name, c.Phone, c.AfterHours, c.Deputy = v.form("name"), v.form("phone"), v.form("after_hours"), rom.StaffID(v.form("deputy"))
	c.Confirm = v.form("confirm") == "yes"
	c.Zone = v.form("zone")
	c.Settings = maps.Clone(c.Settings)
	if c.Settings == nil {
		c.Settings = map[string]string{}
	}
	c.Settings["emergency"] = v.form("emergency")
	late := v.form(escalateKey)
	if v.r.PostForm.Has(escalateKey) {
		c.Settings[escalateKey] = late
	}
	if v.r.PostForm.Has("second_asked") {
		c.Settings[settingSecond] = "off"
		if v.form("second") == "yes" {
			c.Settings[settingSecond] = "on"
		}
	}
	c.Hours = nil
	var hours [7][2]string
	problem := ""
	for day := range hours {
		from, to := v.form(fmt.Sprintf("from%d", day)), v.form(fmt.Sprintf("to%d", day))
		hours[day] = [2]string{from, to}
		if from == "" && to == "" {
			continue
		}
		a, errA := time.Parse("15:04", from)
		b, errB := time.Parse("15:04", to)
		if errA != nil || errB != nil || !b.After(a) {
			problem = fmt.Sprintf("%s: hours must be written as 08:00 and 17:00, the end after the beginning.", time.Weekday(day))
			continue
		}
		c.Hours = append(c.Hours, ledger.Hours{Day: time.Weekday(day), From: a.Hour()*60 + a.Minute(), To: b.Hour()*60 + b.Minute()})
	}
	deputy, err := d.Store.Staff(c.Deputy)
	if err != nil && !errors.Is(err, ledger.ErrUnknown) {
		return err
	}
	_, noZone := time.LoadLocation(c.Zone)
	if n, err := strconv.Atoi(late); problem == "" && v.r.PostForm.Has(escalateKey) && (err != nil || n < 1 || n > 80) {
		problem = fmt.Sprintf("%q is not a number of clinic hours from 1 to 80.", late)
	}
	switch {
	case problem != "":
	case c.Zone == "" || c.Zone == "Local" || noZone != nil:
		problem = fmt.Sprintf("%q is not the name of a time zone. Write it as Europe/Vienna or America/New_York.", c.Zone)
	case c.Deputy != "" && (err != nil || deputy.Disabled || deputy.Role == ledger.Administrator):
		problem = "The deputy must be a clinician or assistant of this clinic."
	case len(c.Name) > 200 || len(c.Phone) > 40 || len(c.AfterHours) > 40 || len(c.Settings["emergency"]) > 40:
		problem = "The name or a number is too long."
	case c.Name == "":
		problem = "The clinic needs a name."
	case c.Phone == "":
		problem = "The clinic needs a number: the phone shows it on every screen."
	case v.clinic.Monitoring() && !c.Monitoring():
		problem = "Patients are being watched: hours, a number outside them and a deputy can be changed and not taken away."
	}
	if problem != "" {
		return v.settingsShow(http.StatusUnprocessableEntity, c, hours, problem)
	}
	if err := d.Store.SetClinic(c, v.trail()); err != nil {
		return err
	}
	d.judged.Forget() // hours decide what is overdue
	return v.back("/clinic/settings", "settings")
}
