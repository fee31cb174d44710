package clinic

import (
	"cmp"
	"errors"
	"fmt"
	"runtime"
	"slices"
	"strconv"
	"sync"

	"unsling/engine/dose"
	"unsling/engine/rom"
	"unsling/engine/trend"
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
	errs := make([]error, len(panel))
	next := make(chan int, len(panel))
	for i := range panel {
		next <- i
	}
	close(next)
	var all sync.WaitGroup
	for range min(runtime.GOMAXPROCS(0), len(panel)) {
		all.Go(func() {
			for i := range next {
				out[i], errs[i] = v.casesOf(panel[i])
			}
		})
	}
	all.Wait()
	for _, err := range errs {
		if err != nil {
			return nil, err
		}
	}
	return slices.Concat(out...), nil
}

// keptCases holds what patients add, so that another choice on the page does
// not judge everybody again.
type keptCases struct {
	mu   sync.Mutex
	rows map[rom.PatientID]keptCase
}

type keptCase struct {
	seq    int64
	day    rom.Date
	phones string
	cases  []outcomeCase
}

const keptCasesMost = 20_000

// casesOf is judgeCases, once for the same log on the same day.
func (v *visit) casesOf(row ledger.PanelRow) ([]outcomeCase, error) {
	if row.Patient.Restricted != nil {
		return nil, nil // its data may be looked at and not processed
	}
	k := &v.desk.outcomeCases
	now := keptCase{seq: row.Facts.Seq, day: v.today, phones: phonesPrint(row.Phones)}
	k.mu.Lock()
	had, ok := k.rows[row.Patient.ID]
	k.mu.Unlock()
	if ok && had.seq == now.seq && had.day == now.day && had.phones == now.phones {
		return had.cases, nil
	}
	var err error
	if now.cases, err = v.judgeCases(row); err != nil {
		return nil, err
	}
	k.mu.Lock()
	defer k.mu.Unlock()
	if k.rows == nil || len(k.rows) >= keptCasesMost {
		k.rows = map[rom.PatientID]keptCase{}
	}
	k.rows[row.Patient.ID] = now
	return now.cases, nil
}

