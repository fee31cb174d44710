package clinic

import (
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"time"

	"unsling/engine/protocol"
	"unsling/engine/rom"
	"unsling/server/access"
	"unsling/server/clinic/planning"
	"unsling/server/ledger"
)

type versionsPage struct {
	ID, Title string
	Rows      []versionRow // the newest first
	From, To  int
	Changes   []string
	Compared  bool
	People    []onVersion
	Others    int // patients of one's own whose plan rests on other protocols
}

// versionRow is one adoption of a protocol.
type versionRow struct {
	ledger.Adoption
	Who    string
	At     time.Time
	Ref    rom.ProtocolRef
	Weak   int // values marked memory
	People int
}

// onVersion is a patient in the person's own care whose plan rests on a
// version, or on one of this protocol that is not adopted any more.
type onVersion struct {
	ID      rom.PatientID
	Name    string
	Episode rom.EpisodeID
	Side    rom.Side
	Ref     rom.ProtocolRef
	Old     bool // a newer protocol of the procedure is adopted
}

// versionsPage shows the versions of a protocol that were adopted, in what two
// of them differ, and who is on which.
func (d *Desk) versionsPage(v *visit) error {
	if err := v.may(access.SeeProtocols); err != nil {
		return err
	}
	id := v.r.PathValue("protocol")
	rows, err := v.desk.Store.Adoptions()
	if err != nil {
		return err
	}
	names, err := v.staffNames()
	if err != nil {
		return err
	}
	p := versionsPage{ID: id}
	read1 := map[int]protocol.Protocol{}
	for _, row := range rows {
		if row.Name != id {
			continue
		}
		pr, err := planning.Read(row)
		if err != nil {
			return err
		}
		read1[row.Version] = pr
		p.Title = name(procedureNames, pr.Procedure)
		p.Rows = append(p.Rows, versionRow{Adoption: row, Who: names[row.By], At: row.At.In(v.zone), Ref: pr.Ref(), Weak: fromMemory(pr)})
	}
	if len(p.Rows) == 0 {
		pr, ok := protocol.ByID(id)
		if !ok {
			return errNotFound
		}
		p.Title = name(procedureNames, pr.Procedure)
	}
	slices.Reverse(p.Rows)
	if err := v.peopleOn(&p); err != nil {
		return err
	}
	if len(p.Rows) > 1 {
		p.From, p.To = p.Rows[1].Version, p.Rows[0].Version
		q := v.r.URL.Query()
		if n, err := strconv.Atoi(q.Get("from")); err == nil && read1[n].ID != "" {
			p.From = n
		}
		if n, err := strconv.Atoi(q.Get("to")); err == nil && read1[n].ID != "" {
			p.To = n
		}
		p.Compared, p.Changes = true, protocolChanges(read1[p.From], read1[p.To])
	}
	return v.showWith(http.StatusOK, "versions", frame{Title: "Versions of " + p.Title, Here: "protocols", Page: p})
}

// peopleOn finds who of the person's own patients is on which version.
func (v *visit) peopleOn(p *versionsPage) error {
	adopted, err := v.adopted()
	if err != nil {
		return err
	}
	panel, err := v.desk.Store.Panel(v.staff.ID)
	if err != nil {
		return err
	}
	for _, row := range panel {
		h, err := v.desk.History(row.Facts.Data)
		if err != nil {
			return err
		}
		for _, id := range h.EpisodeIDs() {
			e, _ := h.Episode(id)
			plan, ok := h.Plan(id)
			if !ok || e.State.Ended() {
				continue
			}
			for _, ref := range plan.Protocol {
				if ref.ID != p.ID {
					p.Others++
					continue
				}
				p.People = append(p.People, onVersion{row.Patient.ID, row.Patient.Name, id, e.Side, ref, adopted.Behind(plan, e)})
				for i := range p.Rows {
					if p.Rows[i].Ref == ref {
						p.Rows[i].People++
						break // an older adoption of the same text
					}
				}
			}
		}
	}
	slices.SortFunc(p.People, func(a, b onVersion) int {
		if a.Ref.Version != b.Ref.Version {
			return a.Ref.Version - b.Ref.Version
		}
		return slices.Compare([]byte(a.Name), []byte(b.Name))
	})
	return nil
}

func fromMemory(p protocol.Protocol) (n int) {
	for _, s := range p.Sources() {
		if s.Mark == rom.Memory {
			n++
		}
	}
	return n
}

// protocolChanges says in what two versions differ, in the words of the trade:
// first the values, then the sources that stand behind them.
func protocolChanges(from, to protocol.Protocol) (out []string) {
	for _, x := range planning.AsPlan(from).Diff(planning.AsPlan(to)) {
		out = append(out, changeText(x))
	}
	for _, ph := range to.Phases {
		i := slices.IndexFunc(from.Phases, func(o protocol.Phase) bool { return o.Key == ph.Key })
		if i < 0 {
			continue
		}
		was := from.Phases[i]
		for _, l := range ph.Limits {
			if o := was.Limit(l.Motion); o.Class != rom.Locked && o.From != l.From {
				out = append(out, fmt.Sprintf("%s, %s, source: %s → %s", ph.Key, name(motionNames, l.Motion), o.From, l.From))
			}
		}
	}
	for _, q := range to.Questions {
		if !slices.ContainsFunc(from.Questions, func(o protocol.Question) bool { return o.Key == q.Key }) {
			out = append(out, "asked at the operation: "+name(questionNames, q.Key))
		}
	}
	for _, q := range from.Questions {
		if !slices.ContainsFunc(to.Questions, func(o protocol.Question) bool { return o.Key == q.Key }) {
			out = append(out, "not asked any more: "+name(questionNames, q.Key))
		}
	}
	return out
}
