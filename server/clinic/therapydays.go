package clinic

import (
	"net/http"
	"slices"

	"unsling/engine/rom"
	"unsling/engine/schedule"
	"unsling/server/access"
	"unsling/server/ledger"
	"unsling/sync/wire"
)

// dayRange is what the plan asked on each day from one date to another, as it
// was known then.
func dayRange(f file, c care, from, to rom.Date) []schedule.Day {
	if !c.HasPlan || c.Episode.Surgery.IsZero() {
		return nil
	}
	return schedule.Range(f.History, c.Episode.ID, max(from, c.Episode.Surgery), to, schedule.With{})
}

// openTherapy are the days of supervised therapy of the past two weeks of
// which nobody has said whether it took place, the newest first.
func (v *visit) openTherapy(f file, c care) (out []rom.Date) {
	if !c.HasPlan {
		return nil
	}
	told := map[rom.Date]bool{}
	for _, e := range f.History.Therapies {
		if e.Body.Episode == c.Episode.ID {
			told[e.Body.On] = true
		}
	}
	for _, d := range slices.Backward(dayRange(f, c, v.today.Add(-13), v.today)) {
		if d.TherapyDay && !told[d.Date] {
			out = append(out, d.Date)
		}
	}
	return out
}

// therapyDays reads the outcomes of several days at once.
func (v *visit) therapyDays(f file, c care) ([]ledger.Draft, error) {
	if err := v.may(access.AddTherapy); err != nil {
		return nil, err
	}
	var drafts []ledger.Draft
	for _, on := range v.openTherapy(f, c) {
		outcome := v.form("t." + on.String())
		switch outcome {
		case "":
			continue
		case "attended", "missed", "cancelled":
		default:
			return nil, refuse(http.StatusUnprocessableEntity, "Please choose whether therapy took place.")
		}
		dr, err := v.draft(wire.KindTherapy, rom.Therapy{Episode: c.Episode.ID, On: on, Outcome: outcome, By: v.staff.ID})
		if err != nil {
			return nil, err
		}
		drafts = append(drafts, dr)
	}
	if v.form("outcome") == "" && len(drafts) > 0 {
		return drafts, nil
	}
	one, err := v.therapy(c)
	return append(drafts, one...), err
}
