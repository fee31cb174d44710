package clinic

import "unsling/server/ledger"

// carers are those among whom a new patient's surgeon and therapist are
// chosen: who still works here, in the order of the store.
type carers struct {
	Surgeons   []ledger.Staff
	Therapists []ledger.Staff
}

func (v *visit) carers() (c carers, err error) {
	all, err := v.desk.Store.AllStaff()
	if err != nil {
		return carers{}, err
	}
	for _, s := range all {
		switch {
		case s.Disabled:
		case s.Role == ledger.Surgeon:
			c.Surgeons = append(c.Surgeons, s)
		case s.Role == ledger.Therapist:
			c.Therapists = append(c.Therapists, s)
		}
	}
	return c, nil
}

// likelyCarers is what an empty form suggests: whoever fills it in, and the
// one of the other role where there is only one; "" where it is open.
func (v *visit) likelyCarers() (surgeon, therapist string, err error) {
	c, err := v.carers()
	if err != nil {
		return "", "", err
	}
	surgeon, therapist = onlyOne(c.Surgeons), onlyOne(c.Therapists)
	switch v.staff.Role {
	case ledger.Surgeon:
		surgeon = string(v.staff.ID)
	case ledger.Therapist:
		therapist = string(v.staff.ID)
	}
	return surgeon, therapist, nil
}

func onlyOne(all []ledger.Staff) string {
	if len(all) != 1 {
		return ""
	}
	return string(all[0].ID)
}
