package clinic

import (
	"fmt"
	"net/http"
	"slices"
	"strings"
	"time"

	"unsling/server/ledger"
)

type accessPage struct {
	Base    string
	Rows    []accessRow
	From    string
	To      string
	Cut     bool
	Printed string
	Number  string
}

// accessRow is one person on one day.
type accessRow struct {
	Day     string
	Who     string
	Role    string
	Times   string // when, first and last
	Count   int
	Acts    string
	Reason  string // of emergency access
	Outside bool   // not in the care team then
}

// accessYears bounds a report that names no beginning.
const accessYears = 1

// accessReport is the patient's own: who opened the record, when, and why. It
// can be printed and handed over.
func (d *Desk) accessReport(v *visit) error {
	p := accessPage{Base: "/clinic/patients/" + string(v.patient.ID), Printed: v.at.Format("2 Jan 2006 15:04"), Number: v.patient.Number}
	from := v.at.AddDate(-accessYears, 0, 0)
	if text := v.r.URL.Query().Get("from"); text != "" {
		day, err := time.ParseInLocation(time.DateOnly, text, v.zone)
		if err != nil {
			return refuse(http.StatusUnprocessableEntity, fmt.Sprintf("%q is not a date. Write it as 2026-01-31.", text))
		}
		from = day
	}
	p.From, p.To = from.Format("2 Jan 2006"), v.at.Format("2 Jan 2006")
	end, err := d.auditEnd()
	if err != nil {
		return err
	}
	seq, err := d.auditSince(from, end)
	if err != nil {
		return err
	}
	all, err := d.Store.AllStaff()
	if err != nil {
		return err
	}
	staff := map[string]ledger.Staff{}
	for _, s := range all {
		staff[string(s.ID)] = s
	}
	type key struct{ day, who string }
	rows := map[key]*accessRow{}
	var order []key
	acts := map[key][]string{}
	first := map[key]string{}
	for seq <= end {
		chunk, err := d.Store.Audit(seq, auditChunk)
		if err != nil {
			return err
		}
		if len(chunk) == 0 {
			break
		}
		for _, e := range chunk {
			seq = e.Seq + 1
			if e.Patient != string(v.patient.ID) {
				continue
			}
			s, known := staff[e.Actor]
			if !known {
				continue // the patient's own phones, and the server's upkeep
			}
			at := e.At.In(v.zone)
			k := key{at.Format("2006-01-02"), e.Actor}
			row := rows[k]
			if row == nil {
				row = &accessRow{Day: at.Format("Mon 2 Jan 2006"), Who: s.Name, Role: name(roleNames, s.Role)}
				rows[k] = row
				order = append(order, k)
				first[k] = at.Format("15:04")
			}
			row.Count++
			row.Times = first[k]
			if last := at.Format("15:04"); last != first[k] {
				row.Times += " to " + last
			}
			if words := auditWords(e.Act); !slices.Contains(acts[k], words) {
				acts[k] = append(acts[k], words)
			}
			if e.Reason != "" && row.Reason == "" && !strings.HasPrefix(e.Act, "erasure.") && e.Act != "patient.erase" {
				row.Reason, row.Outside = e.Reason, true
			}
		}
	}
	for _, k := range slices.Backward(order) {
		rows[k].Acts = strings.Join(acts[k], ", ")
		p.Rows = append(p.Rows, *rows[k])
	}
	return v.show("access", "Who opened this record", "", p)
}

// auditSince finds the first entry at or after an instant; the log is written
// in order of time, but for clocks that were set.
func (d *Desk) auditSince(at time.Time, end int64) (int64, error) {
	low, high := int64(1), end+1
	for low < high {
		mid := low + (high-low)/2
		page, err := d.Store.Audit(mid, 1)
		if err != nil {
			return 0, err
		}
		if len(page) == 0 || !page[0].At.Before(at) {
			high = mid
		} else {
			low = mid + 1
		}
	}
	return low, nil
}
