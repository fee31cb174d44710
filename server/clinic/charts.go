package clinic

import (
	"unsling/app/chart"
	"unsling/engine/dose"
	"unsling/engine/rom"
	"unsling/engine/schedule"
	"unsling/engine/trend"
)

// motionChart is one motion with its picture, its table and what was computed.
type motionChart struct {
	Motion  rom.Motion
	SVG     string
	Table   [][]string
	Summary trend.Summary
	Deficit trend.Deficit
	Now     schedule.Allowance
	Latest  *rom.Entry[rom.Reading]
	Other   *rom.Entry[rom.Reading]
}

func chartWords(title string) chart.Words {
	return chart.Words{
		Title: title, Desc: "The same values stand in the table below the chart.",
		Own: "patient's readings", Clinic: "measured at the clinic", Other: "other arm", Limit: "limit",
		Locked: "locked", Expected: "expected range", Trend: "trend", Change: "plan changed", Surgery: "surgery",
		Today: "today", Week: "week", Day: "day", Unknown: "no news", Before: "before", After: "after",
		Due: "due", Done: "done", Minutes: "min", Mean: "mean difference", Bounds: "limits of agreement",
		Empty:  "No readings yet.",
		Months: [12]string{"Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"},
	}
}

// motionCharts draws every motion of the shoulder that has a reading or is
// permitted today.
func (v *visit) motionCharts(f file, c care, course []schedule.Day) []motionChart {
	series := trend.Collect(f.History, c.Episode.ID, v.today)
	var out []motionChart
	for _, m := range rom.Motions {
		if m.ByLevel() || m == rom.ElbowFlexion || m == rom.ElbowExtension || m == rom.ForearmRotation {
			continue
		}
		mc := motionChart{Motion: m, Now: c.Day.Motion(m)}
		pic := chart.Motion{
			Motion: m, Size: chart.Wide, Axis: chart.ByDate, Words: chartWords(name(motionNames, m)),
			Surgery: c.Episode.Surgery, Today: v.today, Limit: limitSteps(course, m), Phases: phaseSpans(course),
		}
		for i, e := range f.History.Readings {
			r := e.Body
			if r.Episode != c.Episode.ID || r.Motion != m || r.Class != rom.Passive || r.Glenohumeral {
				continue
			}
			p := chart.Point{Day: readOn(e), Value: r.Angle, SE: r.SE}
			switch {
			case r.Side != c.Episode.Side:
				pic.Other = append(pic.Other, p)
				mc.Other = &f.History.Readings[i]
			case r.Anaesthetic:
			case r.Self():
				pic.Own = append(pic.Own, p)
				mc.Latest = &f.History.Readings[i]
			default:
				pic.Clinic = append(pic.Clinic, p)
				mc.Latest = &f.History.Readings[i]
			}
		}
		if mc.Latest == nil && mc.Other == nil {
			continue
		}
		for _, p := range f.History.Plans {
			if p.Body.Episode == c.Episode.ID && p.Body.Base > 0 {
				pic.Changes = append(pic.Changes, p.Body.On)
			}
		}
		if s, ok := trend.Find(series, trend.Key{Side: c.Episode.Side, Motion: m, Class: rom.Passive}); ok {
			mc.Summary = trend.Of(s, v.today, trend.Options{Surgery: c.Episode.Surgery})
			for _, b := range mc.Summary.Path {
				pic.Trend = append(pic.Trend, chart.Range{Day: b.Day, Low: b.Low, Mid: b.Mid, High: b.High})
			}
		}
		mc.Deficit = trend.DeficitOf(f.History, c.Episode, m, v.today)
		mc.SVG, mc.Table = pic.SVG(), pic.Table()
		out = append(out, mc)
	}
	return out
}

// limitSteps are the days on which the ceiling of m changed.
func limitSteps(course []schedule.Day, m rom.Motion) []chart.Step {
	var steps []chart.Step
	for _, d := range course {
		l := d.Motion(m)
		s := chart.Step{From: d.Date, Ceiling: l.Limit.Ceiling, Locked: l.Locked, Free: !l.Locked && l.Limit.Open}
		if s.Locked || s.Free {
			s.Ceiling = 0
		}
		if n := len(steps); n > 0 && steps[n-1].Ceiling == s.Ceiling && steps[n-1].Locked == s.Locked && steps[n-1].Free == s.Free {
			continue
		}
		steps = append(steps, s)
	}
	return steps
}

// phaseSpans are the stretches of days in one phase.
func phaseSpans(course []schedule.Day) []chart.Span {
	var spans []chart.Span
	for _, d := range course {
		if !d.InPhase {
			continue
		}
		if n := len(spans); n > 0 && spans[n-1].Name == d.Phase.Key && spans[n-1].To == d.Date.Add(-1) {
			spans[n-1].To = d.Date
			continue
		}
		spans = append(spans, chart.Span{From: d.Date, To: d.Date, Name: d.Phase.Key})
	}
	return spans
}

// doseChart draws the end-range time of days.
func doseChart(days []dose.Day, surgery, today rom.Date) chart.Dose {
	c := chart.Dose{Size: chart.Wide, Words: chartWords("Time held at end range, by day"), Surgery: surgery, Today: today}
	for _, d := range days {
		sum := 0
		for _, t := range d.EndRange {
			sum += t.Seconds
		}
		c.Days = append(c.Days, chart.DoseDay{Day: d.Date, Seconds: sum, Sets: d.Done + d.Partly + d.Extra, Due: d.Due, Known: d.Known})
	}
	return c
}

// painChart draws the pain before and after sessions of days.
func painChart(h rom.History, c care, from, to rom.Date) chart.Pain {
	p := chart.Pain{Size: chart.Wide, Words: chartWords("Pain before and after sessions, by day"), Surgery: c.Episode.Surgery, Today: to, Cap: c.Day.PainCap}
	days := map[rom.Date]*chart.PainDay{}
	for d := from; d <= to; d++ {
		p.Days = append(p.Days, chart.PainDay{Day: d, Before: -1, After: -1})
	}
	for i := range p.Days {
		days[p.Days[i].Day] = &p.Days[i]
	}
	for _, e := range h.Sessions {
		d := days[e.Day()]
		if d == nil || e.Body.Episode != c.Episode.ID {
			continue
		}
		if e.Body.Before != nil {
			d.Before = max(d.Before, *e.Body.Before)
		}
		for _, after := range []*int{e.Body.After, e.Body.Worst} {
			if after != nil {
				d.After = max(d.After, *after)
			}
		}
	}
	return p
}
