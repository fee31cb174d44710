package clinic

import (
	"errors"
	"net/http"
	"strconv"

	"unsling/server/access"
	"unsling/server/ledger"
)

type handOutPage struct {
	Base       string
	Restricted *ledger.Restriction
	By         string // name of who restricted it
	Records    int
}

// handOutPage shows what may be handed out, and whether processing is
// restricted.
func (d *Desk) handOutPage(v *visit) error { return v.handOut(http.StatusOK, "") }

func (v *visit) handOut(status int, problem string) error {
	facts, err := v.desk.Store.Facts(v.patient.ID)
	if err != nil {
		return err
	}
	names, err := v.staffNames()
	if err != nil {
		return err
	}
	p := handOutPage{Base: "/clinic/patients/" + string(v.patient.ID), Restricted: v.patient.Restricted, By: names[v.patient.RestrictedBy()], Records: int(facts.Seq)}
	return v.showWith(status, "handout", frame{Title: "Hand out or restrict: " + v.patient.Name, Error: problem, Page: p})
}

// export sends the whole record as one file.
func (d *Desk) export(v *visit) error {
	name, data, err := d.Export(v.r.Context(), v.patient.ID, v.actor, v.trail())
	if err != nil {
		return err
	}
	h := v.w.Header()
	h.Set("Content-Type", "application/zip")
	h.Set("Content-Disposition", `attachment; filename="`+exportName(name)+`"`)
	h.Set("Content-Length", strconv.Itoa(len(data)))
	_, _ = v.w.Write(data)
	return nil
}

// restriction begins a restriction of processing, or lifts it.
func (d *Desk) restriction(v *visit) error {
	reason := v.form("reason")
	if len([]rune(reason)) < 10 {
		return v.handOut(http.StatusUnprocessableEntity, "Please say why in a sentence. It is kept in the audit log.")
	}
	trail := v.trail()
	trail.Reason = reason
	var err error
	switch v.form("act") {
	case "begin":
		if err := v.may(access.Restrict); err != nil {
			return err
		}
		err = d.Store.Restrict(v.patient.ID, ledger.Restriction{By: v.staff.ID, Reason: reason}, trail)
	case "lift":
		if v.form("told") != "yes" {
			return v.handOut(http.StatusUnprocessableEntity, "Please tell the patient first, and tick that you have.")
		}
		if err := v.may(access.LiftRestriction); err != nil {
			return err
		}
		err = d.Store.Lift(v.patient.ID, v.staff.ID, trail)
	default:
		return v.handOut(http.StatusUnprocessableEntity, "Please choose what to do.")
	}
	if errors.Is(err, ledger.ErrState) {
		return v.handOut(http.StatusConflict, "Somebody else changed this in the meantime. Please look at it as it is now.")
	} else if err != nil {
		return err
	}
	return v.back("/clinic/patients/"+string(v.patient.ID)+"/handout", "restriction")
}
