package clinic

import (
	"unsling/engine/review"
	"unsling/engine/rom"
)

type explainPage struct {
	Care  care
	Home  string
	On    rom.Date
	Lines []review.Line
}

// explainPage prints every rule evaluated for one date, with its inputs, its
// outcome and its source.
func (d *Desk) explainPage(v *visit) error {
	f, err := v.file()
	if err != nil {
		return err
	}
	c, ok := f.current(rom.EpisodeID(v.r.URL.Query().Get("episode")))
	if !ok {
		return errNotFound
	}
	on := v.today
	if s := v.r.URL.Query().Get("on"); s != "" {
		if on, err = rom.ParseDate(s); err != nil {
			return refuse(422, "This is not a date. Write it as 2026-01-31.")
		}
	}
	in, err := v.inputs(f.Phones, v.patient.ID)
	if err != nil {
		return err
	}
	return v.show("explain", "Every rule", "", explainPage{c, "/clinic/patients/" + string(v.patient.ID), on, review.Explain(f.History, c.Episode.ID, on, in)})
}
