package clinic

import (
	"errors"
	"fmt"
	"net/http"
	"slices"

	"unsling/engine/rom"
	"unsling/server/ledger"
)

// stillIn counts the patients in whose care team a person is.
func (d *Desk) stillIn(id rom.StaffID) (int, error) {
	panel, err := d.Store.Heads(id)
	return len(panel), err
}

// disable lets somebody go: sessions end at once, and whoever takes over
// comes into every care team, where what was the leaver's is the deputy's. A
// handover that broke off is gone on with by the same form: the leaver is
// still in the teams that are left, and the page of staff counts them.
func (d *Desk) disable(v *visit) error {
	id, to := rom.StaffID(v.form("staff")), rom.StaffID(v.form("to"))
	who, err := d.Store.Staff(id)
	if errors.Is(err, ledger.ErrUnknown) {
		return refuse(http.StatusConflict, "This person is not in the state for this any more.")
	} else if err != nil {
		return err
	}
	panel, err := d.Store.Heads(id)
	if err != nil {
		return err
	}
	switch {
	case who.Disabled && len(panel) == 0:
		return refuse(http.StatusConflict, "This person is not in the state for this any more.")
	case id == v.staff.ID:
		return refuse(http.StatusForbidden, "You cannot end your own access. Another administrator does.")
	case id == v.clinic.Deputy:
		return refuse(http.StatusConflict, "This person is the clinic's deputy. Choose another deputy on the page “Clinic” first.")
	}
	var taker ledger.Staff
	if len(panel) > 0 {
		if taker, err = d.taker(who, to, panel); err != nil {
			return err
		}
	}
	// First the sign-in, so that nothing more is done; then the patients.
	if !who.Disabled {
		if _, err := d.Store.ChangeStaff(id, "staff.disable", v.trail(), func(s *ledger.Staff) error { s.Disabled, s.Invited = true, nil; return nil }); err != nil {
			return err
		}
		d.judged.Forget()
	}
	return v.handOverPatients(panel, who, taker)
}

// taker is who takes over a panel: somebody who can, a surgeon where a patient
// would have none.
func (d *Desk) taker(who ledger.Staff, to rom.StaffID, panel []ledger.PanelRow) (ledger.Staff, error) {
	const choose = "Please choose who takes over this person's patients."
	taker, err := d.Store.Staff(to)
	if to == "" || errors.Is(err, ledger.ErrUnknown) {
		return taker, refuse(http.StatusUnprocessableEntity, choose)
	} else if err != nil {
		return taker, err
	}
	if taker.Disabled || taker.ID == who.ID || taker.Role == ledger.Administrator {
		return taker, refuse(http.StatusUnprocessableEntity, choose)
	}
	if who.Role == ledger.Surgeon && taker.Role != ledger.Surgeon {
		if bare, err := d.leavesNoSurgeon(panel, who.ID); err != nil {
			return taker, err
		} else if bare {
			return taker, refuse(http.StatusConflict, "Some of this surgeon's patients would have no surgeon in their care team. Choose a surgeon to take over.")
		}
	}
	return taker, nil
}

// handOverPatients changes one care team after the other. One that fails stops
// none of the others; how many are left is said.
func (v *visit) handOverPatients(panel []ledger.PanelRow, who, taker ledger.Staff) error {
	var failed error
	left := 0
	for _, row := range panel {
		err := v.desk.Store.SetTeam(row.Patient.ID, []rom.StaffID{taker.ID}, []rom.StaffID{who.ID}, v.trail())
		if err != nil && !errors.Is(err, ledger.ErrUnknown) { // unknown: erased since the list was read
			left, failed = left+1, err
		}
	}
	if left == 0 {
		return nil
	}
	v.desk.Log.Error("handover broke off", "left", left, "of", len(panel), "error", failed.Error())
	return refuse(http.StatusInternalServerError, fmt.Sprintf("%s can no longer sign in. %d of %s went to %s, %d did not. Please go on with the handover below.",
		who.Name, len(panel)-left, plural(len(panel), "patient", "patients"), taker.Name, left))
}

// leavesNoSurgeon reports whether a patient of the panel has no surgeon who can
// act besides the leaver.
func (d *Desk) leavesNoSurgeon(panel []ledger.PanelRow, leaver rom.StaffID) (bool, error) {
	all, err := d.Store.AllStaff()
	if err != nil {
		return false, err
	}
	for _, row := range panel {
		team, err := d.Store.Team(row.Patient.ID)
		if errors.Is(err, ledger.ErrUnknown) {
			continue // erased since the list was read
		} else if err != nil {
			return false, err
		}
		if !slices.ContainsFunc(team, func(m ledger.Member) bool {
			return m.Staff != leaver && slices.ContainsFunc(all, func(s ledger.Staff) bool { return s.ID == m.Staff && s.Role == ledger.Surgeon && !s.Disabled })
		}) {
			return true, nil
		}
	}
	return false, nil
}