func (v *visit) judgeCases(row ledger.PanelRow) ([]outcomeCase, error) {
	f := file{Patient: row.Patient, Phones: row.Phones}
	var err error
	if row.Facts, err = v.desk.Store.Facts(row.Patient.ID); errors.Is(err, ledger.ErrErased) {
		return nil, nil // since the list was read
	} else if err != nil {
		return nil, err
	}
	if f.History, err = v.desk.History(row.Facts.Data); err != nil {
		return nil, err
	}
	if f.inputs, err = v.inputsFor(row.Phones, row.Patient.ID); err != nil {
		return nil, err
	}
	for _, p := range f.inputs.Phones {
		f.Contact = max(f.Contact, p.Contact)
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

// outcomeBy is how cases are divided into groups. There is one division at a
// time, never two crossed: crossed ones would leave few people in each and let
// one be worked out from the others.
type outcomeBy string

const (
	byAll     outcomeBy = "all"
	byVersion outcomeBy = "version"
	byYear    outcomeBy = "year"
)

func (b outcomeBy) group(c outcomeCase) string {
	switch b {
	case byVersion:
		return c.protocol
	case byYear:
		return "surgery in " + strconv.Itoa(c.year)
	}
	return "all"
}

// spread is the middle and the quartiles of some people, or nothing where
// they are too few.
type spread struct {
	N              int
	Low, Mid, High rom.Degrees
	Hidden         bool
}

// spreadOf takes the median and the quartiles in a straight line between the
// neighbours (Hyndman & Fan 1996, type 7).
func spreadOf(values []rom.Degrees) spread {
	s := spread{N: len(values)}
	if s.N == 0 {
		return s
	}
	slices.Sort(values)
	at := func(quarter int) rom.Degrees {
		at, rest := (s.N-1)*quarter/4, (s.N-1)*quarter%4
		if rest == 0 {
			return values[at]
		}
		return values[at] + rom.Degrees((int(values[at+1]-values[at])*rest+2)/4)
	}
	s.Low, s.Mid, s.High = at(1), at(2), at(3)
	return s
}

// hide says which groups of one partition must not be shown: those with fewer
// than leastShown people, and, where what is hidden comes to fewer people than
// that together, the smallest shown one too, so that nobody gets at them by
// taking the shown ones from the whole.
func hide(counts []int) []bool {
	out := make([]bool, len(counts))
	sum := 0
	for i, n := range counts {
		if n > 0 && n < leastShown {
			out[i] = true
			sum += n
		}
	}
	if sum == 0 || sum >= leastShown {
		return out
	}
	least := -1
	for i, n := range counts {
		if !out[i] && n > 0 && (least < 0 || n < counts[least]) {
			least = i
		}
	}
	if least >= 0 {
		out[least] = true
	}
	return out
}

// outcomeGroups are the cases of one procedure, divided; the names are sorted.
func outcomeGroups(cases []outcomeCase, p rom.Procedure, by outcomeBy) (names []string, groups [][]outcomeCase) {
	of := map[string][]outcomeCase{}
	for _, c := range cases {
		if c.procedure == p {
			of[by.group(c)] = append(of[by.group(c)], c)
		}
	}
	for n := range of {
		names = append(names, n)
	}
	slices.Sort(names)
	for _, n := range names {
		groups = append(groups, of[n])
	}
	return names, groups
}

// outcomeMotion is one motion of one procedure: groups by times.
type outcomeMotion struct {
	Motion rom.Motion
	Cells  [][]spread // by group, then time
}

func motionsOf(groups [][]outcomeCase, own bool) (out []outcomeMotion) {
	for _, m := range rom.Motions {
		row := outcomeMotion{Motion: m, Cells: make([][]spread, len(groups))}
		any := false
		for g, cases := range groups {
			row.Cells[g] = make([]spread, len(outcomeTimes))
			for t := range outcomeTimes {
				var values []rom.Degrees
				for _, c := range cases {
					of := c.clinic
					if own {
						of = c.own
					}
					if of[m] != nil && of[m][t] != nil {
						values = append(values, *of[m][t])
					}
				}
				row.Cells[g][t] = spreadOf(values)
				any = any || len(values) > 0
			}
		}
		if !any {
			continue
		}
		for t := range outcomeTimes {
			counts := make([]int, len(groups))
			for g := range groups {
				counts[g] = row.Cells[g][t].N
			}
			for g, hidden := range hide(counts) {
				if hidden {
					row.Cells[g][t] = spread{Hidden: true}
				}
			}
		}
		out = append(out, row)
	}
	return out
}

// stiffRate is how many of a group met one definition.
type stiffRate struct {
	Met, Known, Unknown int // Unknown: judged, and the readings do not say
	Hidden              bool
}

func (r stiffRate) String() string {
	switch {
	case r.Hidden:
		return tooFew
	case r.Known == 0 && r.Unknown > 0:
		return "the readings do not say"
	case r.Known == 0:
		return "–"
	}
	return fmt.Sprintf("%d of %d (%d %%)", r.Met, r.Known, (200*r.Met+r.Known)/(2*r.Known))
}

func ratesOf(groups [][]outcomeCase, j int) []stiffRate {
	out := make([]stiffRate, len(groups))
	known, unknown := make([]int, len(groups)), make([]int, len(groups))
	for g, cases := range groups {
		for _, c := range cases {
			switch c.verdicts[j] {
			case trend.Met:
				out[g].Met++
				out[g].Known++
			case trend.NotMet:
				out[g].Known++
			case trend.CannotSay:
				out[g].Unknown++
			}
		}
		known[g], unknown[g] = out[g].Known, out[g].Unknown
	}
	for g, hidden := range hide(known) {
		if hidden {
			out[g] = stiffRate{Hidden: true}
		}
	}
	return out
}

// adhered is the adherence of a group over one stretch.
type adhered struct {
	Percent     spread // in tenths of a per cent, of people with a known day
	DaysUnknown int    // per cent of the days that asked something
}

func adheredOf(groups [][]outcomeCase, s int) []adhered {
	out := make([]adhered, len(groups))
	counts := make([]int, len(groups))
	for g, cases := range groups {
		var values []rom.Degrees
		known, unknown := 0, 0
		for _, c := range cases {
			a := c.adherence[s]
			known, unknown = known+a.Days, unknown+a.Unknown
			if a.OK {
				values = append(values, rom.Deg(a.Percent))
			}
		}
		out[g].Percent = spreadOf(values)
		counts[g] = len(values)
		if known+unknown > 0 {
			out[g].DaysUnknown = (200*unknown + known + unknown) / (2 * (known + unknown))
		}
	}
	for g, hidden := range hide(counts) {
		if hidden {
			out[g] = adhered{Percent: spread{Hidden: true}}
		}
	}
	return out
}

const tooFew = "fewer than 5"

// procedureCounts are the procedures of the cases, the most frequent first.
func procedureCounts(cases []outcomeCase) (list []rom.Procedure, count map[rom.Procedure]int) {
	count = map[rom.Procedure]int{}
	for _, c := range cases {
		count[c.procedure]++
	}
	for p := range count {
		list = append(list, p)
	}
	slices.SortFunc(list, func(a, b rom.Procedure) int {
		return cmp.Or(cmp.Compare(count[b], count[a]), cmp.Compare(a, b))
	})
	return list, count
}
