package clinic

import (
	"net/http"
	"strings"

	"unsling/app/chart"
	"unsling/engine/review"
	"unsling/engine/rom"
	"unsling/server/access"
	"unsling/server/ledger"
)

// listRow is one episode on the watch list.
type listRow struct {
	File     file
	Care     care
	Top      review.Finding // the finding that put it there
	HasTop   bool
	More     int // further open findings
	Place    int
	Reasons  []string
	Contact  int // days since last contact, -1 for never
	Spark    string
	SparkOf  rom.Motion
	Owner    string
	NotThere bool
}

// section is one block of the watch list.
type section struct {
	Key, Title, Empty string
	Rows              []listRow
}

type listPage struct {
	Sections []section
	Total    int
	Find     string
	Ready    bool // the clinic has set what monitoring needs
}

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
	find := strings.ToLower(trim(v.r.URL.Query().Get("find")))
	rows := map[rom.EpisodeID]listRow{}
	var toRank []review.Row
	for _, p := range panel {
		f, err := v.open(p)
		if err != nil {
			return err
		}
		for _, c := range f.Episodes {
			if !c.Live() && find == "" {
				continue
			}
			if find != "" && !strings.Contains(strings.ToLower(f.Patient.Name+" "+f.Patient.Number), find) {
				continue
			}
			rows[c.Episode.ID] = v.listRow(f, c, names)
			toRank = append(toRank, review.Row{Patient: f.Patient.ID, Episode: c.Episode.ID, Findings: c.Findings})
		}
	}
	sections := []section{
		{Key: "urgent", Title: "Today", Empty: "Nobody has to be called today."},
		{Key: "call", Title: "Within two working days", Empty: "No calls are waiting."},
		{Key: "watch", Title: "Watch", Empty: "Nothing to watch."},
		{Key: "quiet", Title: "No open findings", Empty: "No other patients."},
	}
	for _, r := range review.Rank(toRank) {
		row := rows[r.Episode]
		row.Place, row.Reasons = r.Place, r.Reasons
		i := 3
		if row.HasTop {
			switch row.Top.Severity {
			case review.Urgent:
				i = 0
			case review.Call:
				i = 1
			default:
				i = 2
			}
		}
		sections[i].Rows = append(sections[i].Rows, row)
	}
	return v.show("list", "Watch list", "list", listPage{Sections: sections, Total: len(toRank), Find: find, Ready: v.clinic.Monitoring()})
}

func (v *visit) listRow(f file, c care, names map[rom.StaffID]string) listRow {
	row := listRow{File: f, Care: c, Contact: -1}
	if !f.Contact.IsZero() {
		row.Contact = v.today.Sub(f.Contact)
	}
	for _, x := range c.Findings {
		if x.Quiet {
			continue
		}
		if !row.HasTop {
			row.Top, row.HasTop = x, true
		} else {
			row.More++
		}
	}
	if row.HasTop {
		row.Owner = string(row.Top.Owner)
		if n := names[row.Top.Assigned]; n != "" {
			row.Owner = n
		}
	}
	row.SparkOf = sparkMotion(c, row.Top)
	row.Spark = spark(f.History, c, row.SparkOf)
	return row
}

// sparkMotion is the motion a small picture shows: that of the finding, else
// flexion.
func sparkMotion(c care, top review.Finding) rom.Motion {
	if top.Motion != "" && !top.Motion.ByLevel() {
		return top.Motion
	}
	return rom.ForwardFlexion
}

func spark(h rom.History, c care, m rom.Motion) string {
	var points []chart.Point
	for _, e := range h.Readings {
		r := e.Body
		if r.Episode == c.Episode.ID && r.Motion == m && r.Side == c.Episode.Side && r.Class == rom.Passive && !r.Anaesthetic && !r.Baseline {
			points = append(points, chart.Point{Day: readOn(e), Value: r.Angle, SE: r.SE})
		}
	}
	if len(points) == 0 {
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
