package fhir

import (
	"fmt"
	"strconv"
	"strings"

	"unsling/engine/rom"
)

func (w *writer) planID(id rom.EpisodeID, rev int) string {
	return "plan " + string(id) + " " + strconv.Itoa(rev)
}

// plan writes one revision. The newest of an episode is active, on hold or
// revoked as it says; earlier ones are revoked.
func (w *writer) plan(x rom.Entry[rom.Plan]) {
	p := x.Body
	c := CarePlan{head: w.head("CarePlan", w.planID(p.Episode, p.Rev), x.Meta), Status: "revoked", Intent: "plan", Subject: w.subject(),
		Category: []Concept{*w.own("category", "rehabilitation", "rehabilitation after shoulder surgery")}, Title: "Plan, revision " + strconv.Itoa(p.Rev),
		Created: dateOf(p.On), Identifier: []Identifier{{w.base + "/identifier/revision", strconv.Itoa(p.Rev)}}}
	newest, _ := w.in.History.Plan(p.Episode)
	e, _ := w.in.History.Episode(p.Episode)
	if newest.Rev == p.Rev {
		switch {
		case e.State.Ended():
			c.Status = "completed"
		case p.State == rom.Running:
			c.Status = "active"
		case p.State == rom.Paused:
			c.Status = "on-hold"
		}
	}
	if p.Base > 0 {
		c.Replaces = []Reference{{Reference: "CarePlan/" + part(w.in.Patient, w.planID(p.Episode, p.Base))}}
	}
	if p.By != "" {
		by := w.practitioner(p.By)
		c.Author = &by
	}
	if !e.Surgery.IsZero() {
		c.Period = &Period{Start: dateOf(e.Surgery)}
	}
	for _, r := range p.Protocol {
		c.Note = append(c.Note, Note{"Made from the protocol " + r.ID + ", version " + strconv.Itoa(r.Version) + "."})
	}
	if p.Reason != "" {
		c.Note = append(c.Note, Note{"Reason of this revision: " + p.Reason})
	}
	status := map[string]string{"active": "scheduled", "on-hold": "on-hold", "completed": "completed", "revoked": "cancelled"}[c.Status]
	for _, ph := range p.Phases {
		c.Note = append(c.Note, Note{phaseText(ph)})
		for _, rx := range ph.Prescriptions {
			c.Activity = append(c.Activity, Activity{ActivityDetail{
				Kind: "ServiceRequest", Code: w.own("exercise", string(rx.Exercise), words(string(rx.Exercise))), Status: status,
				ScheduledTiming: &Timing{TimingRepeat{rx.Dose.PerDay, 1, "d"}},
				Description:     fmt.Sprintf("phase %s, from day %d after surgery: %d repetitions, %d s each at the end range, %d s rest", ph.Key, ph.From, rx.Dose.Reps, rx.Dose.Hold, rx.Dose.Rest)}})
		}
	}
	w.recorded(c, x.Meta, p.By)
}

// phaseText says what a phase permits.
func phaseText(ph rom.Phase) string {
	s := fmt.Sprintf("Phase %s, from day %d after surgery", ph.Key, ph.From)
	if ph.NeedsClearance() {
		s += " and only after a surgeon cleared it"
	}
	var rows []string
	for _, l := range ph.Limits {
		if l.Class == rom.Locked {
			continue
		}
		row := motionTexts[l.Motion] + " " + l.Class.String()
		switch {
		case l.Open:
			row += ", no limit"
		case l.Motion.ByLevel():
			row += ", not above " + l.Highest.String()
		default:
			row += ", not above " + strconv.Itoa(l.Ceiling.Floor()) + " deg"
		}
		rows = append(rows, row)
	}
	if len(rows) == 0 {
		return s + ": no motion is permitted."
	}
	return s + ": " + strings.Join(rows, "; ") + ". Every other motion is locked."
}
