package clinic

import (
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strings"
	"time"

	"unsling/engine/protocol"
	"unsling/engine/rom"
	"unsling/engine/schedule"
	"unsling/server/access"
	"unsling/server/clinic/planning"
	"unsling/server/ledger"
	"unsling/sync/wire"
)

type planPage struct {
	Care      care
	Plan      rom.Plan // as typed, or as it stands
	Base      int      // the revision that Save replaces
	Names     map[rom.StaffID]string
	Conflicts []protocol.Conflict
	Preview   *preview
	Now       *preview         // today, when Preview is another day
	Under     running          // what a session that is under way obeys of the change
	Changes   []rom.Difference // against the newest revision
	Stale     *stale
	Open      map[string]bool // phases whose details stand open
	Days      []time.Weekday
	Exercises []rom.ExerciseID
	Motions   []rom.Motion
	Levels    []rom.Level
	Classes   []rom.Class
	Slings    []rom.Sling
	Home      string
	Halts     []schedule.Halt
	Answer    bool // the revision answers the halts
}

// HaltsKey goes into the form, see haltsKey.
func (p planPage) HaltsKey() string { return haltsKey(p.Halts) }

// Show is what a field of the form holds: what was typed, or, after changes
// were laid over a newer revision, what came of that.
func (p planPage) Show(f frame, field string, value any) string {
	if p.Stale != nil {
		return fmt.Sprint(value)
	}
	return f.Typed("", field, value)
}

// stale is the other text when two people changed a plan at once.
type stale struct {
	Theirs  rom.Plan         // the newest revision
	Changes []rom.Difference // what it changed
	Clashes []rom.Difference // what both changed; From is theirs
}

// preview is what the phone would show on a date under the plan as typed.
type preview struct {
	On  rom.Date
	Day schedule.Day
}

var errNoPlan = refuse(http.StatusNotFound, "This episode has no plan yet.")

// planPage shows the plan as a form.
func (d *Desk) planPage(v *visit) error {
	f, err := v.file()
	if err != nil {
		return err
	}
	c, ok := f.Current(v.episodeOf())
	if !ok || !c.HasPlan {
		return errNoPlan
	}
	page := v.planOf(f, c, c.Plan)
	return v.planShow(http.StatusOK, page, "")
}

// planOf is the form of a plan as it is typed.
func (v *visit) planOf(f file, c care, plan rom.Plan) planPage {
	p := planPage{
		Care: c, Plan: plan, Base: c.Plan.Rev, Days: weekOrder, Exercises: rom.Exercises, Motions: rom.Motions, Levels: levels(),
		Classes: []rom.Class{rom.Locked, rom.Passive, rom.ActiveAssisted, rom.Active, rom.Resisted},
		Slings:  []rom.Sling{rom.SlingAlways, rom.SlingDay, rom.SlingOutdoor, rom.SlingComfort, rom.SlingOff},
		Home:    "/clinic/patients/" + string(v.patient.ID), Halts: schedule.Halts(f.History, c.Episode.ID), Open: map[string]bool{},
	}
	p.Changes = c.Plan.Diff(plan)
	for _, d := range p.Changes {
		p.Open[d.Phase] = true
	}
	if c.Day.InPhase {
		p.Open[c.Day.Phase.Key] = true
	} else if len(plan.Phases) > 0 {
		p.Open[plan.Phases[0].Key] = true
	}
	return p
}

func levels() (all []rom.Level) {
	for l := rom.LevelT1; l <= rom.LevelThigh; l++ {
		all = append(all, l)
	}
	return all
}

func (v *visit) planShow(status int, p planPage, problem string) error {
	var err error
	if p.Names, err = v.staffNames(); err != nil {
		return err
	}
	if p.Conflicts, err = v.conflicts(p.Care, p.Plan); err != nil {
		return err
	}
	for _, ph := range p.Plan.Phases {
		if strings.Contains(problem, "Phase "+ph.Key+",") || strings.Contains(problem, "phase "+ph.Key+",") {
			p.Open[ph.Key] = true
		}
	}
	return v.showWith(status, "plan", frame{Title: "Change the plan of " + v.patient.Name, Error: problem, Page: p})
}

// conflicts lists where a plan permits more than the clinic's protocol.
func (v *visit) conflicts(c care, plan rom.Plan) ([]protocol.Conflict, error) {
	adopted, err := v.adopted()
	if err != nil {
		return nil, err
	}
	return adopted.Conflicts(c.Episode, plan)
}

const staleText = "Somebody else changed this plan while you were writing. What you wrote is laid over the newest revision: look at it below and save again."

