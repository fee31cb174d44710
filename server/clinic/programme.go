package clinic

import (
	"net/http"

	"unsling/app/figure"
	"unsling/app/words"
	"unsling/engine/protocol"
	"unsling/engine/rom"
	"unsling/engine/schedule"
)

// programmeMost is for how many days one sheet holds at most: a plan that the
// clinic has not looked at for two weeks may be out of date (the phone says
// so after as long).
const programmeMost = 14

// programmePage is the programme on paper, in the patient's language.
type programmePage struct {
	Care  care
	Base  string
	Lang  words.Lang
	Langs []words.Lang
	Not   string // why there is nothing to print; for staff
	Until rom.Date

	Sling     string
	May       []string // limits, one line each
	MustNot   []string
	Stop      []string // signs that stop everything
	Emergency []string
	Exercises []paperExercise
	Days      []paperTick
	PerDay    int
	PainCap   int
}

// paperExercise is an exercise as it is prescribed today.
type paperExercise struct {
	Name, Lead, Dose, Limit, Feel string
	Steps, Avoid                  []string
	Start, End                    string // pictures
}

// paperTick is one day with its boxes.
type paperTick struct {
	Name    string
	Boxes   []int
	Therapy bool
	Rest    bool
}

// programme is the sheet for a patient without a phone: danger first, what the
// arm may do, each exercise with pictures, and boxes to tick. It holds until a
// phase could change it, and at most two weeks.
func (d *Desk) programme(v *visit) error {
	f, c, err := v.shown()
	if err != nil {
		return err
	}
	p := programmePage{Care: c, Base: "/clinic/patients/" + string(v.patient.ID), Langs: words.Langs, Lang: v.patientLang()}
	if l := v.r.URL.Query().Get("lang"); l != "" {
		p.Lang = words.Choose([]string{l})
	}
	day := planToday(v, f, c)
	switch {
	case day.State != schedule.Running || !day.InPhase:
		p.Not = "There is nothing to print: " + name(dayNames, day.State) + ". Tell the patient to do no exercises, and to throw older sheets away."
	case len(day.Phase.Prescriptions) == 0:
		p.Not = "The phase in force prescribes no exercise, so there is no programme to print."
	default:
		p.fill(v, f, c, day)
	}
	return v.showWith(http.StatusOK, "programme", frame{Title: "Programme on paper, " + v.patient.Name, Page: p})
}

// W returns a text of the catalogue in the language of the sheet.
func (p programmePage) W(key string, args ...any) string {
	return paperWords[key].With(p.Lang, args...)
}

// paperWords are the texts that the page uses, by its own keys.
var paperWords = map[string]words.Text{
	"title": words.SheetTitle, "holds": words.SheetHolds, "throw": words.SheetThrow, "per-day": words.SheetOneDay, "once": words.SheetOnce,
	"start": words.SheetStart, "end": words.SheetEnd, "tick": words.SheetTick, "no-catch": words.SheetNoCatch, "day": words.SheetDay,
	"done": words.SheetDone, "worst": words.SheetWorst, "bring": words.SheetBring, "nobody": words.SheetNobody, "stop": words.SheetStop,
	"sling": words.SheetSling, "less": words.SheetLess, "may": words.ArmMay, "must-not": words.ArmMustNot, "now": words.HelpNow,
	"after": words.AfterHours, "call": words.CallClinic, "surgeon": words.SurgeonRule, "unreviewed": words.Unreviewed, "emergency": words.DoEmergency,
	"feel": words.FeelTitle, "avoid": words.AvoidTitle, "cap": words.SheetPain, "therapy": words.TherapyDay, "rest": words.RestDay,
}

// Side, From, To and Reviewed serve the page.
func (p programmePage) Side() string   { return words.Side(p.Lang, p.Care.Episode.Side) }
func (p programmePage) To() string     { return words.Date(p.Lang, p.Until) }
func (p programmePage) Reviewed() bool { return words.Reviewed(p.Lang) }

// From is the first day of the sheet.
func (p programmePage) From() string { return words.Date(p.Lang, p.Care.Day.Date) }

