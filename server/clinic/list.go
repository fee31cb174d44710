package clinic

import (
	"fmt"
	"net/http"
	"strings"

	"unsling/app/chart"
	"unsling/engine/review"
	"unsling/engine/rom"
	"unsling/engine/schedule"
	"unsling/server/access"
	"unsling/server/ledger"
)

// brief is what the watch list shows of one episode.
type brief struct {
	Episode  rom.Episode
	State    schedule.State
	Dated    bool
	Number   int // day after surgery
	Week     int
	Phase    string
	Findings []review.Finding
	Contact  rom.Date
	Phone    bool // one is enrolled
	Spark    string
	SparkOf  rom.Motion
}

func briefOf(f file, c care) brief {
	b := brief{
		Episode: c.Episode, State: c.Day.State, Dated: c.Day.Dated, Number: c.Day.Number, Week: c.Day.Week,
		Findings: c.Findings, Contact: f.Contact, Phone: len(f.Phones) > 0,
	}
	if c.Day.InPhase {
		b.Phase = c.Day.Phase.Key
	}
	top, _, _ := b.open()
	b.SparkOf = sparkMotion(top)
	b.Spark = spark(f.History, c, b.SparkOf)
	return b
}

// open returns the finding that speaks for the episode, and how many more
// stand open.
func (b brief) open() (top review.Finding, more int, ok bool) {
	for _, x := range b.Findings {
		switch {
		case x.Quiet:
		case !ok:
			top, ok = x, true
		default:
			more++
		}
	}
	return top, more, ok
}

// listRow is one episode on the watch list.
type listRow struct {
	brief
	Patient ledger.Patient
	Top     review.Finding // the finding that put it there
	HasTop  bool
	Says    string // its reason, one short sentence
	Due     string
	Owner   string
	More    int // further open findings
	Reasons []string
	Days    int // since last contact, -1 for never
}

// section is one block of the watch list.
type section struct {
	Key, Title, Empty string
	Rows              []listRow
	Hidden            int // rows left out until all are asked for
}

type listPage struct {
	Sections []section
	Total    int
	Find     string
	Ready    bool // the clinic has set what monitoring needs
	Adopted  bool // a protocol can be prescribed
}

// quietMost is how many patients without open findings are listed at once.
const quietMost = 60

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
	panel, err := d.Store.Panel(v.staff.ID)
	if err != nil {
		return err
	}
	names, err := v.staffNames()
	if err != nil {
		return err
	}
	adopted, err := d.Store.Adoptions()
	if err != nil {
		return err
	}
	find := oneLine(v.r.URL.Query().Get("find"))
	page := listPage{Find: find, Ready: v.clinic.Monitoring(), Adopted: len(adopted) > 0}
	if find != "" {
		kept := panel[:0]
		for _, p := range panel {
			if strings.Contains(strings.ToLower(p.Patient.Name+" "+p.Patient.Number), strings.ToLower(find)) {
				kept = append(kept, p)
			}
		}
		panel = kept
	}
	briefs, err := v.panelBriefs(panel)
	if err != nil {
		return err
	}
	rows := map[rom.EpisodeID]listRow{}
	var toRank []review.Row
	for i, p := range panel {
		for _, b := range briefs[i] {
			// Whoever was discharged is found by name only.
			if b.Episode.State.Ended() && find == "" {
				continue
			}
			rows[b.Episode.ID] = v.listRow(p.Patient, b, names)
			toRank = append(toRank, review.Row{Patient: p.Patient.ID, Episode: b.Episode.ID, Findings: b.Findings})
		}
	}
	page.Total = len(toRank)
	page.Sections = []section{
		{Key: "urgent", Title: "Today", Empty: "Nobody has to be called today."},
		{Key: "call", Title: "Within two working days", Empty: "No calls are waiting."},
		{Key: "watch", Title: "Watch", Empty: "Nothing to watch."},
		{Key: "quiet", Title: "Nothing open"},
	}
	all := v.r.URL.Query().Has("all") || find != ""
	for _, r := range review.Rank(toRank) {
		row := rows[r.Episode]
		row.Reasons = r.Reasons
		at := &page.Sections[placeOf(row)]
		if at.Key == "quiet" && len(at.Rows) >= quietMost && !all {
			at.Hidden++
			continue
		}
		at.Rows = append(at.Rows, row)
	}
	return v.show("list", "Watch list", "list", page)
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

