package review

import (
	"fmt"
	"slices"
	"strings"

	"unsling/engine/rom"
)

// Row is one patient's episode in a panel.
type Row struct {
	Patient  rom.PatientID
	Episode  rom.EpisodeID
	Findings []Finding
}

// Ranked is a row in its place. Reasons are the steps that put it there, in
// their order of weight; two rows are told apart by the first step in which
// they differ.
type Ranked struct {
	Row
	Place   int
	Reasons []string
}

// weight is what a finding is compared by, the first number first; the
// greater goes ahead.
type weight [4]int

func weigh(x Finding) weight {
	loud, late := 1, 0
	if x.Quiet {
		loud = 0
	}
	if x.Overdue {
		late = 1
	}
	by := 0 // without a deadline after those with one
	if x.By.On != 0 {
		by = 1<<30 - int(x.By.On)
	}
	return weight{loud, int(x.Severity), late, by}
}

func compare(a, b weight) int { return slices.Compare(b[:], a[:]) }

// Rank orders a panel by these steps:
//
//  1. the highest severity among findings that staff have not answered;
//  2. whether such a finding of that severity is overdue;
//  3. its earliest due day;
//  4. how many findings of that severity wait;
//  5. how long the oldest of them has held;
//  6. the patient's identifier, so that the order is always the same.
//
// Rows with nothing to answer come last. panel is not changed.
func Rank(panel []Row) []Ranked {
	type scored struct {
		r    Ranked
		step [5]int
	}
	list := make([]scored, len(panel))
	for i, row := range panel {
		step, why := steps(row.Findings)
		list[i] = scored{Ranked{Row: row, Reasons: why}, step}
	}
	slices.SortStableFunc(list, func(a, b scored) int {
		if c := slices.Compare(b.step[:], a.step[:]); c != 0 {
			return c
		}
		if c := strings.Compare(string(a.r.Patient), string(b.r.Patient)); c != 0 {
			return c
		}
		return strings.Compare(string(a.r.Episode), string(b.r.Episode))
	})
	out := make([]Ranked, len(list))
	for i, s := range list {
		s.r.Place = i + 1
		out[i] = s.r
	}
	return out
}

func steps(all []Finding) (step [5]int, why []string) {
	top := Severity(0)
	for _, x := range all {
		if !x.Quiet {
			top = max(top, x.Severity)
		}
	}
	if top == 0 {
		if n := len(all); n > 0 {
			return step, []string{plural(n, "finding", "findings") + ", all answered by staff"}
		}
		return step, []string{"nothing to look at"}
	}
	late, count := 0, 0
	var by, since rom.Date
	for _, x := range all {
		if x.Quiet || x.Severity != top {
			continue
		}
		count++
		if x.Overdue {
			late++
		}
		if x.By.On != 0 && (by == 0 || x.By.On < by) {
			by = x.By.On
		}
		if since == 0 || x.Since < since {
			since = x.Since
		}
	}
	step = [5]int{int(top), min(late, 1), 0, count, 1<<30 - int(since)}
	why = append(why, fmt.Sprintf("1. severity %s", top))
	if late > 0 {
		why = append(why, fmt.Sprintf("2. overdue: %d", late))
	} else {
		why = append(why, "2. nothing overdue")
	}
	if by != 0 {
		step[2] = 1<<30 - int(by)
		why = append(why, "3. due "+date(by))
	} else {
		why = append(why, "3. no due day")
	}
	return step, append(why,
		fmt.Sprintf("4. %s of that severity", plural(count, "finding", "findings")),
		"5. the oldest since "+date(since))
}
