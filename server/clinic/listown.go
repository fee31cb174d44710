package clinic

import (
	"fmt"
	"strconv"

	"unsling/engine/review"
	"unsling/engine/rom"
	"unsling/server/clinic/cases"
	"unsling/server/ledger"
)

// escalateKey is the setting of the clinic that says after how many clinic
// hours an overdue finding goes to the deputy.
const escalateKey = "escalate_hours"

func escalateHours(c ledger.Clinic) int {
	n, err := strconv.Atoi(c.Settings[escalateKey])
	if err != nil || n < 1 || n > 80 {
		return review.DefaultEscalation
	}
	return n
}

// reach says whom a finding has come to by now, and how late it is in words.
func (v *visit) reach(x review.Finding) (review.Reach, string) {
	r, late := review.Escalate(x, cases.Hours(v.clinic), v.today, v.minute, escalateHours(v.clinic))
	switch {
	case !x.Overdue, late < 60:
		return r, ""
	}
	return r, plural(late/60, "clinic hour", "clinic hours")
}

// mine reports whether this person has to see to a finding: by name, by role
// where nobody is named, as the deputy, or because everybody has.
func (v *visit) mine(x review.Finding, r review.Reach) bool {
	switch {
	case r == review.ToTeam, x.Assigned == v.staff.ID, r == review.ToDeputy && v.clinic.Deputy == v.staff.ID:
		return true
	case x.Assigned != "":
		return false
	}
	return ledger.Role(x.Owner) == v.staff.Role
}

// ownerName is the person or the role that has the finding.
func ownerName(x review.Finding, names map[rom.StaffID]string) string {
	if n := names[x.Assigned]; n != "" {
		return n
	}
	return name(roleNames, ledger.Role(x.Owner))
}

// reachText says in a sentence to whom an overdue finding has gone.
func reachText(r review.Reach, deputy string) string {
	switch {
	case r == review.ToTeam:
		return "Nobody has answered it: it is now with everybody of the care team."
	case r == review.ToDeputy && deputy != "":
		return fmt.Sprintf("The owner has not answered it: it is now with the deputy, %s.", deputy)
	case r == review.ToDeputy:
		return "The owner has not answered it, and the clinic has no deputy."
	}
	return ""
}
