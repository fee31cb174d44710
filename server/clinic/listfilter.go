package clinic

import (
	"net/url"
	"slices"
	"strconv"
	"strings"

	"unsling/engine/review"
	"unsling/engine/rom"
	"unsling/server/ledger"
)

// filter is what a person asks of the watch list, as it stands in the
// address.
type filter struct {
	Find                       string
	Procedure                  rom.Procedure
	Phase                      string
	Class                      review.Class
	Mine, New, Overdue, Silent bool
	// From is the cursor: the last row of the page before, by episode, and
	// its place then, for when it is gone.
	From  rom.EpisodeID
	Place int
}

func readFilter(q url.Values) filter {
	f := filter{
		Find: oneLine(q.Get("find")), Procedure: rom.Procedure(q.Get("procedure")), Phase: oneLine(q.Get("phase")), Class: review.Class(q.Get("finding")),
		Mine: q.Get("mine") == "1", New: q.Get("new") == "1", Overdue: q.Get("overdue") == "1", Silent: q.Get("silent") == "1",
		From: rom.EpisodeID(q.Get("from")),
	}
	f.Place, _ = strconv.Atoi(q.Get("place"))
	return f
}

// values is the filter as fields, without the cursor.
func (f filter) values() url.Values {
	q := url.Values{}
	for key, value := range map[string]string{"find": f.Find, "procedure": string(f.Procedure), "phase": f.Phase, "finding": string(f.Class)} {
		if value != "" {
			q.Set(key, value)
		}
	}
	for key, on := range map[string]bool{"mine": f.Mine, "new": f.New, "overdue": f.Overdue, "silent": f.Silent} {
		if on {
			q.Set(key, "1")
		}
	}
	return q
}

func (f filter) query() string { return f.values().Encode() }

// after is the query of what comes after a row.
func (f filter) after(last listRow) string {
	q := f.values()
	q.Set("from", string(last.Episode.ID))
	q.Set("place", strconv.Itoa(last.Place))
	return q.Encode()
}

// start is the index of the first row to show: after the cursor's row, or
// after its former place when that row is on the list no more.
func (f filter) start(rows []listRow) int {
	if f.From == "" {
		return 0
	}
	if i := slices.IndexFunc(rows, func(r listRow) bool { return r.Episode.ID == f.From }); i >= 0 {
		return i + 1
	}
	i := slices.IndexFunc(rows, func(r listRow) bool { return r.Place >= f.Place })
	if i < 0 {
		return max(0, len(rows)-1)
	}
	return i
}

// Any reports whether something but a search narrows the list.
func (f filter) Any() bool {
	g := f
	g.Find, g.From, g.Place = "", "", 0
	return g != filter{}
}

// Picked reports whether one of the lists narrows it.
func (f filter) Picked() bool { return f.Procedure != "" || f.Phase != "" || f.Class != "" }

// The dimensions in which rows are told apart. A row is counted under a
// choice of one dimension when it passes all the others.
const (
	byMine = iota
	byNew
	byOverdue
	bySilent
	byProcedure
	byPhase
	byClass
	dimensions
)

func (f filter) passes(r listRow) (out [dimensions]bool) {
	out[byMine] = !f.Mine || r.Mine
	out[byNew] = !f.New || r.New
	out[byOverdue] = !f.Overdue || r.Overdue
	out[bySilent] = !f.Silent || r.Silent
	out[byProcedure] = f.Procedure == "" || r.Episode.Has(f.Procedure)
	out[byPhase] = f.Phase == "" || r.Phase == f.Phase
	out[byClass] = f.Class == "" || slices.ContainsFunc(r.Findings, func(x review.Finding) bool { return !x.Quiet && x.Class == f.Class })
	return out
}

func (f filter) keep(rows []listRow) []listRow {
	var out []listRow
	for _, r := range rows {
		if p := f.passes(r); !slices.Contains(p[:], false) {
			out = append(out, r)
		}
	}
	return out
}

