package clinic

import (
	"errors"
	"net/http"
	"slices"

	"unsling/engine/rom"
	"unsling/server/ledger"
)

type teamPage struct {
	Base    string
	Members []memberRow
	Others  []ledger.Staff
}

// memberRow is one place in the care team: who, since when, and who gave it.
type memberRow struct {
	ledger.Staff
	Since string
	By    string
}

// teamPage shows who looks after the patient, and so who may open this page.
func (d *Desk) teamPage(v *visit) error {
	all, err := d.Store.AllStaff()
	if err != nil {
		return err
	}
	names, err := v.staffNames()
	if err != nil {
		return err
	}
	p := teamPage{Base: "/clinic/patients/" + string(v.patient.ID)}
	for _, s := range all {
		i := slices.IndexFunc(v.team, func(m ledger.Member) bool { return m.Staff == s.ID })
		switch {
		case i >= 0:
			m := v.team[i]
			p.Members = append(p.Members, memberRow{s, m.Since.In(v.zone).Format("2 Jan 2006"), names[m.By]})
		case !s.Disabled && s.Role != ledger.Administrator:
			p.Others = append(p.Others, s)
		}
	}
	return v.show("team", "Care team of "+v.patient.Name, "", p)
}

func (d *Desk) teamAct(v *visit) error {
	who := rom.StaffID(v.form("staff"))
	s, err := d.Store.Staff(who)
	if err != nil && !errors.Is(err, ledger.ErrUnknown) {
		return err
	} else if err != nil {
		return refuse(http.StatusUnprocessableEntity, "There is no such person at the clinic.")
	}
	var add, remove []rom.StaffID
	switch v.form("act") {
	case "add":
		if s.Role == ledger.Administrator || s.Disabled {
			return refuse(http.StatusUnprocessableEntity, "This person cannot be in a care team.")
		}
		add = []rom.StaffID{who}
	case "remove":
		// A care team without a surgeon has nobody who can clear or resume.
		if s.Role == ledger.Surgeon && !v.otherSurgeon(who) {
			return refuse(http.StatusConflict, "A surgeon must stay in the care team. Add another one first.")
		}
		remove = []rom.StaffID{who}
	default:
		return refuse(http.StatusUnprocessableEntity, "Please choose whether to add or remove.")
	}
	err = d.Store.SetTeam(v.patient.ID, add, remove, v.trail())
	if errors.Is(err, ledger.ErrState) {
		return refuse(http.StatusConflict, "Somebody must stay in the care team. Add another person first.")
	} else if err != nil {
		return err
	}
	if who == v.staff.ID && len(remove) > 0 {
		return v.back("/clinic/", "team")
	}
	return v.back("/clinic/patients/"+string(v.patient.ID)+"/team", "team")
}

// otherSurgeon reports whether the team has a surgeon besides who.
func (v *visit) otherSurgeon(who rom.StaffID) bool {
	team, err := v.teamRows()
	return err == nil && slices.ContainsFunc(team, func(s ledger.Staff) bool { return s.Role == ledger.Surgeon && s.ID != who })
}
