package clinic

import (
	"encoding/json"
	"net/http"
	"slices"
	"time"

	"unsling/engine/rom"
	"unsling/sync/wire"
)

type historyPage struct {
	Care      care
	Home      string
	Names     map[rom.StaffID]string
	Revisions []revision
	OnPhone   onPhone
}

// revision is one entry of the plan's history.
type revision struct {
	rom.Plan
	At      time.Time
	Who     string
	Changes []rom.Difference
	Adopted []string // when which phone began to follow it
	JSON    string
}

// planHistory shows who changed what, when and why, and when it was on the phone.
func (d *Desk) planHistory(v *visit) error {
	f, c, err := v.shown()
	if err != nil {
		return err
	}
	names, err := v.staffNames()
	if err != nil {
		return err
	}
	p := historyPage{Care: c, Names: names, Home: "/clinic/patients/" + string(v.patient.ID), OnPhone: v.onPhone(f, c)}
	var last rom.Plan
	for _, e := range f.History.Plans {
		if e.Body.Episode != c.Episode.ID {
			continue
		}
		r := revision{Plan: e.Body, At: e.At.In(v.zone), Who: names[e.Body.By]}
		if last.Rev > 0 {
			r.Changes = last.Diff(e.Body)
		}
		last = e.Body
		told := map[rom.Author]bool{}
		for _, a := range f.History.Adoptions {
			// Each phone once: a phone may repeat that it follows a revision.
			if a.Body.Episode == c.Episode.ID && a.Body.Rev == r.Rev && !told[a.Ref.Author] {
				told[a.Ref.Author] = true
				r.Adopted = append(r.Adopted, a.At.In(v.zone).Format("2 Jan 2006 15:04"))
			}
		}
		text, err := json.MarshalIndent(e.Body, "", "  ")
		if err != nil {
			return err
		}
		r.JSON = string(text)
		p.Revisions = append(p.Revisions, r)
	}
	slices.Reverse(p.Revisions)
	return v.show("history", "Plan history", "", p)
}

// clear lets a phase begin, or takes that back.
func (d *Desk) clear(v *visit) error {
	f, c, err := v.care()
	if err != nil {
		return err
	}
	key := v.form("phase")
	cl := rom.Clearance{Episode: c.Episode.ID, Phase: key, On: v.today, By: v.staff.ID, Reason: v.form("reason"), Withdrawn: v.form("act") == "withdraw"}
	_, known := c.Plan.Phase(key)
	problem := ""
	switch {
	case !known:
		problem = "The plan has no such phase. Look at the plan as it is now."
	case c.Episode.State != rom.Ongoing:
		problem = "A phase can be cleared once the operation and the side are confirmed, and until the episode ends."
	case cl.Withdrawn && cl.Reason == "":
		problem = "Please say why the clearance is withdrawn."
	case len([]rune(cl.Reason)) > 500:
		problem = "The reason is too long. Please say it in 500 letters."
	}
	if problem != "" {
		return v.patientShow(http.StatusUnprocessableEntity, f, c.Episode.ID, problem)
	}
	if err := v.record(wire.KindClearance, cl); err != nil {
		return err
	}
	what := "cleared"
	if cl.Withdrawn {
		what = "withdrawn"
	}
	return v.back("/clinic/patients/"+string(v.patient.ID)+"?episode="+string(c.Episode.ID), what)
}
