package clinic

import (
	"errors"
	"slices"

	"unsling/server/clinic/cases"
	"unsling/server/ledger"
)

// What the pages call a patient who was judged, and one episode.
type (
	file = cases.Case
	care = cases.Care
)

// source is where the desk's judgements come from.
func (d *Desk) source() cases.Source { return cases.Source{Store: d.Store, History: d.History} }

// AsOfNow judges as of this minute at the clinic: for what runs beside the pages, and for the commands.
func (d *Desk) AsOfNow() (cases.AsOf, error) {
	c, err := d.Store.Clinic()
	return d.source().AsOf(c, d.Now()), err
}

// file opens the patient of this visit and judges it anew.
func (v *visit) file() (file, error) { return v.asOf.Of(v.patient) }

// panelBriefs judges a panel, what is new of it on all processors. The result
// has the order of the panel.
func (d *Desk) panelBriefs(a cases.AsOf, panel []ledger.PanelRow) ([][]brief, error) {
	out := make([][]brief, len(panel))
	var stale []int
	for i := range panel {
		had, ok := d.judged.Get(a, panel[i])
		if !ok {
			stale = append(stale, i)
		}
		out[i] = had
	}
	err := inParallel(len(stale), func(n int) (err error) {
		i := stale[n]
		out[i], err = d.judgeBriefs(a, panel[i])
		return err
	})
	if err != nil {
		return nil, err
	}
	return out, nil
}

// judgeBriefs judges one patient and keeps what the list shows. Who was erased
// since the list was read shows nothing.
func (d *Desk) judgeBriefs(a cases.AsOf, row ledger.PanelRow) ([]brief, error) {
	f, err := a.Row(row)
	if errors.Is(err, ledger.ErrErased) {
		return nil, nil
	} else if err != nil {
		return nil, err
	}
	span := cases.Span{From: a.Minute, Until: 24 * 60, Always: !slices.ContainsFunc(f.Episodes, care.Live)}
	// The minutes of the day at which something falls due: the clinic's own,
	// and those of the findings.
	hours := cases.Hours(a.Clinic).Week[a.Today.Weekday()]
	edges := []int{hours.From, hours.To}
	var briefs []brief
	for _, c := range f.Episodes {
		briefs = append(briefs, briefOf(f, c))
		for _, x := range c.Findings {
			if x.By.On == a.Today {
				edges = append(edges, x.By.Minute)
			}
		}
	}
	for _, at := range edges {
		if at > a.Minute {
			span.Until = min(span.Until, at)
		}
	}
	d.judged.Put(a, row, briefs, span)
	return briefs, nil
}