func (p *programmePage) fill(v *visit, f file, c care, today schedule.Day) {
	l := p.Lang
	p.Sling, p.PainCap = words.Sling(l, today.Sling), today.PainCap
	for _, x := range today.Motions {
		if !x.Locked {
			p.May = append(p.May, limitLine(l, x))
		}
	}
	if s := words.MustNotBy(l, today.Phase.HighestClass()); s != "" {
		p.MustNot = append(p.MustNot, s)
	}
	for _, key := range today.Forbidden {
		if s := words.Forbidden(l, key); s != "" && key != "active-lifting" {
			p.MustNot = append(p.MustNot, s)
		}
	}
	for _, r := range protocol.Signs() {
		switch {
		case r.Urgency == protocol.Emergency:
			p.Emergency = append(p.Emergency, words.Sign(l, r.Sign))
		case r.Stops:
			p.Stop = append(p.Stop, words.Sign(l, r.Sign))
		}
	}
	for _, x := range today.Phase.Prescriptions {
		if !today.Exercise(x.Exercise).Locked {
			p.Exercises = append(p.Exercises, onPaper(l, c.Episode.Side, today, x))
		}
	}
	for n := range programmeMost {
		on := v.today.Add(n)
		d := schedule.On(f.History, c.Episode.ID, on, 0, schedule.With{LastContact: on})
		if d.State != schedule.Running || !d.InPhase || d.Phase.Key != today.Phase.Key {
			break // from here on another sheet holds
		}
		row := paperTick{Name: words.Weekday(l, on.Time().Weekday()) + ", " + words.ShortDate(l, on), Therapy: d.TherapyDay, Rest: d.Rest || len(d.Due) == 0}
		for k := range d.Due {
			row.Boxes = append(row.Boxes, k+1)
		}
		p.Days, p.Until, p.PerDay = append(p.Days, row), on, max(p.PerDay, len(d.Due))
	}
}

// onPaper is one exercise with its pictures and the mark to stop at.
func onPaper(l words.Lang, side rom.Side, today schedule.Day, x rom.Prescription) paperExercise {
	g := words.Exercise(x.Exercise)
	e := paperExercise{Name: words.Capital(words.ExerciseName(l, x.Exercise)), Lead: g.Lead.In(l), Feel: g.Feel.In(l)}
	e.Dose = words.DoseHolds.With(l, x.Dose.Reps, x.Dose.Hold)
	if x.Dose.Hold == 0 {
		e.Dose = words.DoseRounds.In(l, x.Dose.Reps)
	}
	for _, s := range g.Steps {
		e.Steps = append(e.Steps, s.In(l))
	}
	for _, s := range g.Avoid {
		e.Avoid = append(e.Avoid, s.In(l))
	}
	var m figure.Marks
	if row, aim, ok := today.LimitFor(x); x.Motion != "" && row.Class != rom.Locked && !row.Open {
		switch {
		case x.Motion.ByLevel():
			e.Limit = words.ToLevel.With(l, words.Capital(words.Motion(l, x.Motion)), words.Level(l, row.Highest))
			m.Limit = figure.At(rom.Deg(int(row.Highest)))
		case ok && aim > 0:
			e.Limit, m.Limit, m.Aim = words.AimHere.With(l, aim.Floor()), figure.At(row.Ceiling), figure.At(aim)
		default:
			e.Limit, m.Limit = words.LimitHere.With(l, row.Ceiling.Floor()), figure.At(row.Ceiling)
		}
	}
	w := figure.Words{Limit: words.ChartLimit.In(l), Aim: words.AimWord.In(l)}
	w.Title = e.Name + ", " + words.SheetStart.In(l)
	e.Start = figure.Exercise(x.Exercise, side, 0, figure.Marks{}, w)
	w.Title = e.Name + ", " + words.SheetEnd.In(l)
	e.End = figure.Exercise(x.Exercise, side, 1, m, w)
	return e
}

// limitLine says one permitted motion with its limit, rounded down.
func limitLine(l words.Lang, x schedule.Allowance) string {
	what := words.Capital(words.Motion(l, x.Motion))
	switch {
	case x.Limit.Open:
		return words.NoLimit.With(l, what)
	case x.Motion.ByLevel():
		return words.ToLevel.With(l, what, words.Level(l, x.Limit.Highest))
	}
	return words.ToLimit.With(l, what, x.Limit.Ceiling.Floor())
}
