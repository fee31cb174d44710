package clinic

import (
	"net/http"

	"unsling/engine/review"
	"unsling/engine/rom"
	"unsling/engine/schedule"
)

type explainPage struct {
	Care  care
	Home  string
	On    rom.Date
	Lines []review.Line
	Phone preview // what the phone showed at the end of the day
	// Scores were entered by then.
	Scores []scored
}

// explainPage prints every rule evaluated for one date, with its inputs, its
// outcome and its source, and what the phone showed on that day.
func (d *Desk) explainPage(v *visit) error {
	f, c, err := v.shown()
	if err != nil {
		return err
	}
	on := v.today
	if s := v.r.URL.Query().Get("on"); s != "" {
		if on, err = rom.ParseDate(s); err != nil {
			return refuse(http.StatusUnprocessableEntity, "This is not a date. Write it as 2026-01-31.")
		}
	}
	if on > v.today || !c.Episode.Surgery.IsZero() && c.Episode.Surgery.Sub(on) > 730 {
		return refuse(http.StatusUnprocessableEntity, "Please choose a day of this episode, today at the latest.")
	}
	minute := 24 * 60
	if on == v.today {
		minute = v.minute
	}
	past := schedule.Past(f.History, c.Episode.ID, on)
	return v.show("explain", "Every rule, "+v.patient.Name, "", explainPage{
		Care: c, Home: "/clinic/patients/" + string(v.patient.ID), On: on, Lines: review.Explain(f.History, c.Episode.ID, on, f.Inputs),
		Scores: scoresOf(f.History, c.Episode.ID, on),
		Phone:  preview{on, schedule.On(past, c.Episode.ID, on, minute, schedule.With{LastContact: min(f.Contact, on)})},
	})
}
