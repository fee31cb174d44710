package clinic

import (
	"errors"
	"net/http"

	"unsling/engine/rom"
	"unsling/server/access"
	"unsling/server/ledger"
)

// phoneAct confirms or revokes one of the patient's phones.
func (d *Desk) phoneAct(v *visit) error {
	id := rom.Author(v.form("author"))
	a, err := d.Store.Author(id)
	if err != nil && !errors.Is(err, ledger.ErrUnknown) {
		return err
	}
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
	if errors.Is(err, ledger.ErrState) {
		return refuse(http.StatusConflict, "The phone is not in the state for this any more. Look at the patient's page again.")
	} else if err != nil {
		return err
	}
	to := "/clinic/patients/" + string(v.patient.ID)
	if v.form("from") == "phones" {
		to += "/phones"
	}
	return v.back(to, "phone")
}
