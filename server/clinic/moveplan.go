package clinic

import (
	"errors"
	"fmt"
	"net/http"
	"strings"

	"unsling/engine/protocol"
	"unsling/engine/rom"
	"unsling/server/access"
	"unsling/server/clinic/planning"
	"unsling/server/ledger"
	"unsling/sync/wire"
)

type movePage struct {
	Care care
	Base string
	Now  []rom.ProtocolRef
	To   []protocol.Protocol
	Move bool // there is something to move to
	// Texts says what the protocols themselves differ in.
	Texts []string
	// Changes is what would change in this patient's plan, Held what the new
	// protocol permits beyond it and stays as it is unless said otherwise.
	Changes []rom.Difference
	Held    []rom.Difference
	Full    bool // what permits more is taken too
	Today   *preview
	Then    *preview
	On      rom.Date
	Lost    bool // the text of the version in force is not known any more
	Whole   bool // phases differ by name: all or nothing
}

// movePlanPage shows what a move to the protocols adopted last would change
// for one patient, and on the phone on any day. It moves nobody.
func (d *Desk) movePlanPage(v *visit) error {
	f, err := v.file()
	if err != nil {
		return err
	}
	c, ok := f.Current(v.episodeOf())
	if !ok || !c.HasPlan {
		return errNoPlan
	}
	return v.moveShow(http.StatusOK, f, c, "")
}

func (v *visit) moveShow(status int, f file, c care, problem string) error {
	p := movePage{Care: c, Base: "/clinic/patients/" + string(v.patient.ID), Now: c.Plan.Protocol, On: v.today, Full: v.form("full") == "yes"}
	adopted, err := v.adopted()
	if err != nil {
		return err
	}
	p.To = adopted.Of(c.Episode)
	if p.Move = adopted.Behind(c.Plan, c.Episode) && !c.Episode.State.Ended(); p.Move {
		m, err := v.moved(f, c)
		var s *sorry
		switch {
		case errors.As(err, &s):
			p.Move = false
			if problem == "" {
				problem = s.text
			}
		case err != nil:
			return err
		default:
			v.fillMove(&p, f, c, m, &problem)
		}
	}
	return v.showWith(status, "move", frame{Title: "Move " + v.patient.Name + " to another version", Error: problem, Page: p})
}

func (v *visit) fillMove(p *movePage, f file, c care, m planning.Move, problem *string) {
	next := m.Strict
	p.Texts, p.Lost, p.Whole = versionTexts(m.Versions), m.Lost, m.Whole
	if p.Full || m.Whole {
		next = m.Full
	} else {
		p.Held = m.Strict.Diff(m.Full)
	}
	p.Changes = c.Plan.Diff(next)
	on, err := v.dateField("preview_on", "Date of the preview")
	switch {
	case err != nil:
		*problem = err.Error()
	case !on.IsZero():
		p.On = on
	}
	p.Today, p.Then = v.preview(f, c, samePlan(c.Plan, next.Rev), p.On), v.preview(f, c, next, p.On)
}

// samePlan is a plan under another number, to be shown as the newest.
func samePlan(p rom.Plan, rev int) rom.Plan {
	p.Rev, p.Base = rev, p.Rev
	return p
}

// movePlan previews or moves one patient.
func (d *Desk) movePlan(v *visit) error {
	f, c, err := v.care()
	if err != nil {
		return err
	}
	if !c.HasPlan {
		return errNoPlan
	}
	if v.form("act") != "move" {
		return v.moveShow(http.StatusOK, f, c, "")
	}
	if err = v.moveNow(f, c); err != nil {
		return v.showAgain(err, f, c, movedMeanwhile, v.moveShow)
	}
	return v.back("/clinic/patients/"+string(v.patient.ID)+"/plan/history?episode="+string(c.Episode.ID), "plan")
}

const movedMeanwhile = "Somebody else changed this plan in the meantime. Look at the difference as it is now."

func (v *visit) moveNow(f file, c care) error {
	if base, err := v.number("base", "The revision", 1, 1<<30); err != nil {
		return err
	} else if base != c.Plan.Rev {
		return refuse(http.StatusConflict, movedMeanwhile)
	}
	if c.Episode.Correction != nil {
		return refuse(http.StatusUnprocessableEntity, correctionWaits)
	}
	m, err := v.moved(f, c)
	if err != nil {
		return err
	}
	if refs(m.Full.Protocol) != v.form("to") {
		return refuse(http.StatusConflict, "Another version was adopted in the meantime. Look at the difference as it is now.")
	}
	next := m.Strict
	if v.form("full") == "yes" {
		next = m.Full
	} else if m.Whole {
		return refuse(http.StatusUnprocessableEntity, "The phases of the two versions have other names, so that nothing can be taken over row by row. Look at both days below and tick that what permits more is taken too.")
	}
	next.Reason = v.form("reason")
	var revised rom.Plan
	if len(c.Plan.Diff(next)) > 0 {
		revised, err = v.revision(f, c, next)
	} else if err = v.may(access.ChangePlan); err == nil { // only the version that it names
		revised, err = c.Plan.Revise(next, c.Plan.Rev, next.Rev)
	}
	var bad *rom.InvalidError
	if errors.As(err, &bad) {
		return plainly(bad, next)
	} else if err != nil {
		return err
	}
	dr, err := v.draft(wire.KindPlan, revised)
	if err != nil {
		return err
	}
	return v.write(&ledger.Base{Episode: c.Episode.ID, Base: c.Plan.Rev, New: revised.Rev}, dr)
}

// refs prints which versions a plan rests on.
func refs(list []rom.ProtocolRef) string {
	var out []string
	for _, r := range list {
		out = append(out, fmt.Sprintf("%s %d", r.ID, r.Version))
	}
	return strings.Join(out, ", ")
}

// Refs and Target print both sides.
func (p movePage) Refs() string { return refs(p.Now) }

// Target is what the plan would rest on.
func (p movePage) Target() string {
	var list []rom.ProtocolRef
	for _, pr := range p.To {
		list = append(list, pr.Ref())
	}
	return refs(list)
}

// moved makes both plans to which a patient can be moved.
func (v *visit) moved(f file, c care) (planning.Move, error) {
	rows, err := v.desk.Store.Adoptions()
	if err != nil {
		return planning.Move{}, err
	}
	m, err := planning.MoveTo(rows, c.Episode, c.Plan, nextRev(f), planning.Writer{By: v.staff.ID, On: v.today, Signed: v.signature(), Contact: v.contact(c.Plan.Contact)})
	return m, notPlanned(err)
}

// versionTexts says what the protocols themselves differ in.
func versionTexts(pairs [][2]protocol.Protocol) (out []string) {
	for _, p := range pairs {
		out = append(out, protocolChanges(p[0], p[1])...)
	}
	return out
}
