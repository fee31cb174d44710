package clinic

import (
	"net/http"

	"unsling/engine/review"
	"unsling/engine/rom"
	"unsling/server/access"
	"unsling/server/ledger"
)

// listRow is one episode on the watch list.
type listRow struct {
	brief
	Patient ledger.Patient
	Top     review.Finding // the finding that put it there
	HasTop  bool
	Says    string // its reason, one short sentence
	Due     string
	Owner   string
	Then    string // who gets it when the owner leaves it
	Outside bool   // and cannot open it: the deputy is not in the care team
	Reach   review.Reach
	Late    string // how long it is overdue, in clinic hours
	More    int    // further open findings
	New     bool   // something of it was not there at the person's last look
	Mine    bool
	Silent  bool
	Overdue bool
	Reasons []string
	Days    int // since last contact, -1 for never
	Place   int // in the ranking, from 1
}

// section is one block of the watch list.
type section struct {
	Key, Title, Empty string
	Rows              []listRow
	Count             int // rows of all pages
	Shown             bool
}

type listPage struct {
	Sections []section
	Total    int // rows that the filter leaves
	All      int // rows of the person's care teams
	Filter   filter
	Chips    []chip
	Choices  []choices
	Ready    bool // the clinic has set what monitoring needs
	Adopted  bool // a protocol can be prescribed
	Looked   string
	Shown    string // names what was shown, for the mark
	Query    string
	Morning  string // address of the sheet for paper
	From, To int    // places shown
	Next     string // address of the rest, "" at the end
	First    string // address of the beginning, "" there
	Today    rom.Date
}

// pageRows is how many rows stand on one page.
const pageRows = 100

// watchList shows the patients of the person's care teams, the most pressing
// first, each with its reason in one sentence.
func (d *Desk) watchList(v *visit) error {
	if err := v.may(access.SeePanel); err != nil {
		if v.staff.Role == ledger.Administrator {
			http.Redirect(v.w, v.r, "/clinic/settings", http.StatusSeeOther)
			return nil
		}
		return err
	}
	return v.listShow(http.StatusOK, readFilter(v.r.URL.Query()), "")
}

func (v *visit) listShow(status int, f filter, problem string) error {
	rows, look, err := v.ranked(f.Find)
	if err != nil {
		return err
	}
	adopted, err := v.desk.Store.Adoptions()
	if err != nil {
		return err
	}
	page := listPage{Filter: f, All: len(rows), Ready: v.clinic.Monitoring(), Adopted: len(adopted) > 0, Today: v.today, Query: f.query(), Morning: "/clinic/morning?" + f.query()}
	page.Chips, page.Choices = facets(rows, f, !look.At.IsZero())
	if f.Find == "" { // a search shows a part
		page.Shown = v.remember(rows)
	}
	if !look.At.IsZero() {
		page.Looked = sinceText(look.At.In(v.zone), v.today)
	}
	rows = f.keep(rows)
	page.Total = len(rows)
	page.Sections = sectionsOf(rows)
	from := f.start(rows)
	to := min(from+pageRows, len(rows))
	if len(rows) > 0 {
		page.From, page.To = from+1, to
	}
	if to < len(rows) {
		page.Next = "/clinic/?" + f.after(rows[to-1])
	}
	if from > 0 {
		page.First = "/clinic/?" + f.query()
	}
	for _, row := range rows[from:to] {
		if row.HasTop {
			if row.Outside, err = v.deputyOutside(row.Patient.ID); err != nil {
				return err
			}
		}
		at := &page.Sections[placeOf(row)]
		at.Rows, at.Shown = append(at.Rows, row), true
	}
	if from == 0 && len(rows) > 0 && !f.Any() && f.Find == "" {
		page.Sections[0].Shown = true // nobody to call is news too
	}
	return v.showWith(status, "list", frame{Title: "Watch list", Here: "list", Error: problem, Page: page})
}

// sectionsOf are the blocks of the list, with their counts.
func sectionsOf(rows []listRow) []section {
	out := []section{
		{Key: "urgent", Title: "Today", Empty: "Nobody has to be called today."},
		{Key: "call", Title: "Within two working days"},
		{Key: "watch", Title: "Watch"},
		{Key: "quiet", Title: "Nothing open"},
	}
	for _, row := range rows {
		out[placeOf(row)].Count++
	}
	return out
}

// ranked gives the rows of the person's care teams in their order, of those
// whose name or number holds find.
func (v *visit) ranked(find string) ([]listRow, ledger.Look, error) {
	panel, err := v.desk.Store.Heads(v.staff.ID)
	if err != nil {
		return nil, ledger.Look{}, err
	}
	names, err := v.staffNames()
	if err != nil {
		return nil, ledger.Look{}, err
	}
	look, seen, err := v.look()
	if err != nil {
		return nil, ledger.Look{}, err
	}
	panel = found(panel, find)
	briefs, err := v.desk.panelBriefs(v.asOf, panel)
	if err != nil {
		return nil, ledger.Look{}, err
	}
	rows := map[rom.EpisodeID]listRow{}
	var toRank []review.Row
	for i, p := range panel {
		for _, b := range briefs[i] {
			// Whoever was discharged is found by name only.
			if b.Episode.State.Ended() && find == "" {
				continue
			}
			rows[b.Episode.ID] = v.listRow(p.Patient, b, names, seen)
			toRank = append(toRank, review.Row{Patient: p.Patient.ID, Episode: b.Episode.ID, Findings: b.Findings})
		}
	}
	out := make([]listRow, 0, len(toRank))
	for _, r := range review.Rank(toRank) {
		row := rows[r.Episode]
		row.Reasons, row.Place = r.Reasons, r.Place
		out = append(out, row)
	}
	return out, look, nil
}

// placeOf is the section of a row.
func placeOf(row listRow) int {
	switch {
	case !row.HasTop:
		return 3
	case row.Top.Severity == review.Urgent:
		return 0
	case row.Top.Severity == review.Call:
		return 1
	}
	return 2
}

func (v *visit) listRow(p ledger.Patient, b brief, names map[rom.StaffID]string, seen map[uint64]bool) listRow {
	row := listRow{brief: b, Patient: p, Days: -1}
	if !b.Contact.IsZero() {
		row.Days = v.today.Sub(b.Contact)
	}
	row.Top, row.More, row.HasTop = b.open()
	for _, x := range b.Findings {
		if x.Quiet {
			continue
		}
		reach, _ := v.reach(x)
		row.New = row.New || seen != nil && !seen[mark(x)]
		row.Mine = row.Mine || v.mine(x, reach)
		row.Silent = row.Silent || x.Class == review.Silent
		row.Overdue = row.Overdue || x.Overdue
	}
	if !row.HasTop {
		row.Says = quietly(b)
		return row
	}
	row.Says, row.Due = headline(row.Top), dueText(row.Top, v.today)
	row.Owner = ownerName(row.Top, names)
	row.Reach, row.Late = v.reach(row.Top)
	if deputy := names[v.clinic.Deputy]; deputy != "" && v.clinic.Deputy != row.Top.Assigned {
		row.Then = deputy
	}
	return row
}
