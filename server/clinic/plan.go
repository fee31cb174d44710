package clinic

import (
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"slices"
	"time"

	"unsling/engine/protocol"
	"unsling/engine/rom"
	"unsling/engine/schedule"
	"unsling/server/access"
	"unsling/server/ledger"
	"unsling/sync/wire"
)

type planPage struct {
	Care      care
	Plan      rom.Plan // as typed, or as it stands
	Base      int      // the revision the form was made from
	Names     map[rom.StaffID]string
	Conflicts []protocol.Conflict
	Preview   *preview
	Stale     *rom.Plan // the newest revision, when the form was made from an older one
	Changes   []rom.Difference
	Days      []time.Weekday
	Exercises []rom.ExerciseID
	Classes   []rom.Class
	Slings    []rom.Sling
	Home      string
	Halted    bool
}

// preview is what the phone would show on a date under the plan as typed.
type preview struct {
	On  rom.Date
	Day schedule.Day
}

// planPage shows the plan as a form.
func (d *Desk) planPage(v *visit) error {
	f, err := v.file()
	if err != nil {
		return err
	}
	c, ok := f.current(rom.EpisodeID(v.r.URL.Query().Get("episode")))
	if !ok || !c.HasPlan {
		return refuse(http.StatusNotFound, "This episode has no plan yet.")
	}
	return v.planShow(http.StatusOK, f, c, c.Plan, c.Plan.Rev, nil, "")
}

func (v *visit) planShow(status int, f file, c care, plan rom.Plan, base int, pre *preview, problem string) error {
	names, err := v.staffNames()
	if err != nil {
		return err
	}
	p := planPage{
		Care: c, Plan: plan, Base: base, Names: names, Preview: pre, Days: weekOrder, Exercises: rom.Exercises,
		Classes: []rom.Class{rom.Locked, rom.Passive, rom.ActiveAssisted, rom.Active, rom.Resisted},
		Slings:  []rom.Sling{rom.SlingAlways, rom.SlingDay, rom.SlingOutdoor, rom.SlingComfort, rom.SlingOff},
		Home:    "/clinic/patients/" + string(v.patient.ID),
	}
	p.Halted = len(schedule.Halts(f.History, c.Episode.ID)) > 0
	if base != c.Plan.Rev {
		newest := c.Plan
		p.Stale = &newest
	}
	p.Changes = c.Plan.Diff(plan)
	if p.Conflicts, err = v.conflicts(c, plan); err != nil {
		return err
	}
	return v.showWith(status, "plan", frame{Title: "Change the plan", Error: problem, Page: p})
}

// conflicts lists where a plan permits more than the clinic's protocol.
func (v *visit) conflicts(c care, plan rom.Plan) ([]protocol.Conflict, error) {
	adopted, err := v.adopted()
	if err != nil {
		return nil, err
	}
	var use []protocol.Protocol
	for _, p := range c.Episode.Procedures {
		if pr, ok := adopted[p]; ok {
			use = append(use, pr)
		}
	}
	if len(use) == 0 {
		return nil, nil
	}
	merged, err := protocol.Merge(use...)
	if err != nil {
		return nil, err
	}
	return protocol.CheckPlan(plan, merged), nil
}

