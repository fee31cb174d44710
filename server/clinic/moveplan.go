package clinic

import (
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strings"

	"unsling/engine/protocol"
	"unsling/engine/rom"
	"unsling/server/access"
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

// moved are the two plans that a patient can be moved to: strict permits
// nothing that the plan in force does not, full is the new protocol with what
// the clinic had changed for this patient laid over it.
type moved struct {
	strict, full rom.Plan
	texts        []string
	lost, whole  bool
}

// movePlanPage shows what a move to the protocols adopted last would change
// for one patient, and on the phone on any day. It moves nobody.
func (d *Desk) movePlanPage(v *visit) error {
	f, err := v.file()
	if err != nil {
		return err
	}
	c, ok := f.current(v.episodeOf())
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
	for _, x := range c.Episode.Procedures {
		if pr, ok := adopted[x]; ok {
			p.To = append(p.To, pr)
		}
	}
	if p.Move = behind(c.Plan, c.Episode, adopted) && !c.Episode.State.Ended(); p.Move {
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

func (v *visit) fillMove(p *movePage, f file, c care, m moved, problem *string) {
	next := m.strict
	p.Texts, p.Lost, p.Whole = m.texts, m.lost, m.whole
	if p.Full || m.whole {
		next = m.full
	} else {
		p.Held = m.strict.Diff(m.full)
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
	if refs(m.full.Protocol) != v.form("to") {
		return refuse(http.StatusConflict, "Another version was adopted in the meantime. Look at the difference as it is now.")
	}
	next := m.strict
	if v.form("full") == "yes" {
		next = m.full
	} else if m.whole {
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

// moved makes both plans. What the clinic changed for this patient beyond the
// version in force stays.
func (v *visit) moved(f file, c care) (moved, error) {
	var m moved
	rows, err := v.desk.Store.Adoptions()
	if err != nil {
		return m, err
	}
	var old []protocol.Protocol
	for _, ref := range c.Plan.Protocol {
		for _, row := range slices.Backward(rows) {
			pr, err := read(row)
			if err != nil {
				return m, err
			}
			if pr.Ref() == ref {
				old = append(old, pr)
				break
			}
		}
	}
	choices := func() protocol.Choices {
		return protocol.Choices{TherapyDays: c.Plan.TherapyDays, TherapyDayLess: c.Plan.TherapyDayLess, WakeFrom: c.Plan.WakeFrom, WakeTo: c.Plan.WakeTo,
			LeastGap: c.Plan.LeastGap, MayI: c.Plan.MayI, Reason: "Moved", Rev: nextRev(f), Base: c.Plan.Rev, Answers: map[string]string{}}
	}
	theirs, err := v.firstPlan(c.Episode, choices())
	if err != nil {
		return m, err
	}
	adopted, err := v.adopted()
	if err != nil {
		return m, err
	}
	for _, o := range old {
		if to, ok := adopted[o.Procedure]; ok && to.Ref() != o.Ref() {
			m.texts = append(m.texts, protocolChanges(o, to)...)
		}
	}
	base := c.Plan // without the text of before, all of the patient's plan counts as the clinic's own choice
	ch := choices()
	ch.Contact, ch.By, ch.On = v.contact(c.Plan.Contact), v.staff.ID, v.today
	for _, o := range old {
		for _, q := range o.Questions {
			ch.Answers[q.Key] = "yes"
		}
	}
	made, err := protocol.MakePlan(old, c.Episode, ch)
	if m.lost = err != nil; !m.lost {
		base = made
	}
	m.full, _ = rebase(base, theirs, c.Plan)
	m.full.Protocol, m.full.Breaks, m.full.Signed, m.full.Contact = theirs.Protocol, c.Plan.Breaks, v.signature(), v.contact(c.Plan.Contact)
	m.full.State, m.full.Why, m.full.Answers = c.Plan.State, c.Plan.Why, c.Plan.Answers
	m.full.Episode, m.full.By, m.full.On, m.full.Rev, m.full.Base = c.Episode.ID, v.staff.ID, v.today, nextRev(f), c.Plan.Rev
	for _, ph := range m.full.Phases {
		_, same := c.Plan.Phase(ph.Key)
		m.whole = m.whole || !same
	}
	for _, ph := range c.Plan.Phases {
		_, same := m.full.Phase(ph.Key)
		m.whole = m.whole || !same
	}
	m.strict = stricter(c.Plan, m.full)
	// Whatever could not be taken back row by row is all or nothing.
	m.whole = m.whole || c.Plan.Narrows(m.strict)
	return m, nil
}

// stricter is next with everything taken back that permits more than now: a
// limit, an earlier day, a gate without clearance, more pain, less of the
// sling, an exercise or a combination that was closed.
func stricter(now, next rom.Plan) rom.Plan {
	next.Phases = slices.Clone(next.Phases)
	from := 0
	for i, ph := range next.Phases {
		was, ok := now.Phase(ph.Key)
		if !ok {
			continue // all or nothing, see moved.whole
		}
		ph.From = max(ph.From, was.From, from)
		from = ph.From
		if was.NeedsClearance() && !ph.NeedsClearance() {
			ph.Gate.Clearance, ph.Gate.Waived = true, ""
		}
		ph.PainCap = min(ph.PainCap, was.PainCap)
		ph.Sling = was.Sling
		if measuring(ph) > measuring(was) { // measuring loads the joint
			ph.Measures = was.Measures
		}
		var rows []rom.Limit
		for _, l := range ph.Limits {
			o := was.Limit(l.Motion)
			switch {
			case o.Class == rom.Locked:
			case o.NarrowerThan(l):
				rows = append(rows, o)
			default:
				rows = append(rows, l)
			}
		}
		ph.Limits = rows
		ph.Forbidden = slices.Clone(ph.Forbidden)
		for _, key := range was.Forbidden {
			if !slices.Contains(ph.Forbidden, key) {
				ph.Forbidden = append(ph.Forbidden, key)
			}
		}
		next.Phases[i] = ph
	}
	next.Margin = now.Margin
	next.Opened = slices.DeleteFunc(slices.Clone(next.Opened), func(e rom.ExerciseID) bool { return !slices.Contains(now.Opened, e) })
	next.Closed = slices.Clone(next.Closed)
	for _, e := range now.Closed {
		if !slices.Contains(next.Closed, e) {
			next.Closed = append(next.Closed, e)
		}
	}
	return next
}

// measuring is how many trials a week a phase asks for.
func measuring(ph rom.Phase) (n int) {
	for _, m := range ph.Measures {
		n += m.PerWeek * m.Trials
	}
	return n
}
