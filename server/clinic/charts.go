package clinic

import (
	"fmt"

	"unsling/app/chart"
	"unsling/engine/dose"
	"unsling/engine/rom"
	"unsling/engine/schedule"
	"unsling/engine/trend"
)

// motionChart is one motion with its picture, its table and what was computed.
type motionChart struct {
	picture
	Motion rom.Motion
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

// motionCharts draws every motion that has a reading of the operated arm
// since the operation, or a reading at all before it.
func (v *visit) motionCharts(f file, c care, course *trend.Course, days []schedule.Day) []motionChart {
	var out []motionChart
	for _, m := range rom.Motions {
		pic := chart.Motion{
			Motion: m, Size: chart.Wide, Axis: chart.ByDate, Words: chartWords(name(motionNames, m)),
			Surgery: c.Episode.Surgery, Today: v.today, Limit: limitSteps(days, m), Phases: phaseSpans(days),
		}
		for _, e := range f.History.Readings {
			r := e.Body
			if r.Episode != c.Episode.ID || r.Motion != m || r.Class != rom.Passive || r.Glenohumeral || r.Anaesthetic || r.Method == rom.Eye {
				continue
			}
			p := chart.Point{Day: readOn(e), Value: r.Angle, SE: r.SE}
			if m.ByLevel() {
				p.Value = rom.Deg(int(r.Level))
			}
			switch {
			case r.Side != c.Episode.Side:
				pic.Other = append(pic.Other, p)
			case r.Self():
				pic.Own = append(pic.Own, p)
			default:
				pic.Clinic = append(pic.Clinic, p)
			}
		}
		if len(pic.Own)+len(pic.Clinic)+len(pic.Other) == 0 {
			continue
		}
		for _, p := range f.History.Plans {
			if p.Body.Episode == c.Episode.ID && p.Body.Base > 0 {
				pic.Changes = append(pic.Changes, p.Body.On)
			}
		}
		s := course.Summary(course.Passive(m))
		for _, b := range s.Path {
			pic.Trend = append(pic.Trend, chart.Range{Day: b.Day, Low: b.Low, Mid: b.Mid, High: b.High})
		}
		mc := motionChart{Motion: m}
		pic.Expected, mc.Says = expected(c.Episode, course.Passive(m), v.today)
		mc.picture.Key, mc.Title, mc.SVG, mc.Table = "m-"+string(m), name(motionNames, m), pic.SVG(), pic.Table()
		pic.Size = chart.Narrow
		mc.Small = pic.SVG()
		out = append(out, mc)
	}
	return out
}

// expected is what is published of a motion up to today: a mean and its
// spread, never a goal.
func expected(e rom.Episode, k trend.Key, today rom.Date) (band []chart.Range, says string) {
	if e.Surgery.IsZero() || !e.State.Operated() {
		return nil, ""
	}
	for n := 0; n <= today.Sub(e.Surgery) && n < 800; n++ {
		x := trend.Expect(e, k, n)
		if !x.ByMean || n%7 != 0 && n != today.Sub(e.Surgery) {
			continue
		}
		band = append(band, chart.Range{Day: e.Surgery.Add(n), Low: x.Mean - x.SD, Mid: x.Mean, High: x.Mean + x.SD})
		says = "Expected range: mean and one standard deviation, " + x.Source.String() + "; " + x.Note + "."
	}
	if len(band) < 2 {
		return nil, ""
	}
	return band, says
}

// patternPicture plots rotation against elevation on every day on which
// rotation was measured.
func patternPicture(course *trend.Course) picture {
	up, turn := course.Deficit(rom.ForwardFlexion), course.Deficit(rom.ERSide)
	if !up.Known() || !turn.Known() || up.Reference <= 0 || turn.Reference <= 0 {
		return picture{}
	}
	pic := chart.Pattern{
		Size: chart.Wide, Words: chartWords("External rotation against elevation"),
		AxisElevation: "forward flexion, share of reference", AxisRotation: "external rotation at the side, share of reference",
	}
	flexion := course.Summary(course.Passive(rom.ForwardFlexion)).Path
	for _, r := range course.Summary(course.Passive(rom.ERSide)).Path {
		var at *trend.Band
		for i := range flexion {
			if flexion[i].Day <= r.Day && r.Day.Sub(flexion[i].Day) <= 7 {
				at = &flexion[i]
			}
		}
		if at == nil {
			continue
		}
		pic.Points = append(pic.Points, chart.Share{
			Day:       r.Day,
			Elevation: trend.Deficit{Value: at.Mid, Reference: up.Reference}.Share(),
			Rotation:  trend.Deficit{Value: r.Mid, Reference: turn.Reference}.Share(),
		})
	}
	if len(pic.Points) == 0 {
		return picture{}
	}
	out := picture{
		Key: "pattern", Title: "Rotation against elevation", SVG: pic.SVG(), Table: pic.Table(),
		Says: "Below the dashed line rotation lags behind elevation. The newest point is filled. References: " + string(up.Against) + " and " + string(turn.Against) + ".",
	}
	pic.Size = chart.Narrow
	out.Small = pic.SVG()
	return out
}

// agreePictures compare the patient's own readings with the clinic's, for
// every motion with three pairs or more.
func agreePictures(course *trend.Course, today rom.Date) []picture {
	var out []picture
	for _, s := range course.Series {
		if s.Key.Side != course.Episode.Side || s.Key.Class != rom.Passive || s.Key.Glenohumeral || s.Key.Motion.ByLevel() {
			continue
		}
		a := trend.Agree(s.Pairs(today, trend.Options{}))
		if !a.Known {
			continue
		}
		pic := chart.Agreement{
			Size: chart.Wide, Words: chartWords("Own against clinic, " + name(motionNames, s.Key.Motion)), HasBounds: true,
			Bias: a.Bias.Mid, Lower: a.Lower.Mid, Upper: a.Upper.Mid, AxisMean: "mean of both, degrees", AxisDiffer: "own less clinic, degrees",
		}
		for _, p := range a.Pairs {
			pic.Pairs = append(pic.Pairs, chart.Pair{Own: p.Own, Clinic: p.Clinic})
		}
		one := picture{
			Key: "agree-" + string(s.Key.Motion), Title: "Own against clinic: " + name(motionNames, s.Key.Motion), SVG: pic.SVG(), Table: pic.Table(),
			Says: fmt.Sprintf("Own readings differ by %d° on average (95 %% between %d° and %d°), from %d pairs within a day.", a.Bias.Mid.Whole(), a.Lower.Mid.Whole(), a.Upper.Mid.Whole(), len(a.Pairs)),
		}
		pic.Size = chart.Narrow
		one.Small = pic.SVG()
		out = append(out, one)
	}
	return out
}

// limitSteps are the days on which the ceiling of m changed.
func limitSteps(course []schedule.Day, m rom.Motion) []chart.Step {
	var steps []chart.Step
	for _, d := range course {
		l := d.Motion(m)
		s := chart.Step{From: d.Date, Ceiling: ceilingOf(l.Limit), Locked: l.Locked, Free: !l.Locked && l.Limit.Open}
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

// ceilingOf is the ceiling of a row as a chart takes it.
func ceilingOf(l rom.Limit) rom.Degrees {
	if l.Motion.ByLevel() {
		return rom.Deg(int(l.Highest))
	}
	return l.Ceiling
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