// changePlan previews or saves a revision.
func (d *Desk) changePlan(v *visit) error {
	f, c, err := v.care()
	if err != nil {
		return err
	}
	if !c.HasPlan {
		return refuse(http.StatusNotFound, "This episode has no plan yet.")
	}
	base, err := v.number("base", "The revision", 1, 1<<30)
	if err != nil {
		return err
	}
	from, ok := f.History.PlanAt(c.Episode.ID, base)
	if !ok || from.Rev != base {
		from = c.Plan
	}
	next, err := v.readPlan(from)
	if err != nil {
		var s *sorry
		if errors.As(err, &s) {
			return v.planShow(s.status, f, c, next, base, nil, s.text)
		}
		return err
	}
	next.Rev, next.Base, next.By, next.On = nextRev(f), c.Plan.Rev, v.staff.ID, v.today
	if v.form("act") == "preview" {
		on, err := v.dateField("preview_on", "Date of the preview")
		if err != nil || on.IsZero() {
			on = v.today
		}
		return v.planShow(http.StatusOK, f, c, next, base, v.preview(f, c, next, on), "")
	}
	if c.Plan.Rev != base {
		return v.planShow(http.StatusConflict, f, c, next, base, nil,
			"Somebody else changed this plan while you were writing. Your text is kept below; compare it with the newest revision and save again.")
	}
	if len(c.Plan.Diff(next)) == 0 && v.form("answer") == "" {
		return v.planShow(http.StatusUnprocessableEntity, f, c, next, base, nil, "Nothing is different from the present plan.")
	}
	if err := v.mayChange(c, next); err != nil {
		return v.planShow(http.StatusForbidden, f, c, next, base, nil, err.Error())
	}
	if v.form("answer") == "yes" {
		if err := v.may(access.ResumeStopped); err != nil {
			return v.planShow(http.StatusForbidden, f, c, next, base, nil, err.Error())
		}
		for _, h := range schedule.Halts(f.History, c.Episode.ID) {
			next.Answers = append(next.Answers, h.Record)
		}
	}
	revised, err := c.Plan.Revise(next, base, next.Rev)
	var bad *rom.InvalidError
	switch {
	case errors.As(err, &bad):
		return v.planShow(http.StatusUnprocessableEntity, f, c, next, base, nil, "This cannot be saved: "+bad.Error()+".")
	case err != nil:
		return err
	}
	dr, err := v.draft(wire.KindPlan, revised)
	if err != nil {
		return v.planShow(http.StatusUnprocessableEntity, f, c, next, base, nil, err.Error())
	}
	err = v.write(&ledger.Base{Episode: c.Episode.ID, Base: base, New: revised.Rev}, dr)
	if errors.Is(err, ledger.ErrStale) {
		if f, err = v.file(); err != nil {
			return err
		}
		c, _ = f.current(c.Episode.ID)
		return v.planShow(http.StatusConflict, f, c, next, base, nil,
			"Somebody else changed this plan while you were writing. Your text is kept below; compare it with the newest revision and save again.")
	} else if err != nil {
		return err
	}
	return v.back("/clinic/patients/"+string(v.patient.ID)+"/plan/history?episode="+string(c.Episode.ID), "plan")
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

// mayChange asks for every act that the difference between the present plan
// and next amounts to.
func (v *visit) mayChange(c care, next rom.Plan) error {
	acts := map[access.Act]bool{}
	was := c.Plan
	switch {
	case next.State == was.State:
	case next.State == rom.Stopped:
		acts[access.StopPlan] = true
	case next.State == rom.Paused:
		acts[access.PausePlan] = true
	case was.State == rom.Stopped:
		acts[access.ResumeStopped] = true
	default:
		acts[access.ResumePlan] = true
	}
	for _, e := range next.Opened {
		if !slices.Contains(was.Opened, e) {
			acts[access.OpenLock] = true
		}
	}
	for i, ph := range next.Phases {
		if i < len(was.Phases) && ph.Gate.Waived != was.Phases[i].Gate.Waived {
			acts[access.ClearPhase] = true
		}
	}
	before, err := v.conflicts(c, was)
	if err != nil {
		return err
	}
	after, err := v.conflicts(c, next)
	if err != nil {
		return err
	}
	for _, x := range after {
		if !slices.Contains(before, x) {
			acts[access.PassCeiling] = true
		}
	}
	if len(acts) == 0 {
		if was.Narrows(next) { // the present plan is narrower than next somewhere: next widens
			acts[access.ChangePlan] = true
		} else if next.Narrows(was) {
			acts[access.NarrowPlan] = true
		} else {
			acts[access.ChangePlan] = true
		}
	}
	for act := range acts {
		if err := v.may(act); err != nil {
			return fmt.Errorf("%w (%s)", err, actWords[act])
		}
	}
	return nil
}

var actWords = map[access.Act]string{
	access.StopPlan: "stopping the plan", access.PausePlan: "pausing the plan", access.ResumeStopped: "resuming after a stop",
	access.ResumePlan: "resuming the plan", access.OpenLock: "opening an exercise that the procedure locks",
	access.ClearPhase: "letting a phase open without clearance", access.PassCeiling: "going past the clinic's protocol",
	access.ChangePlan: "changing the plan", access.NarrowPlan: "narrowing the plan",
}

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
	f, err := v.file()
	if err != nil {
		return err
	}
	c, ok := f.current(rom.EpisodeID(v.r.URL.Query().Get("episode")))
	if !ok {
		return errNotFound
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
		for _, a := range f.History.Adoptions {
			if a.Body.Rev == r.Rev {
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
	_, c, err := v.care()
	if err != nil {
		return err
	}
	key := v.form("phase")
	if _, ok := c.Plan.Phase(key); !ok {
		return refuse(http.StatusUnprocessableEntity, "The plan has no such phase.")
	}
	if !c.Episode.State.Operated() {
		return refuse(http.StatusUnprocessableEntity, "A phase can be cleared once the operation is confirmed.")
	}
	cl := rom.Clearance{Episode: c.Episode.ID, Phase: key, On: v.today, By: v.staff.ID, Reason: v.form("reason"), Withdrawn: v.form("act") == "withdraw"}
	if err := v.record(wire.KindClearance, cl); err != nil {
		return err
	}
	what := "cleared"
	if cl.Withdrawn {
		what = "withdrawn"
	}
	return v.back("/clinic/patients/"+string(v.patient.ID), what)
}