// changePlan previews or saves a revision.
func (d *Desk) changePlan(v *visit) error {
	f, c, err := v.care()
	if err != nil {
		return err
	}
	if !c.HasPlan {
		return errNoPlan
	}
	base, err := v.number("base", "The revision", 1, 1<<30)
	if err != nil {
		return err
	}
	from, ok := f.History.PlanAt(c.Episode.ID, base)
	if !ok || from.Rev != base {
		return v.planShow(http.StatusConflict, v.planOf(f, c, c.Plan), "The revision that this form was made from is not known any more. Please write your change again.")
	}
	next, err := v.readPlan(from)
	next.Rev, next.Base, next.By, next.On = nextRev(f), c.Plan.Rev, v.staff.ID, v.today
	next.Signed = v.signature()
	next.Contact = v.contact(c.Plan.Contact)
	page := func(plan rom.Plan) planPage {
		p := v.planOf(f, c, plan)
		p.Answer = v.answersShown(p.Halts)
		if from.Rev != c.Plan.Rev {
			p.Stale = &stale{Theirs: c.Plan, Changes: from.Diff(c.Plan)}
			p.Plan, p.Stale.Clashes = planning.Merge(from, c.Plan, plan)
			p.Changes = c.Plan.Diff(p.Plan)
			for _, d := range p.Changes {
				p.Open[d.Phase] = true
			}
		}
		return p
	}
	var s *sorry
	switch {
	case errors.As(err, &s):
		// Slips are put right first, on the revision they were made from.
		p := v.planOf(f, c, next)
		p.Base, p.Changes, p.Answer = from.Rev, from.Diff(next), v.answersShown(p.Halts)
		return v.planShow(s.status, p, s.text)
	case err != nil:
		return err
	case from.Rev != c.Plan.Rev:
		return v.planShow(http.StatusConflict, page(next), staleText)
	case v.form("act") == "preview":
		on, err := v.dateField("preview_on", "Date of the preview")
		if errors.As(err, &s) {
			return v.planShow(s.status, page(next), s.text)
		}
		if on.IsZero() {
			on = v.today
		}
		p := page(next)
		p.Preview = v.preview(f, c, next, on)
		now := v.preview(f, c, next, v.today)
		if on != v.today {
			p.Now = now
		}
		p.Under = runningUnder(planToday(v, f, c), now.Day)
		return v.planShow(http.StatusOK, p, "")
	}
	revised, err := v.revision(f, c, next)
	if errors.As(err, &s) {
		return v.planShow(s.status, page(next), s.text)
	} else if err != nil {
		return err
	}
	dr, err := v.draft(wire.KindPlan, revised)
	if err == nil {
		err = v.write(&ledger.Base{Episode: c.Episode.ID, Base: base, New: revised.Rev, Tightens: !c.Plan.Narrows(revised)}, dr)
	}
	switch {
	case errors.Is(err, ledger.ErrStale): // between reading and writing
		if f, err = v.file(); err != nil {
			return err
		}
		c, _ = f.Current(c.Episode.ID)
		return v.planShow(http.StatusConflict, page(next), staleText)
	case errors.As(err, &s):
		return v.planShow(s.status, page(next), s.text)
	case err != nil:
		return err
	}
	return v.back("/clinic/patients/"+string(v.patient.ID)+"/plan/history?episode="+string(c.Episode.ID), "plan")
}

// revision checks what the person may change and makes the revision. What it
// refuses is a *sorry.
func (v *visit) revision(f file, c care, next rom.Plan) (rom.Plan, error) {
	answers := v.form("answer") == "yes"
	switch {
	case c.Episode.State.Ended():
		return rom.Plan{}, refuse(http.StatusUnprocessableEntity, "The episode has ended. Its plan is not changed any more.")
	case c.Episode.Correction != nil && next.State != rom.Stopped:
		return rom.Plan{}, refuse(http.StatusUnprocessableEntity, correctionWaits)
	case len(c.Plan.Diff(next)) == 0 && !answers:
		return rom.Plan{}, refuse(http.StatusUnprocessableEntity, "Nothing is different from the present plan.")
	case next.Reason == "":
		return rom.Plan{}, refuse(http.StatusUnprocessableEntity, "Please say why the plan is changed. The reason stays in the history.")
	case next.State != rom.Running && next.Why == "":
		return rom.Plan{}, refuse(http.StatusUnprocessableEntity, "Please say to the patient why the plan is "+string(next.State)+". The phone shows it.")
	case len([]rune(next.Reason)) > 500 || len([]rune(next.Why)) > 500:
		return rom.Plan{}, refuse(http.StatusUnprocessableEntity, "The reason is too long. Please say it in 500 letters.")
	}
	if err := v.mayChange(c, next); err != nil {
		return rom.Plan{}, err
	}
	if answers {
		if err := v.may(access.ResumeStopped); err != nil {
			return rom.Plan{}, naming(err, actWords[access.ResumeStopped])
		}
		halts := schedule.Halts(f.History, c.Episode.ID)
		if v.form("halts") != haltsKey(halts) {
			return rom.Plan{}, refuse(http.StatusUnprocessableEntity, "The patient has reported something since you opened this page. It is named below; look at it before the programme goes on.")
		}
		for _, h := range halts {
			next.Answers = append(next.Answers, h.Record)
		}
	}
	revised, err := c.Plan.Revise(next, c.Plan.Rev, next.Rev)
	var bad *rom.InvalidError
	if errors.As(err, &bad) {
		return rom.Plan{}, plainly(bad, next)
	}
	return revised, err
}

// preview asks the engine what the phone would show.
func (v *visit) preview(f file, c care, plan rom.Plan, on rom.Date) *preview {
	h := f.History
	h.Plans = append(slices.Clone(h.Plans), rom.Entry[rom.Plan]{Meta: rom.Meta{At: v.at}, Body: plan})
	minute := 9 * 60
	if on == v.today {
		minute = v.minute
	}
	return &preview{on, schedule.On(h, c.Episode.ID, on, minute, schedule.With{LastContact: v.today})}
}

// haltsKey names the reports that a form showed, so that nobody answers one
// that came in the meantime.
func haltsKey(halts []schedule.Halt) string {
	var b strings.Builder
	for _, h := range halts {
		fmt.Fprintf(&b, "%s.%d ", h.Record.Author, h.Record.N)
	}
	return strings.TrimSpace(b.String())
}

// answersShown reports whether the tick of the form answers just these.
func (v *visit) answersShown(halts []schedule.Halt) bool {
	return v.form("answer") == "yes" && v.form("halts") == haltsKey(halts)
}
