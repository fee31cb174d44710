package clinic

import (
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strconv"

	"unsling/engine/review"
	"unsling/engine/rom"
	"unsling/engine/trend"
	"unsling/server/access"
	"unsling/sync/wire"
)

// scored is one entered score as the page shows it.
type scored struct {
	rom.Entry[rom.Score]
	trend.Scored
}

type scoresPage struct {
	Care      care
	Home      string
	Form      rom.ScoreForm
	Today     rom.Date
	Levels    []rom.Level
	Positions [5]string
	Items     []int    // 1 to 10
	Answers   []string // of an item
	Scores    []scored
	May       bool
}

// scoreNames are what staff read.
var scoreNames = map[rom.ScoreForm]string{rom.ConstantMotionPart: "Constant-Murley, motion", rom.ASESScore: "ASES"}

// Name returns what the score is called.
func (s scored) Name() string { return scoreNames[s.Entry.Body.Form] }

// Cited returns the sources behind the points.
func (s scored) Cited() (out []string) {
	for _, c := range review.Cite(s.Scored.Source.Key) {
		out = append(out, c.Key+": "+c.Text)
	}
	return out
}

// scoresOf returns the scores of an episode up to a day, the newest first. One
// that does not compute, which no form lets through, is left out.
func scoresOf(h rom.History, id rom.EpisodeID, on rom.Date) (out []scored) {
	for _, e := range h.Scores {
		if e.Body.Episode != id || e.Body.On > on {
			continue
		}
		if x, err := trend.ScoreOf(e.Body); err == nil {
			out = append(out, scored{e, x})
		}
	}
	slices.SortStableFunc(out, func(a, b scored) int { return int(b.Body.On) - int(a.Body.On) })
	return out
}

func (d *Desk) scoresPage(v *visit) error {
	f, c, err := v.shown()
	if err != nil {
		return err
	}
	return v.scoresShow(http.StatusOK, f, c, "")
}

func (v *visit) scoresShow(status int, f file, c care, problem string) error {
	p := scoresPage{
		Care: c, Home: "/clinic/patients/" + string(v.patient.ID), Form: rom.ScoreForm(v.r.FormValue("form")), Today: v.today, Levels: levels(),
		Positions: trend.ConstantPositions, Answers: []string{"0", "1", "2", "3"}, Scores: scoresOf(f.History, c.Episode.ID, v.today), May: v.may(access.AddReading) == nil,
	}
	if scoreNames[p.Form] == "" {
		p.Form = rom.ConstantMotionPart
	}
	for i := range 10 {
		p.Items = append(p.Items, i+1)
	}
	return v.showWith(status, "scores", frame{Title: "Scores, " + v.patient.Name, Error: problem, Page: p})
}

// scoresAct takes one score. Its values are kept, its points are computed
// whenever they are shown.
func (d *Desk) scoresAct(v *visit) error {
	f, c, err := v.care()
	if err != nil {
		return err
	}
	if err := v.may(access.AddReading); err != nil {
		return err
	}
	s, err := v.score(c)
	if err == nil {
		err = v.record(wire.KindScore, s)
	}
	var wrong *sorry
	if errors.As(err, &wrong) && wrong.status == http.StatusUnprocessableEntity {
		return v.scoresShow(wrong.status, f, c, wrong.text)
	} else if err != nil {
		return err
	}
	return v.back("/clinic/patients/"+string(v.patient.ID)+"/scores?episode="+string(c.Episode.ID)+"&form="+string(s.Form), "entry")
}

func (v *visit) score(c care) (s rom.Score, err error) {
	bad := func(text string, args ...any) (rom.Score, error) {
		return s, refuse(http.StatusUnprocessableEntity, fmt.Sprintf(text, args...))
	}
	s = rom.Score{Episode: c.Episode.ID, Form: rom.ScoreForm(v.form("form")), By: v.staff.ID}
	if s.On, err = v.dateField("on", "Date"); err != nil {
		return s, err
	}
	if s.On.IsZero() {
		s.On = v.today
	}
	if s.On > v.today || v.today.Sub(s.On) > 730 {
		return bad("A score was taken in the past two years. Please check the date.")
	}
	switch s.Form {
	case rom.ConstantMotionPart:
		if v.form("confirmed") != "yes" {
			return bad("Please confirm that the motion was active, seated and free of pain. Passive angles and those from home cannot fill this score.")
		}
		for _, x := range []struct {
			field, name string
			into        **rom.Degrees
		}{{"forward", "Forward elevation", &s.Forward}, {"lateral", "Lateral elevation", &s.Lateral}} {
			a, ok := degreesOf(v.form(x.field))
			if !ok || a < 0 || a > rom.ForwardFlexion.AnatomicalMax() {
				return bad("%s: %q is not an angle from 0 to %s degrees.", x.name, v.form(x.field), rom.ForwardFlexion.AnatomicalMax())
			}
			*x.into = &a
		}
		for i := range trend.ConstantPositions {
			if v.form(fmt.Sprint("position-", i)) == "yes" {
				s.Positions = append(s.Positions, i)
			}
		}
		n, err := strconv.Atoi(v.form("internal"))
		if err != nil || n < int(rom.LevelT1) || n > int(rom.LevelThigh) {
			return bad("Please choose how high the back of the hand reaches.")
		}
		s.Internal = rom.Level(n)
	case rom.ASESScore:
		pain, err := strconv.Atoi(v.form("pain"))
		if err != nil || pain < 0 || pain > 10 {
			return bad("Pain: please enter a whole number from 0 to 10.")
		}
		s.Pain = &pain
		for i := range 10 {
			n, err := strconv.Atoi(v.form(fmt.Sprint("item-", i+1)))
			if err != nil || n < 0 || n > 3 {
				return bad("Item %d: please choose 0 to 3. A score with a gap cannot be computed.", i+1)
			}
			s.Items = append(s.Items, n)
		}
	default:
		return bad("Please choose which score.")
	}
	return s, nil
}
