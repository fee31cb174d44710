package clinic

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"unsling/app/chart"
	"unsling/engine/rom"
	"unsling/engine/trend"
	"unsling/server/access"
	"unsling/server/formats/csv"
	"unsling/server/ledger"
)

// outcomesPage is what the page of outcomes shows of one procedure.
type outcomesPage struct {
	Procedure  rom.Procedure
	Procedures []oneChoice
	By         outcomeBy
	Own        bool
	Groups     []outcomeGroup
	Episodes   int // of the procedure
	Small      bool
	Motions    []picture
	Stiff      [][]string // rows, the first the header
	Sources    []string
	Adherence  [][]string
	Restricted int
}

type outcomeGroup struct {
	Name string
	N    int
	Few  bool
}

// outcomes reads what the query asks for.
type outcomes struct {
	cases      []outcomeCase
	by         outcomeBy
	own        bool
	restricted int
}

func (v *visit) outcomes() (outcomes, error) {
	if err := v.may(access.SeeOutcomes); err != nil {
		return outcomes{}, err
	}
	q := v.r.URL.Query()
	o := outcomes{by: outcomeBy(q.Get("by")), own: q.Get("rater") == "own"}
	if o.by != byVersion && o.by != byYear {
		o.by = byAll
	}
	panel, err := v.desk.Store.Heads(v.staff.ID)
	if err != nil {
		return o, err
	}
	for _, row := range panel {
		if row.Patient.Restricted != nil {
			o.restricted++
		}
	}
	o.cases, err = v.outcomeCases(panel)
	return o, err
}

// outcomesPage shows what one's own patients reached, in groups, against what
// is published.
func (d *Desk) outcomesPage(v *visit) error {
	o, err := v.outcomes()
	if err != nil {
		return err
	}
	p := outcomesPage{By: o.by, Own: o.own, Restricted: o.restricted}
	list, count := procedureCounts(o.cases)
	p.Procedure = rom.Procedure(v.r.URL.Query().Get("procedure"))
	if !slices.Contains(list, p.Procedure) {
		p.Procedure = ""
		if len(list) > 0 {
			p.Procedure = list[0]
		}
	}
	for _, x := range list {
		p.Procedures = append(p.Procedures, oneChoice{string(x), name(procedureNames, x), count[x], x == p.Procedure})
	}
	if p.Procedure != "" {
		names, groups := outcomeGroups(o.cases, p.Procedure, o.by)
		p.fill(names, groups)
	}
	return v.show("outcomes", "Outcomes", "outcomes", p)
}

func (p *outcomesPage) fill(names []string, groups [][]outcomeCase) {
	for i, n := range names {
		p.Groups = append(p.Groups, outcomeGroup{n, len(groups[i]), len(groups[i]) < leastShown})
		p.Episodes += len(groups[i])
		p.Small = p.Small || len(groups[i]) < leastShown
	}
	for _, m := range motionsOf(groups, p.Own) {
		p.Motions = append(p.Motions, outcomePicture(m, names, groups[0][0].episode))
	}
	p.Stiff = [][]string{append([]string{"Definition", "When"}, names...)}
	for j, x := range judgings {
		row := []string{string(x.Definition), x.When}
		rates := ratesOf(groups, j)
		said := false
		for _, r := range rates {
			cell := r.String()
			if !r.Hidden && r.Known > 0 && r.Unknown > 0 {
				cell += fmt.Sprintf(", not known of %s", manyOrFew(r.Unknown))
			}
			said = said || r.Hidden || r.Known+r.Unknown > 0
			row = append(row, cell)
		}
		if said {
			p.Stiff = append(p.Stiff, row)
			if text, ok := trend.Citation(string(x.Definition)); ok && !slices.Contains(p.Sources, text) {
				p.Sources = append(p.Sources, text)
			}
		}
	}
	p.Adherence = [][]string{append([]string{"After surgery"}, names...)}
	for s, x := range doseSpans {
		row := []string{x.Name}
		said := false
		for _, a := range adheredOf(groups, s) {
			switch {
			case a.Percent.Hidden:
				row, said = append(row, tooFew), true
			case a.Percent.N == 0:
				row = append(row, "–")
			default:
				row, said = append(row, fmt.Sprintf("%d %% (%d – %d %%) of %d people; no news of %d %% of the days",
					a.Percent.Mid.Whole(), a.Percent.Low.Whole(), a.Percent.High.Whole(), a.Percent.N, a.DaysUnknown)), true
			}
		}
		if said {
			p.Adherence = append(p.Adherence, row)
		}
	}
}

