package clinic

import (
	"errors"
	"fmt"
	"net/http"
	"strings"

	"unsling/app/words"
	"unsling/engine/rom"
	"unsling/engine/schedule"
	"unsling/server/access"
	"unsling/server/ledger"
	"unsling/sync/wire"
)

// correctionWaits is what every other act on the episode meets meanwhile.
const correctionWaits = "A correction of side or date waits for a second person. The plan stays stopped until it is confirmed or turned down."

type correctionPage struct {
	Care  care
	Names map[rom.StaffID]string
	Base  string
	// May says that this person may answer the correction that waits, Why
	// what stands against it.
	May bool
	Why string
	// Resume says that this person may let the programme go on with it.
	Resume bool
	Now    *preview // what the phone shows today
	Then   *preview // and what it would show, had the programme gone on
}

// correctionPage shows side and date, and the correction that waits, if any.
func (d *Desk) correctionPage(v *visit) error {
	f, c, err := v.shown()
	if err != nil {
		return err
	}
	return v.correctionShow(http.StatusOK, f, c, "")
}

func (v *visit) correctionShow(status int, f file, c care, problem string) error {
	names, err := v.staffNames()
	if err != nil {
		return err
	}
	p := correctionPage{Care: c, Names: names, Base: "/clinic/patients/" + string(v.patient.ID)}
	if x := c.Episode.Correction; x != nil {
		switch err := v.mayAfter(access.ConfirmCorrection, x.By); {
		case err == nil || errors.Is(err, errAgain):
			p.May, p.Resume = true, v.mayResumeCorrected(f, c)
			p.Now = &preview{v.today, planToday(v, f, c)}
			next, _ := v.corrected(f, c, true)
			p.Then = v.previewEpisode(f, next.episode, next.plan)
		default:
			p.Why = err.Error()
		}
	}
	return v.showWith(status, "correction", frame{Title: "Side and date of " + v.patient.Name, Error: problem, Page: p})
}

// correctionAct asks for a correction, confirms it or turns it down.
func (d *Desk) correctionAct(v *visit) error {
	f, c, err := v.care()
	if err != nil {
		return err
	}
	steps := map[string]func(*visit, file, care) ([]ledger.Draft, *ledger.Base, error){
		"ask": askCorrection, "confirm": confirmCorrection, "refuse": refuseCorrection,
	}
	do, ok := steps[v.form("act")]
	switch n, err := v.number("version", "The version", 1, 1<<30); {
	case !ok:
		return v.correctionShow(http.StatusUnprocessableEntity, f, c, "Please choose what to do.")
	case err != nil || n != c.Episode.Version:
		return v.correctionShow(http.StatusConflict, f, c, staleEpisode)
	case c.Episode.State.Ended():
		return v.correctionShow(http.StatusUnprocessableEntity, f, c, "The episode has ended.")
	}
	drafts, base, err := do(v, f, c)
	if err == nil {
		err = v.write(base, drafts...)
	}
	if err != nil {
		return v.showAgain(err, f, c, staleEpisode, v.correctionShow)
	}
	return v.back("/clinic/patients/"+string(v.patient.ID)+"/correction?episode="+string(c.Episode.ID), "correction-"+v.form("act"))
}

// correctedDate reads a date of surgery that may stand in an episode of c.
func (v *visit) correctedDate(c care) (rom.Date, error) {
	on, err := v.dateField("surgery", "Date of surgery")
	switch {
	case err != nil:
		return 0, err
	case !c.Episode.State.Operated():
		return c.Episode.Surgery, nil // a planned date is simply set
	case on.IsZero() || on > v.today || v.today.Sub(on) > 730:
		return 0, refuse(http.StatusUnprocessableEntity, "An operation lies on a day that has been, at most two years ago. Please check the date.")
	}
	return on, nil
}

