package clinic

import (
	"net/http"

	"unsling/engine/rom"
	"unsling/server/access"
)

// phoneAct confirms, revokes or releases one of the patient's phones.
func (d *Desk) phoneAct(v *visit) error {
	id := rom.Author(v.form("author"))
	a, err := d.Store.Author(id)
	if err != nil || a.Patient != v.patient.ID {
		return refuse(http.StatusNotFound, "This phone does not belong to this patient.")
	}
	switch v.form("act") {
	case "confirm":
		if err := v.may(access.ConfirmPhone); err != nil {
			return err
		}
		err = d.Store.ConfirmAuthor(id, v.trail())
	case "revoke":
		if err := v.may(access.RevokePhone); err != nil {
			return err
		}
		err = d.Store.RevokeAuthor(id, v.trail())
	default:
		return refuse(http.StatusUnprocessableEntity, "Please choose what to do with this phone.")
	}
	if err != nil {
		return err
	}
	return v.back("/clinic/patients/"+string(v.patient.ID), "phone")
}