func manyOrFew(n int) string {
	if n < leastShown {
		return tooFew
	}
	return strconv.Itoa(n)
}

// outcomePicture draws one motion, with what is published for it.
func outcomePicture(m outcomeMotion, names []string, e rom.Episode) picture {
	words := chartWords(name(motionNames, m.Motion) + ", by group")
	words.Empty, words.Expected = "Fewer than 5 people at every time", "published"
	pic := chart.Outcome{Motion: m.Motion, Size: chart.Wide, Words: words, AxisTime: "weeks since surgery", Group: "group", Middle: "median", Spread: "quartiles", People: "people", TooFew: tooFew}
	for _, t := range outcomeTimes {
		pic.Weeks = append(pic.Weeks, t.Week)
	}
	for g, cells := range m.Cells {
		group := chart.OutcomeGroup{Name: names[g]}
		for t, s := range cells {
			if s.N > 0 || s.Hidden {
				group.Points = append(group.Points, chart.OutcomePoint{Week: outcomeTimes[t].Week, Low: s.Low, Mid: s.Mid, High: s.High, N: s.N, Hidden: s.Hidden})
			}
		}
		pic.Groups = append(pic.Groups, group)
	}
	says := []string{}
	for _, t := range outcomeTimes {
		x, ok := publishedAt(e, m.Motion, t)
		if !ok {
			continue
		}
		pic.Published = append(pic.Published, chart.OutcomePoint{Week: t.Week, Low: x.Low, Mid: x.Mid, High: x.High})
		if !slices.Contains(says, x.Says) {
			says = append(says, x.Says)
		}
	}
	out := picture{Key: "o-" + string(m.Motion), Title: name(motionNames, m.Motion), SVG: pic.SVG(), Table: pic.Table(), Says: strings.Join(says, " ")}
	if len(says) == 0 {
		out.Says = "Nothing is published for this motion after this operation that this program knows of."
	}
	if len(names) > 4 {
		out.Says += " The picture shows the first four groups; the table has all."
	}
	pic.Size = chart.Narrow
	out.Small = pic.SVG()
	return out
}

// publishedValue is what a source says of a motion in a week: a mean with one
// standard deviation either way, or a staged goal.
type publishedValue struct {
	Low, Mid, High rom.Degrees
	ByMean         bool
	Source, Says   string
}

func publishedAt(e rom.Episode, m rom.Motion, t outcomeTime) (publishedValue, bool) {
	x := trend.Expect(e, trend.Key{Side: e.Side, Motion: m, Class: rom.Passive}, t.Published)
	out := publishedValue{Source: x.Source.String(), ByMean: x.ByMean}
	switch {
	case !x.Known, !x.ByMean && (x.High == 0 || x.Day != 7*t.Week):
		return out, false // a goal of another week, or one without an upper end
	case x.ByMean:
		out.Low, out.Mid, out.High = x.Mean-x.SD, x.Mean, x.Mean+x.SD
		out.Says = "Published: mean and one standard deviation at months 3 and 6, beside weeks 12 and 26, " + out.Source + "; " + x.Note + "."
	default:
		out.Low, out.Mid, out.High = x.Low, (x.Low+x.High)/2, x.High
		out.Says = "Before month 3: staged goals, " + out.Source + "; no measured values are published."
	}
	return out, true
}

// outcomesFile is the same for every procedure as a file. It holds groups
// only; what stands for too few people is left out here too.
func (d *Desk) outcomesFile(v *visit) error {
	o, err := v.outcomes()
	if err != nil {
		return err
	}
	t := outcomesTable(o)
	data, err := t.Bytes()
	if err != nil {
		return err
	}
	dict, err := csv.Dictionary(t).Bytes()
	if err != nil {
		return err
	}
	if err := d.Store.Note(ledger.Entry{At: v.at.UTC(), Actor: string(v.staff.ID), Session: v.token.Session, Act: string(access.SeeOutcomes), Resource: fmt.Sprintf("%d rows as a file", len(t.Rows))}); err != nil {
		return err
	}
	return v.sendZip("outcomes-"+v.at.Format("20060102")+".zip", []zipFile{{"outcomes.csv", data}, {"dictionary.csv", dict}})
}

