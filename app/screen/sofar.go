package screen

import (
	"unsling/app/chart"
	"unsling/app/words"
	"unsling/engine/dose"
	"unsling/engine/rom"
	"unsling/engine/schedule"
)

// soFarView is a chart for each motion that was measured, and the dose by day.
type soFarView struct {
	Lead  string
	Empty string
	Week  string
	Since sinceView
	Cards []chartCard
}

// chartCard is a chart with its table twin.
type chartCard struct {
	ID, Title string
	SVG       string
	Table     [][]string
	Last      string
	Reads     string // how to read it
}

func (a *App) viewSoFar() soFarView {
	v := soFarView{Lead: a.t(words.SoFarLead)}
	days := a.pastDays()
	for _, m := range rom.Motions {
		if c, ok := a.motionChart(m, days); ok {
			reads := a.t(words.ChartReads)
			if len(c.Expected) > 0 {
				reads += " " + a.t(words.ChartBand)
			}
			v.Cards = append(v.Cards, chartCard{
				ID: "chart-" + string(m), Title: words.Capital(words.Motion(a.lang(), m)), SVG: c.SVG(), Table: c.Table(),
				Last: a.lastLine(m, a.day.Episode.Side), Reads: reads,
			})
		}
	}
	if len(v.Cards) == 0 {
		v.Empty = a.t(words.SoFarNone)
	} else {
		v.Since = a.viewSince()
	}
	if c, week, ok := a.doseChart(); ok {
		v.Week = words.SoFarWeek.In(a.lang(), week)
		v.Cards = append(v.Cards, chartCard{ID: "chart-dose", Title: a.t(words.SoFarDose), SVG: c.SVG(), Table: c.Table()})
	}
	return v
}

// motionChart is the chart of one motion; not ok without own or clinic readings.
func (a *App) motionChart(m rom.Motion, days []schedule.Day) (chart.Motion, bool) {
	c := chart.Motion{
		Motion: m, Size: chart.Plain, Large: a.prefs.Size, Axis: chart.ByDate, Words: a.chartWords(words.Motion(a.lang(), m)),
		Surgery: a.day.Episode.Surgery, Today: a.day.Date,
	}
	if a.day.Dated && a.day.Number > 13 {
		c.Axis = chart.ByWeek
	}
	for _, r := range a.facts.History.Readings {
		b := r.Body
		if b.Episode != a.episode || b.Motion != m || b.Class != rom.Passive || b.Glenohumeral || b.Method == rom.Eye {
			continue
		}
		p := chart.Point{Day: takenOn(r), Value: b.Angle, SE: b.SE}
		if m.ByLevel() {
			p.Value = rom.Deg(int(b.Level))
		}
		switch {
		case b.Side != a.day.Episode.Side:
			if a.day.Episode.Usable(m) {
				c.Other = append(c.Other, p)
			}
		case b.Self():
			c.Own = append(c.Own, p)
		default:
			c.Clinic = append(c.Clinic, p)
		}
	}
	if len(c.Own)+len(c.Clinic) == 0 {
		return c, false
	}
	c.Limit = limitSteps(days, m)
	c.Expected = a.expectedBand(m)
	for _, e := range a.facts.History.Adoptions {
		if e.Body.Episode == a.episode {
			c.Changes = append(c.Changes, e.Day())
		}
	}
	return c, true
}

// mostPast is how many days back limits are drawn.
const mostPast = 400

// pastDays are the days since surgery as the phone knew them, for the limits
// of the charts.
func (a *App) pastDays() []schedule.Day {
	if !a.day.Dated || a.day.Number < 0 {
		return nil
	}
	from := max(a.day.Episode.Surgery, a.day.Date.Add(-mostPast))
	return schedule.Range(a.facts.History, a.episode, from, a.day.Date, schedule.With{Error: errorOf})
}

// limitSteps are the limits of a motion as they changed over the days.
func limitSteps(days []schedule.Day, m rom.Motion) []chart.Step {
	var out []chart.Step
	for _, d := range days {
		if d.State != schedule.Running {
			continue
		}
		l := d.Motion(m)
		s := chart.Step{From: d.Date, Ceiling: l.Limit.Ceiling, Locked: l.Locked, Free: l.Limit.Open}
		if m.ByLevel() {
			s.Ceiling = rom.Deg(int(l.Limit.Highest))
		}
		if n := len(out); n == 0 || out[n-1].Ceiling != s.Ceiling || out[n-1].Locked != s.Locked || out[n-1].Free != s.Free {
			out = append(out, s)
		}
	}
	return out
}

// doseChart is the time held at end range over four weeks.
func (a *App) doseChart() (c chart.Dose, week int, ok bool) {
	if !a.day.Dated || a.day.Number < 0 {
		return c, 0, false
	}
	from := max(a.day.Date.Add(-27), a.day.Episode.Surgery)
	c = chart.Dose{Size: chart.Plain, Large: a.prefs.Size, Axis: chart.ByDate, Words: a.chartWords(a.t(words.SoFarDose)), Surgery: a.day.Episode.Surgery, Today: a.day.Date}
	for _, d := range dose.Days(a.facts.History, a.episode, from, a.day.Date, a.known()) {
		x := chart.DoseDay{Day: d.Date, Sets: d.Done, Due: d.Due, Known: d.Known}
		for _, t := range d.EndRange {
			x.Seconds += t.Seconds
		}
		c.Days = append(c.Days, x)
		if d.Date > a.day.Date.Add(-7) {
			week += d.Done
		}
		ok = ok || d.Done > 0
	}
	return c, week, ok
}

// known says from which day on this programme was on a phone: what was asked
// before that is no news, nothing left undone.
func (a *App) known() dose.Told {
	t := dose.Told{Through: a.day.Date}
	first := func(d rom.Date) {
		if !d.IsZero() && (t.From.IsZero() || d < t.From) {
			t.From = d
		}
	}
	for _, e := range a.facts.History.Installs {
		first(e.Day())
	}
	for _, e := range a.facts.History.Sessions {
		if e.Body.Episode == a.episode {
			first(e.Body.Due)
		}
	}
	return t
}

func (a *App) chartWords(title string) chart.Words {
	w := chart.Words{
		Title: a.f(words.ChartTitle, title), Own: a.t(words.ChartOwn), Clinic: a.t(words.ChartClinic), Other: a.t(words.ChartOther),
		Limit: a.t(words.ChartLimit), Locked: a.t(words.ChartLocked), Expected: a.t(words.ChartExpect), Trend: a.t(words.ChartTrend),
		Change: a.t(words.ChartChange), Surgery: a.t(words.ChartOp), Today: a.t(words.ChartToday), Week: a.t(words.ChartWeek),
		Day: a.t(words.ChartDay), Unknown: a.t(words.ChartNoNews), Rest: a.t(words.ChartRest), Before: a.t(words.ChartBefore), After: a.t(words.ChartAfter),
		Due: a.t(words.ChartDue), Done: a.t(words.ChartDone), Minutes: a.t(words.ChartMin), Empty: a.t(words.SoFarNone),
		Months: words.Months(a.lang()),
	}
	for l := rom.LevelT1; l <= rom.LevelThigh; l++ {
		w.Levels[l] = words.Level(a.lang(), l)
	}
	return w
}