// askCorrection is the first half. With it the plan stops, whatever the phone
// was doing.
func askCorrection(v *visit, f file, c care) ([]ledger.Draft, *ledger.Base, error) {
	if err := v.may(access.ProposeCorrection); err != nil {
		return nil, nil, err
	}
	if c.Episode.Correction != nil {
		return nil, nil, refuse(http.StatusConflict, correctionWaits)
	}
	side := rom.Side(v.form("side"))
	on, err := v.correctedDate(c)
	reason := v.form("reason")
	switch {
	case err != nil:
		return nil, nil, err
	case !side.Valid():
		return nil, nil, refuse(http.StatusUnprocessableEntity, "Please choose the side from the operation note.")
	case side == c.Episode.Side && on == c.Episode.Surgery:
		return nil, nil, refuse(http.StatusUnprocessableEntity, "That is what the record says already. Nothing was changed.")
	case reason == "" || len([]rune(reason)) > 500:
		return nil, nil, refuse(http.StatusUnprocessableEntity, "Please say in a few words how you know, at most 500 letters.")
	}
	e := c.Episode
	e.Version, e.By, e.Reason = e.Version+1, v.staff.ID, reason
	e.Correction = &rom.Correction{Side: side, Surgery: on, Reason: reason, By: v.staff.ID, On: v.today}
	if !c.HasPlan || !e.State.Operated() {
		return one(v, e)
	}
	next := c.Plan
	next.State, next.Why = rom.Stopped, words.CorrectionStop.In(v.patientLang())
	next.Reason = "Side or date is being corrected: " + correctionText(c.Episode, *e.Correction)
	e.Correction.Rev = nextRev(f)
	return v.episodeAndPlan(c, e, next, e.Correction.Rev)
}

// confirmCorrection is the second half, by another person who reads side and
// date from the operation note again.
func confirmCorrection(v *visit, f file, c care) ([]ledger.Draft, *ledger.Base, error) {
	x := c.Episode.Correction
	if x == nil {
		return nil, nil, refuse(http.StatusUnprocessableEntity, "No correction waits.")
	}
	if err := v.mayAfter(access.ConfirmCorrection, x.By); err != nil {
		return nil, nil, err
	}
	on, err := v.correctedDate(c)
	switch {
	case err != nil:
		return nil, nil, err
	case rom.Side(v.form("side")) != x.Side || on != x.Surgery:
		return nil, nil, refuse(http.StatusUnprocessableEntity, "Side and date are not those that were asked for. Look at the operation note again; if it differs, turn the correction down.")
	case v.form("resume") == "yes" && !v.mayResumeCorrected(f, c):
		return nil, nil, refuse(http.StatusForbidden, "Only a surgeon can let the programme go on, and only when nobody changed the plan in the meantime. Confirm without the tick; the plan stays stopped.")
	}
	next, changed := v.corrected(f, c, v.form("resume") == "yes")
	if !changed {
		return one(v, next.episode)
	}
	return v.episodeAndPlan(c, next.episode, next.plan, nextRev(f))
}

// refuseCorrection leaves side and date as they are. The plan stays stopped:
// a surgeon lets it go on.
func refuseCorrection(v *visit, f file, c care) ([]ledger.Draft, *ledger.Base, error) {
	if err := v.may(access.ProposeCorrection); err != nil {
		return nil, nil, err
	}
	e := c.Episode
	switch reason := v.form("reason"); {
	case e.Correction == nil:
		return nil, nil, refuse(http.StatusUnprocessableEntity, "No correction waits.")
	case reason == "" || len([]rune(reason)) > 500:
		return nil, nil, refuse(http.StatusUnprocessableEntity, "Please say in a few words why not, at most 500 letters.")
	default:
		e.Version, e.By, e.Reason, e.Correction = e.Version+1, v.staff.ID, reason, nil
	}
	return one(v, e)
}

// corrected is the episode, and the plan, that a confirmation makes.
type corrected struct {
	episode rom.Episode
	plan    rom.Plan
}

// corrected carries the correction out. changed says that there is a plan,
// which becomes a new revision: stopped until a surgeon lets it go on, or as
// it was before.
func (v *visit) corrected(f file, c care, resume bool) (out corrected, changed bool) {
	e, x := c.Episode, *c.Episode.Correction
	e.Version, e.By, e.Reason, e.Correction = e.Version+1, v.staff.ID, x.Reason, nil
	if e.Side != x.Side {
		e.OtherArm = nil // what was the reference is now the operated arm
		if e.State == rom.Planned {
			e.ConfirmedBy, e.ConfirmedOn, e.SideBy = "", 0, ""
		} else if e.SideBy = v.staff.ID; e.SideBy == e.ConfirmedBy {
			e.SideBy = x.By
		}
	}
	e.Side, e.Surgery = x.Side, x.Surgery
	next := c.Plan
	next.Reason = "Corrected: " + correctionText(c.Episode, x)
	next.State, next.Why = rom.Stopped, words.CorrectionDone.In(v.patientLang())
	if before, ok := f.History.PlanAt(c.Episode.ID, x.Rev-1); ok && resume {
		next.State, next.Why = before.State, before.Why
	}
	return corrected{e, next}, c.HasPlan && e.State.Operated()
}

