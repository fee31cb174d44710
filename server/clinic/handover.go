package clinic

import (
	"slices"

	"unsling/engine/review"
	"unsling/engine/rom"
	"unsling/server/ledger"
)

// handOver gives the findings that somebody had who left the clinic to the
// deputy, whom a clinic that watches patients always has.
func (v *visit) handOver(all []review.Finding) ([]review.Finding, error) {
	for i, x := range all {
		if x.Assigned == "" {
			continue
		}
		gone, err := v.gone()
		if err != nil {
			return nil, err
		}
		if slices.Contains(gone, x.Assigned) {
			all[i].Assigned = v.clinic.Deputy
		}
	}
	return all, nil
}

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

// gone are the people who left.
func (v *visit) gone() ([]rom.StaffID, error) {
	if v.leavers != nil {
		return v.leavers, nil
	}
	staff, err := v.desk.Store.AllStaff()
	if err != nil {
		return nil, err
	}
	v.leavers = []rom.StaffID{}
	for _, s := range slices.DeleteFunc(staff, func(s ledger.Staff) bool { return !s.Disabled }) {
		v.leavers = append(v.leavers, s.ID)
	}
	return v.leavers, nil
}