func (v *visit) listRow(p ledger.Patient, b brief, names map[rom.StaffID]string) listRow {
	row := listRow{brief: b, Patient: p, Days: -1}
	if !b.Contact.IsZero() {
		row.Days = v.today.Sub(b.Contact)
	}
	row.Top, row.More, row.HasTop = b.open()
	if !row.HasTop {
		row.Says = quietly(b)
		return row
	}
	row.Says, row.Due = headline(row.Top), dueText(row.Top, v.today)
	row.Owner = name(roleNames, ledger.Role(row.Top.Owner))
	if n := names[row.Top.Assigned]; n != "" {
		row.Owner = n
	}
	return row
}

// quietly says how an episode stands that asks for nobody.
func quietly(b brief) string {
	switch b.State {
	case schedule.BeforeOp:
		return "Planned. The programme starts once the operation is confirmed."
	case schedule.NotConfirmed:
		return "The operation is not confirmed yet."
	case schedule.Postponed:
		return "Postponed, no new date yet."
	case schedule.Paused:
		return "Paused by the clinic."
	case schedule.Stopped:
		return "Stopped by the clinic."
	case schedule.Ended:
		return "The episode has ended."
	}
	if len(b.Findings) > 0 {
		return "All findings are answered."
	}
	return "Nothing open today."
}

// headline is the finding's sentence down to what a glance can hold: the
// numbers that matter, without how they were come by.
func headline(x review.Finding) string {
	s := x.Staff
	if x.Class == review.Stiffening {
		if rest, ok := strings.CutPrefix(s, "Stiff by "); ok {
			by, _, _ := strings.Cut(rest, " since ")
			if n := strings.Count(by, ",") + 1; n > 1 {
				return fmt.Sprintf("Stiff by %d published definitions.", n)
			}
		}
	}
	for _, end := range []string{"; ", ": ", " (", ", error ", ". "} {
		if i := strings.Index(s, end); i > 0 {
			s = s[:i]
		}
	}
	return strings.TrimSuffix(s, ".") + "."
}

// dueText says until when somebody must act.
func dueText(x review.Finding, today rom.Date) string {
	switch {
	case x.By.On.IsZero():
		return string(x.Due)
	case x.Overdue:
		return "was due " + shortDay(x.By.On, today)
	case x.By.Minute >= 24*60:
		return "due " + shortDay(x.By.On, today)
	}
	return fmt.Sprintf("due %s, %s", shortDay(x.By.On, today), clockTime(x.By.Minute))
}

// shortDay is a day as people say it.
func shortDay(d, today rom.Date) string {
	switch d.Sub(today) {
	case 0:
		return "today"
	case 1:
		return "tomorrow"
	case -1:
		return "yesterday"
	}
	if d.Time().Year() != today.Time().Year() {
		return d.Time().Format("2 Jan 2006")
	}
	return d.Time().Format("Mon 2 Jan")
}

// sparkMotion is the motion a small picture shows: that of the finding, else
// flexion.
func sparkMotion(top review.Finding) rom.Motion {
	switch {
	case top.Motion != "" && !top.Motion.ByLevel():
		return top.Motion
	case top.Class == review.RotationLag || top.Class == review.Stiffening:
		return rom.ERSide
	}
	return rom.ForwardFlexion
}

func spark(h rom.History, c care, m rom.Motion) string {
	var points []chart.Point
	for _, e := range h.Readings {
		r := e.Body
		if r.Episode == c.Episode.ID && r.Motion == m && r.Side == c.Episode.Side && r.Class == rom.Passive && !r.Anaesthetic && !r.Baseline && r.Method != rom.Eye {
			points = append(points, chart.Point{Day: readOn(e), Value: r.Angle, SE: r.SE})
		}
	}
	if len(points) < 2 {
		return ""
	}
	s := chart.Spark{Motion: m, Points: points, Words: chartWords(name(motionNames, m))}
	if l := c.Day.Motion(m); !l.Locked && !l.Limit.Open {
		s.Limit = l.Limit.Ceiling
	}
	return s.SVG()
}

// readOn is the civil date of a reading.
func readOn(e rom.Entry[rom.Reading]) rom.Date {
	if !e.Body.On.IsZero() {
		return e.Body.On
	}
	return e.Day()
}

// staffNames maps ids to names.
func (v *visit) staffNames() (map[rom.StaffID]string, error) {
	all, err := v.desk.Store.AllStaff()
	if err != nil {
		return nil, err
	}
	names := map[rom.StaffID]string{}
	for _, s := range all {
		names[s.ID] = s.Name
	}
	return names, nil
}
