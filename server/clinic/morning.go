package clinic

import (
	"net/http"

	"unsling/engine/rom"
	"unsling/server/access"
)

type morningPage struct {
	Sections []section
	Total    int
	Filter   filter
	Said     []string // the filter in words
	Today    rom.Date
	Minute   int
	Back     string
	Deputy   string
}

// morningMost bounds the sheet: longer lists are worked on the screen.
const morningMost = 300

// morning is the list for paper: who has to be seen to, with room to write.
// It takes the filter of the watch list and leaves out who needs nobody.
func (d *Desk) morning(v *visit) error {
	if err := v.may(access.SeePanel); err != nil {
		return err
	}
	f := readFilter(v.r.URL.Query())
	all, _, err := v.ranked(f.Find)
	if err != nil {
		return err
	}
	rows := f.keep(all)
	names, err := v.staffNames()
	if err != nil {
		return err
	}
	p := morningPage{Filter: f, Today: v.today, Minute: v.minute, Back: "/clinic/?" + f.query(), Sections: sectionsOf(rows)[:3], Deputy: names[v.clinic.Deputy]}
	_, lists := facets(all, f, true)
	for _, c := range lists {
		for _, one := range c.List {
			if one.On {
				p.Said = append(p.Said, one.Name)
			}
		}
	}
	for _, on := range []struct {
		is   bool
		said string
	}{{f.Mine, "mine"}, {f.New, "new"}, {f.Overdue, "overdue"}, {f.Silent, "silent"}, {f.Find != "", f.Find}} {
		if on.is {
			p.Said = append(p.Said, on.said)
		}
	}
	for _, row := range rows[:min(len(rows), morningMost)] {
		if at := placeOf(row); at < len(p.Sections) {
			p.Sections[at].Rows = append(p.Sections[at].Rows, row)
			p.Total++
		}
	}
	return v.showWith(http.StatusOK, "morning", frame{Title: "Morning sheet", Here: "list", Page: p})
}
