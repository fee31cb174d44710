package clinic

import (
	"errors"
	"slices"
	"strconv"

	"unsling/engine/dose"
	"unsling/engine/rom"
	"unsling/engine/trend"
	"unsling/server/clinic/cases"
	"unsling/server/ledger"
)

// leastShown is the smallest number of people behind a number that is shown:
// below five a number can point at a person (common practice, no source).
const leastShown = 5

// outcomeTime is one time at which groups are compared: week Week, judged from
// the reading nearest to it within the days around it. Visits slip late
// rather than early, so the windows reach farther forward (derived). Published
// is the day whose published value stands beside it: months 3 and 6 for weeks
// 12 and 26.
type outcomeTime struct {
	Week, From, To, Published int // days after surgery
}

var outcomeTimes = []outcomeTime{{2, 7, 21, 14}, {6, 35, 56, 42}, {12, 77, 105, 91}, {26, 168, 210, 183}}

// doseSpan is a stretch of days, both included, over which adherence is
// counted.
type doseSpan struct {
	Name     string
	From, To int
}

var doseSpans = []doseSpan{{"week 1 to 6", 0, 41}, {"week 7 to 12", 42, 83}, {"week 13 to 26", 84, 181}}

// judging is one published definition of stiffness on the day after surgery
// at which it is judged: the last of its time window, where one is named.
type judging struct {
	Definition trend.Definition
	When       string
	Day        int // 0: before surgery
}

// Where no window ends, the day is ours (derived): BRISLIN2007 speaks of the
// time after day 90, CAPSULITIS of any, BACK2014 of the final visit.
var judgings = []judging{
	{trend.Parsons2010, "weeks 6 to 8", 56}, {trend.Chung2013, "month 3", 112}, {trend.Chung2013, "month 6", 204}, {trend.Chung2013, "month 12", 386},
	{trend.SciRep2022, "month 3", 112}, {trend.Brislin2007, "day 112", 112}, {trend.Capsulitis, "day 112", 112}, {trend.Back2014, "day 386", 386}, {trend.Tauro2006, "before surgery, grade 2 or 3", 0},
}

// outcomeCase is what one episode adds. It names nobody.
type outcomeCase struct {
	procedure rom.Procedure
	protocol  string
	year      int
	episode   rom.Episode // for what is published; its id is blanked
	clinic    map[rom.Motion][]*rom.Degrees
	own       map[rom.Motion][]*rom.Degrees
	verdicts  []trend.Answer // by judgings; "" while the day has not come
	adherence []dose.Adherence
}

// outcomeCases reads the operated episodes of a panel.
func (v *visit) outcomeCases(panel []ledger.PanelRow) ([]outcomeCase, error) {
	out := make([][]outcomeCase, len(panel))
	err := inParallel(len(panel), func(i int) (err error) {
		out[i], err = v.casesOf(panel[i])
		return err
	})
	if err != nil {
		return nil, err
	}
	return slices.Concat(out...), nil
}

// keptMost is for how many patients is kept what they add, so that another
// choice on the page does not judge everybody again.
const keptMost = 20_000

// casesOf is judgeCases, once for the same log on the same day.
func (v *visit) casesOf(row ledger.PanelRow) ([]outcomeCase, error) {
	if row.Patient.Restricted != nil {
		return nil, nil // its data may be looked at and not processed
	}
	if had, ok := v.desk.outcomeCases.Get(v.asOf, row); ok {
		return had, nil
	}
	out, err := v.judgeCases(row)
	if err == nil {
		v.desk.outcomeCases.Put(v.asOf, row, out, cases.AllDay)
	}
	return out, err
}

func (v *visit) judgeCases(row ledger.PanelRow) ([]outcomeCase, error) {
	f, err := v.asOf.Read(row)
	if errors.Is(err, ledger.ErrErased) {
		return nil, nil // since the list was read
	} else if err != nil {
		return nil, err
	}
	var out []outcomeCase
	for _, id := range f.History.EpisodeIDs() {
		e, ok := f.History.Episode(id)
		if !ok || e.ConfirmedBy == "" || e.Surgery.IsZero() || len(e.Procedures) == 0 {
			continue
		}
		c := outcomeCase{procedure: e.Procedures[0], year: e.Surgery.Time().Year(), protocol: "no protocol"}
		k := care{Episode: e}
		if k.Plan, k.HasPlan = f.History.Plan(id); k.HasPlan && len(k.Plan.Protocol) > 0 {
			c.protocol = k.Plan.Protocol[0].ID + " version " + strconv.Itoa(k.Plan.Protocol[0].Version)
		}
		c.readings(f.History, e)
		c.judge(f.History, e, v.today)
		last := v.today
		if !e.Ended.IsZero() {
			last = e.Ended
		}
		for _, s := range doseSpans {
			from, to := e.Surgery.Add(s.From), min(e.Surgery.Add(s.To), last)
			var a dose.Adherence
			if k.HasPlan && from <= to {
				a = dose.Adhere(doses(f, k, from, to))
			}
			c.adherence = append(c.adherence, a)
		}
		c.episode = e
		c.episode.ID, c.episode.By, c.episode.ConfirmedBy, c.episode.SideBy, c.episode.Reason = "", "", "", "", ""
		out = append(out, c)
	}
	return out, nil
}

// readings takes for each motion and time the reading nearest to it: passive,
// of the whole operated arm, awake. Those of the clinic and the patient's own
// are never pooled.
func (c *outcomeCase) readings(h rom.History, e rom.Episode) {
	c.clinic, c.own = map[rom.Motion][]*rom.Degrees{}, map[rom.Motion][]*rom.Degrees{}
	away := map[*rom.Degrees]int{}
	for _, x := range h.Readings {
		r := x.Body
		if r.Episode != e.ID || r.Side != e.Side || r.Class != rom.Passive || r.Glenohumeral || r.Anaesthetic || r.Baseline || r.Method == rom.Eye {
			continue
		}
		of := c.clinic
		if r.Self() {
			of = c.own
		}
		day := readOn(x).Sub(e.Surgery)
		for i, t := range outcomeTimes {
			if day < t.From || day > t.To {
				continue
			}
			if of[r.Motion] == nil {
				of[r.Motion] = make([]*rom.Degrees, len(outcomeTimes))
			}
			far := max(day-7*t.Week, 7*t.Week-day)
			if had := of[r.Motion][i]; had == nil || far < away[had] {
				value := r.Angle
				if r.Motion.ByLevel() {
					value = rom.Deg(int(r.Level))
				}
				of[r.Motion][i], away[&value] = &value, far
			}
		}
	}
}

// judge asks each definition on its day, once the day has come.
func (c *outcomeCase) judge(h rom.History, e rom.Episode, today rom.Date) {
	c.verdicts = make([]trend.Answer, len(judgings))
	known := map[int][]trend.Verdict{}
	for i, j := range judgings {
		on := e.Surgery.Add(j.Day)
		if on > today || !e.Ended.IsZero() && on > e.Ended {
			continue
		}
		if known[j.Day] == nil {
			course, ok := trend.At(h, e.ID, on, trend.Options{})
			if !ok {
				continue
			}
			known[j.Day] = course.Stiffness()
		}
		for _, x := range known[j.Day] {
			if x.Definition == j.Definition && x.Answer != trend.NotInTime {
				c.verdicts[i] = x.Answer
			}
		}
	}
}
