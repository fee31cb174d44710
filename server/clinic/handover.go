package clinic

import (
	"slices"

	"unsling/engine/rom"
	"unsling/server/ledger"
)

// deputyOutside reports whether the deputy, to whom findings are handed on,
// cannot open a patient: a care team from before, or before this deputy.
func (v *visit) deputyOutside(p rom.PatientID) (bool, error) {
	if v.clinic.Deputy == "" {
		return false, nil
	}
	team, err := v.desk.Store.Team(p)
	if err != nil {
		return false, err
	}
	return !slices.ContainsFunc(team, func(m ledger.Member) bool { return m.Staff == v.clinic.Deputy }), nil
}