// mayResumeCorrected reports whether this person may let the programme go on
// together with the correction.
func (v *visit) mayResumeCorrected(f file, c care) bool {
	x := c.Episode.Correction
	before, ok := f.History.PlanAt(c.Episode.ID, x.Rev-1)
	return ok && c.HasPlan && x.Rev == c.Plan.Rev && before.State != rom.Stopped && v.can(string(access.ResumeStopped))
}

// episodeAndPlan writes both in one transaction, or neither.
func (v *visit) episodeAndPlan(c care, e rom.Episode, next rom.Plan, rev int) ([]ledger.Draft, *ledger.Base, error) {
	drafts, _, err := one(v, e)
	if err != nil {
		return nil, nil, err
	}
	next.By, next.On, next.Signed, next.Contact = v.staff.ID, v.today, v.signature(), v.contact(c.Plan.Contact)
	revised, err := c.Plan.Revise(next, c.Plan.Rev, rev)
	var bad *rom.InvalidError
	switch {
	case errors.As(err, &bad):
		return nil, nil, plainly(bad, next)
	case err != nil:
		return nil, nil, err
	}
	dr, err := v.draft(wire.KindPlan, revised)
	return append(drafts, dr), &ledger.Base{Episode: e.ID, Base: c.Plan.Rev, New: rev}, err
}

// previewEpisode is preview with another version of the episode besides.
func (v *visit) previewEpisode(f file, e rom.Episode, plan rom.Plan) *preview {
	h := f.History
	h.Episodes = append(h.Episodes[:len(h.Episodes):len(h.Episodes)], rom.Entry[rom.Episode]{Meta: rom.Meta{At: v.at}, Body: e})
	if plan.Rev > 0 {
		plan.Base, plan.Rev = plan.Rev, nextRev(f)
		h.Plans = append(h.Plans[:len(h.Plans):len(h.Plans)], rom.Entry[rom.Plan]{Meta: rom.Meta{At: v.at}, Body: plan})
	}
	return &preview{v.today, schedule.On(h, e.ID, v.today, v.minute, schedule.With{LastContact: v.today})}
}

func (v *visit) patientLang() words.Lang { return words.Choose([]string{v.patient.Lang}) }

// correctionText says what changes, in one line.
func correctionText(e rom.Episode, x rom.Correction) string {
	var parts []string
	if e.Side != x.Side {
		parts = append(parts, fmt.Sprintf("side %s → %s", e.Side, x.Side))
	}
	if e.Surgery != x.Surgery {
		parts = append(parts, fmt.Sprintf("surgery %s → %s", e.Surgery, x.Surgery))
	}
	return strings.Join(parts, ", ")
}

// Changes says what the correction that waits changes.
func (p correctionPage) Changes() string {
	return correctionText(p.Care.Episode, *p.Care.Episode.Correction)
}

// transfer ends the episode here and tells the patient who goes on.
func transfer(v *visit, _ file, c care, e rom.Episode) ([]ledger.Draft, *ledger.Base, error) {
	if err := v.may(access.Withdraw); err != nil {
		return nil, nil, err
	}
	e.Transfer = &rom.Transfer{Clinic: v.form("to"), Phone: v.form("to_phone")}
	if e.Transfer.Clinic == "" || e.Transfer.Phone == "" || len([]rune(e.Transfer.Clinic)) > 200 || len([]rune(e.Transfer.Phone)) > 40 {
		return nil, nil, refuse(http.StatusUnprocessableEntity, "Please name the clinic that goes on with the care and its number. The phone shows both.")
	}
	return end(v, c, e, rom.Withdrawn)
}
