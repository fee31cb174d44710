package clinic

import (
	"errors"
	"fmt"
	"net/http"

	"unsling/engine/protocol"
	"unsling/engine/rom"
	"unsling/server/access"
	"unsling/server/ledger"
	"unsling/sync/wire"
)

type anotherPage struct {
	Care       care
	Base       string
	Procedures []procedureChoice
	Live       []care // episodes that have not ended
	Same       bool   // the form is about a side that has a live episode
}

// anotherForm asks for a second episode of a patient who has one: the other
// shoulder, or a revision.
func (d *Desk) anotherForm(v *visit) error {
	f, err := v.file()
	if err != nil {
		return err
	}
	return v.anotherShow(http.StatusOK, f, "")
}

func (v *visit) anotherShow(status int, f file, problem string) error {
	adopted, err := v.adopted()
	if err != nil {
		return err
	}
	p := anotherPage{Base: "/clinic/patients/" + string(v.patient.ID)}
	p.Care, _ = f.Current("")
	for _, id := range rom.Procedures {
		_, ok := adopted[id]
		p.Procedures = append(p.Procedures, procedureChoice{id, name(procedureNames, id), ok})
	}
	for _, c := range f.Episodes {
		if c.Live() {
			p.Live = append(p.Live, c)
			p.Same = p.Same || rom.Side(v.r.PostForm.Get("side")) == c.Episode.Side
		}
	}
	return v.showWith(status, "another", frame{Title: "Another episode of " + v.patient.Name, Error: problem, Page: p})
}

// another books the episode with its plan, in one transaction. Records and
// plan of the earlier ones stay as they are.
func (d *Desk) another(v *visit) error {
	f, err := v.file()
	if err != nil {
		return err
	}
	id, err := v.bookAnother(f)
	var s *sorry
	switch {
	case errors.As(err, &s):
		return v.anotherShow(s.status, f, s.text)
	case errors.Is(err, ledger.ErrStale):
		return v.anotherShow(http.StatusConflict, f, "Somebody else changed a plan of this patient a moment ago. Please press the button again.")
	case err != nil:
		return err
	}
	return v.back("/clinic/patients/"+string(v.patient.ID)+"?episode="+string(id), "another")
}

func (v *visit) bookAnother(f file) (rom.EpisodeID, error) {
	if err := v.may(access.PlanEpisode); err != nil {
		return "", err
	}
	side, main := rom.Side(v.form("side")), rom.Procedure(v.form("main"))
	on, err := v.dateField("surgery", "Date of surgery")
	switch days := on.Sub(v.today); {
	case err != nil:
		return "", err
	case !side.Valid():
		return "", refuse(http.StatusUnprocessableEntity, "Please choose the side of the operation.")
	case !main.Valid():
		return "", refuse(http.StatusUnprocessableEntity, "Please choose the main procedure.")
	case !on.IsZero() && (days > 730 || days < -730):
		return "", refuse(http.StatusUnprocessableEntity, fmt.Sprintf("The date of surgery, %s, is more than two years away from today. Please check the year.", on))
	}
	e := rom.Episode{ID: rom.EpisodeID(v.desk.id()), Version: 1, State: rom.Planned, Side: side, Procedures: []rom.Procedure{main}, Surgery: on, By: v.staff.ID}
	for _, s := range v.r.PostForm["also"] {
		if p := rom.Procedure(s); p.Valid() && !e.Has(p) {
			e.Procedures = append(e.Procedures, p)
		}
	}
	choices := protocol.Choices{Reason: "Enrolled", Rev: nextRev(f)}
	for _, c := range f.Episodes {
		e.BornYear = max(e.BornYear, c.Episode.BornYear)
		if c.HasPlan { // days and hours of the patient's life are known
			choices.TherapyDays, choices.TherapyDayLess = c.Plan.TherapyDays, c.Plan.TherapyDayLess
			choices.WakeFrom, choices.WakeTo, choices.LeastGap = c.Plan.WakeFrom, c.Plan.WakeTo, c.Plan.LeastGap
		}
		if c.Live() && c.Episode.Side == side && v.form("sure") != "yes" {
			return "", refuse(http.StatusUnprocessableEntity, fmt.Sprintf("There is an episode of the %s shoulder that has not ended. If this is another operation on the same shoulder, tick so below.", side))
		}
	}
	plan, err := v.firstPlan(e, choices)
	if err != nil {
		return "", err
	}
	drafts, _, err := one(v, e)
	if err != nil {
		return "", err
	}
	dr, err := v.draft(wire.KindPlan, plan)
	if err != nil {
		return "", err
	}
	return e.ID, v.write(&ledger.Base{Episode: e.ID, Base: 0, New: plan.Rev}, append(drafts, dr)...)
}
