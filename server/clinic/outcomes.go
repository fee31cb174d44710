package clinic

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"

	"unsling/engine/rom"
	"unsling/engine/trend"
)

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