func outcomesTable(o outcomes) csv.Table {
	t := csv.Table{Name: "outcomes", Columns: []csv.Column{
		{Name: "procedure", Means: "the main procedure of the operation", Unit: "code", Range: "the procedures of this program", Source: "the confirmed operation"},
		{Name: "group", Means: "the group: all, one version of the protocol, or one year of surgery", Unit: "text", Range: "", Source: "the plan, or the date of surgery"},
		{Name: "what", Means: "what the row counts", Unit: "code", Range: "motion, stiffness or adherence", Source: "this program"},
		{Name: "of", Means: "the motion, the definition of stiffness, or adherence", Unit: "code", Range: "", Source: "this program"},
		{Name: "when", Means: "week after surgery, or the time window of the definition", Unit: "text", Range: "", Source: "this program"},
		{Name: "rater", Means: "whose readings: the clinic's or the patients' own; never both", Unit: "code", Range: "clinic or own", Source: "the readings"},
		{Name: "people", Means: "how many people stand behind the row", Unit: "1", Range: "5 and more; empty where fewer do, or where the hidden ones could be worked out", Source: "counted"},
		{Name: "median", Means: "median of the passive range, or of the share of asked repetitions that was done", Unit: "deg; % for adherence; for HBB a level, T1 to T12 are 1 to 12, L1 to L5 13 to 17, sacrum 18", Range: "", Source: "readings, sessions"},
		{Name: "quartile_1", Means: "a quarter of the people lie at or below it (linear, type 7)", Unit: "as median", Range: "", Source: "as median"},
		{Name: "quartile_3", Means: "a quarter of the people lie at or above it (linear, type 7)", Unit: "as median", Range: "", Source: "as median"},
		{Name: "met", Means: "how many of the people met the definition", Unit: "1", Range: "0 to people", Source: "the published rule on the clinic's and own readings of its window"},
		{Name: "published_low", Means: "mean less one standard deviation, or lower end of a staged goal", Unit: "as median", Range: "", Source: "published_source"},
		{Name: "published_mid", Means: "published mean; empty for a staged goal", Unit: "as median", Range: "", Source: "published_source"},
		{Name: "published_high", Means: "mean plus one standard deviation, or upper end of a staged goal", Unit: "as median", Range: "", Source: "published_source"},
		{Name: "published_source", Means: "key of the source and how well it is known", Unit: "text", Range: "KEY read, memory, practice or derived", Source: "this program"},
		{Name: "days_unknown", Means: "share of the days that asked something and of which the clinic has no news", Unit: "%", Range: "0 to 100", Source: "contacts of the phones, paper logs"},
	}}
	rater := "clinic"
	if o.own {
		rater = "own"
	}
	list, _ := procedureCounts(o.cases)
	for _, p := range list {
		names, groups := outcomeGroups(o.cases, p, o.by)
		for _, m := range motionsOf(groups, o.own) {
			for g, cells := range m.Cells {
				for i, s := range cells {
					if s.N == 0 && !s.Hidden {
						continue
					}
					row := append([]string{string(p), names[g], "motion", string(m.Motion), "week " + strconv.Itoa(outcomeTimes[i].Week), rater}, s.cells()...)
					row = append(row, "")
					if x, ok := publishedAt(groups[g][0].episode, m.Motion, outcomeTimes[i]); ok {
						mid := ""
						if x.ByMean {
							mid = x.Mid.String()
						}
						row = append(row, x.Low.String(), mid, x.High.String(), x.Source)
					} else {
						row = append(row, "", "", "", "")
					}
					t.Add(append(row, "")...)
				}
			}
		}
		for j, x := range judgings {
			for g, r := range ratesOf(groups, j) {
				switch {
				case r.Hidden:
					t.Add(string(p), names[g], "stiffness", string(x.Definition), x.When, "", "", "", "", "", "", "", "", "", string(x.Definition), "")
				case r.Known > 0:
					t.Add(string(p), names[g], "stiffness", string(x.Definition), x.When, "", strconv.Itoa(r.Known), "", "", "", strconv.Itoa(r.Met), "", "", "", string(x.Definition), "")
				}
			}
		}
		for s, x := range doseSpans {
			for g, a := range adheredOf(groups, s) {
				if a.Percent.N == 0 && !a.Percent.Hidden {
					continue
				}
				row := append([]string{string(p), names[g], "adherence", "repetitions", x.Name, ""}, a.Percent.cells()...)
				unknown := ""
				if !a.Percent.Hidden {
					unknown = strconv.Itoa(a.DaysUnknown)
				}
				t.Add(append(row, "", "", "", "", "", unknown)...)
			}
		}
	}
	return t
}

func (s spread) cells() []string {
	if s.Hidden {
		return []string{"", "", "", ""}
	}
	return []string{strconv.Itoa(s.N), s.Mid.String(), s.Low.String(), s.High.String()}
}