// chip is a filter that is on or off.
type chip struct {
	Name  string
	Count int
	On    bool
	To    string // the address with it turned over
}

// choices is a filter with several values.
type choices struct {
	Field, Name string
	List        []oneChoice
}

type oneChoice struct {
	Value, Name string
	Count       int
	On          bool
}

// facets counts what each filter would show beside the others.
func facets(rows []listRow, f filter, looked bool) ([]chip, []choices) {
	counts := [dimensions]map[string]int{}
	for i := range counts {
		counts[i] = map[string]int{}
	}
	for _, r := range rows {
		p := f.passes(r)
		for dim := range counts {
			others := p
			others[dim] = true
			if slices.Contains(others[:], false) {
				continue
			}
			for _, key := range r.keys(dim) {
				counts[dim][key]++
			}
		}
	}
	turned := func(change func(*filter)) string {
		g := f
		change(&g)
		return "/clinic/?" + g.query()
	}
	chips := []chip{
		{"Mine", counts[byMine]["1"], f.Mine, turned(func(g *filter) { g.Mine = !g.Mine })},
		{"Overdue", counts[byOverdue]["1"], f.Overdue, turned(func(g *filter) { g.Overdue = !g.Overdue })},
		{"Silent", counts[bySilent]["1"], f.Silent, turned(func(g *filter) { g.Silent = !g.Silent })},
	}
	if looked || f.New {
		chips = slices.Insert(chips, 1, chip{"New", counts[byNew]["1"], f.New, turned(func(g *filter) { g.New = !g.New })})
	}
	var lists []choices
	for _, one := range []struct {
		dim         int
		field, name string
		now         string
		says        func(string) string
	}{
		{byProcedure, "procedure", "Procedure", string(f.Procedure), func(s string) string { return name(procedureNames, rom.Procedure(s)) }},
		{byPhase, "phase", "Phase", f.Phase, func(s string) string { return s }},
		{byClass, "finding", "Finding", string(f.Class), func(s string) string { return review.CardFor(review.Class(s)).Title }},
	} {
		c := choices{Field: one.field, Name: one.name}
		if one.now != "" && counts[one.dim][one.now] == 0 {
			counts[one.dim][one.now] = 0
		}
		for value, n := range counts[one.dim] {
			c.List = append(c.List, oneChoice{value, one.says(value), n, value == one.now})
		}
		slices.SortFunc(c.List, func(a, b oneChoice) int { return strings.Compare(a.Name, b.Name) })
		lists = append(lists, c)
	}
	return chips, lists
}

// keys are the values of a row in one dimension.
func (r listRow) keys(dim int) []string {
	one := func(on bool) []string {
		if on {
			return []string{"1"}
		}
		return nil
	}
	switch dim {
	case byMine:
		return one(r.Mine)
	case byNew:
		return one(r.New)
	case byOverdue:
		return one(r.Overdue)
	case bySilent:
		return one(r.Silent)
	case byProcedure:
		var out []string
		for _, p := range r.Episode.Procedures {
			out = append(out, string(p))
		}
		return out
	case byPhase:
		if r.Phase != "" {
			return []string{r.Phase}
		}
	case byClass:
		var out []string
		for _, x := range r.Findings {
			if s := string(x.Class); !x.Quiet && !slices.Contains(out, s) {
				out = append(out, s)
			}
		}
		return out
	}
	return nil
}

// found are the rows whose name or number holds every word of find.
func found(panel []ledger.PanelRow, find string) []ledger.PanelRow {
	words := strings.Fields(strings.ToLower(find))
	if len(words) == 0 {
		return panel
	}
	var out []ledger.PanelRow
	for _, p := range panel {
		of := strings.ToLower(p.Patient.Name + " " + p.Patient.Number)
		if !slices.ContainsFunc(words, func(w string) bool { return !strings.Contains(of, w) }) {
			out = append(out, p)
		}
	}
	return out
}
