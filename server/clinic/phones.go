package clinic

import (
	"net/http"

	"unsling/engine/rom"
	"unsling/server/access"
	"unsling/server/ledger"
)

// phonesPage lists the phones of a patient: who may send, since when, what came late, and how to give a further one, another
// one, or end one.
type phonesPage struct {
	Base   string
	Phones []phoneRow
	Live   []phoneRow // those that a new one could take the place of
	Ask    string     // the kind of invitation for which beside or instead is still open, "" for none
	Number string     // the clinic's number
	// Confirm says that staff compare numbers before a phone is let in.
	Confirm bool
}

type phoneRow struct {
	phoneView
	Number       int // on this page
	Since, Ended string
	Sealed       int // records that came after its end and wait
}

func (d *Desk) phonesPage(v *visit) error {
	return v.phonesShow(http.StatusOK, v.r.URL.Query().Get("ask"), "")
}

func (v *visit) phonesShow(status int, ask, problem string) error {
	f, err := v.file()
	if err != nil {
		return err
	}
	p := phonesPage{Base: "/clinic/patients/" + string(v.patient.ID), Number: v.clinic.Phone, Confirm: v.clinic.Confirm}
	if ask == string(ledger.AtDesk) || ask == string(ledger.TakeHome) {
		p.Ask = ask
	}
	for i, a := range v.phoneViews(f) {
		row := phoneRow{phoneView: a, Number: i + 1, Since: a.Enrolled.In(v.zone).Format("Mon 2 Jan 2006 15:04")}
		if a.State == ledger.Revoked {
			row.Ended = a.Revoked.In(v.zone).Format("Mon 2 Jan 2006 15:04")
			lines, err := v.desk.Store.Sealed(a.ID)
			if err != nil {
				return err
			}
			row.Sealed = len(lines)
		} else {
			p.Live = append(p.Live, row)
		}
		p.Phones = append(p.Phones, row)
	}
	return v.showWith(status, "phones", frame{Title: "Phones", Error: problem, Page: p})
}

// invite makes a further invitation: at the desk or to take home. Where the patient has a phone already, the person must have
// said whether the new one comes beside it or in its place.
func (d *Desk) invite(v *visit) error {
	kind := ledger.AtDesk
	if v.form("kind") == string(ledger.TakeHome) {
		kind = ledger.TakeHome
	}
	phones, err := d.Store.Authors(v.patient.ID)
	if err != nil {
		return err
	}
	var live []rom.Author
	for _, a := range phones {
		if a.State != ledger.Revoked {
			live = append(live, a.ID)
		}
	}
	var replaces []rom.Author
	switch way := v.form("way"); {
	case len(live) == 0 || way == "beside":
	case way == "all":
		replaces = live
	case way == "":
		return v.phonesShow(http.StatusUnprocessableEntity, string(kind), "This patient has a phone. Please say whether the new one comes beside it or in its place.")
	default:
		for _, id := range live {
			if string(id) == way {
				replaces = []rom.Author{id}
			}
		}
		if replaces == nil {
			return v.phonesShow(http.StatusUnprocessableEntity, string(kind), "The phone that you chose has no access any more. Please choose again.")
		}
	}
	if len(replaces) > 0 {
		if err := v.may(access.RevokePhone); err != nil {
			return err
		}
	}
	return v.toSheet(kind, "invited", replaces...)
}
