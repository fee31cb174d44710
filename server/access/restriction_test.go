package access

import (
	"testing"

	"unsling/engine/rom"
	"unsling/server/ledger"
)

// While processing is restricted: looking and what makes the patient safer go
// on, everything else is refused; who began it neither lifts it nor hands the
// data out, another clinician does both (GDPR article 18 with recital 67; two
// people: this project's choice).
func TestRestriction(t *testing.T) {
	goesOn := map[Act]bool{ViewPatient: true, NarrowPlan: true, PausePlan: true, StopPlan: true, RecordCall: true, RevokePhone: true}
	asked := 0
	for _, act := range Acts() {
		for _, role := range roleOf {
			actor := Actor{Staff: "me", Role: role, At: noon, Checked: noon}
			open := inTeam("me")
			if !Decide(actor, act, open).Allowed {
				continue
			}
			asked++
			clinician := role == ledger.Surgeon || role == ledger.Therapist
			for _, by := range []rom.StaffID{"other", "me"} {
				res := open
				res.RestrictedBy = by
				want := goesOn[act] || !table[act].patient || (act == LiftRestriction || act == ExportPatient) && by == "other" && clinician
				if d := Decide(actor, act, res); d.Allowed != want {
					t.Errorf("%s by %s, restricted by %s: %+v, want %v", act, role, by, d, want)
				}
			}
		}
	}
	if asked < len(Acts()) {
		t.Errorf("only %d questions were asked", asked)
	}
	stale := Actor{Staff: "me", Role: ledger.Surgeon, At: noon, Checked: noon.Add(-2 * FreshFor)}
	res := inTeam("me")
	res.RestrictedBy = "other"
	for _, act := range []Act{LiftRestriction, ExportPatient} {
		if d := Decide(stale, act, res); d.Allowed || !d.Again {
			t.Errorf("%s without a fresh proof: %+v", act, d)
		}
	}
}
