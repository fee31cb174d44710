package access

import (
	"strings"
	"testing"
	"time"

	"unsling/engine/rom"
	"unsling/server/ledger"
)

// The whole policy, written a second time by hand so that a slip in the
// table shows. Letters: S surgeon, T therapist, A assistant, M administrator.
// Rules of the trade and of this clinic: common practice, no source.
const policyText = `
patient.view S T A
patient.enrol S T A
patient.edit S T A
patient.export S T
team.set S T
phone.invite S T A
phone.confirm S T A
phone.revoke S T A
phone.release S T
episode.plan S T A
episode.confirm-side S T A
episode.confirm S
episode.correct S T A
episode.correct-confirm S T
episode.discharge S
episode.withdraw S T
plan.write S T
plan.change S T
plan.pass-ceiling S
plan.narrow S T
plan.pause S T
plan.stop S T
plan.resume S T
plan.resume-stopped S
plan.clear S
plan.unlock S
reading.add S T
therapy.add S T
note.add S T A
record.amend S T
finding.take S T A
finding.close S T
finding.close-office S T A
call.record S T A
question.answer S T
restriction.begin S T
restriction.lift S T
erasure.ask S T
erasure.confirm S T A
patient.read-by-program S T A
outcomes.see S T
export.all S T
token.issue S T A
fhir.read S T A
panel.see S T A
protocol.draft S T
protocol.adopt S
protocol.see S T A
clinic.set S M
staff.manage M
audit.see M
server.see M
keys.keep M
glass.break S T
account.set S T A M
staff.confirm-reset S T M
`

var roleOf = map[string]ledger.Role{"S": ledger.Surgeon, "T": ledger.Therapist, "A": ledger.Assistant, "M": ledger.Administrator}

func inTeam(who rom.StaffID) Resource {
	return Resource{Patient: "p1", Team: []ledger.Member{{Staff: "other"}, {Staff: who}}, FirstBy: "other"}
}

func TestEveryActForEveryRole(t *testing.T) {
	lines := strings.Split(strings.TrimSpace(policyText), "\n")
	if len(lines) != len(Acts()) {
		t.Errorf("%d acts written here, %d in the table", len(lines), len(Acts()))
	}
	for _, line := range lines {
		word := strings.Fields(line)
		may := map[ledger.Role]bool{}
		for _, letter := range word[1:] {
			may[roleOf[letter]] = true
		}
		for _, role := range roleOf {
			d := Decide(Actor{Staff: "me", Role: role, At: noon, Checked: noon}, Act(word[0]), inTeam("me"))
			if d.Allowed != may[role] || d.Allowed != (d.Refusal == "") {
				t.Errorf("%s by %s: %+v", word[0], role, d)
			}
		}
		for _, role := range []ledger.Role{"", "patient", "Surgeon"} {
			if d := Decide(Actor{Staff: "me", Role: role, At: noon, Checked: noon}, Act(word[0]), inTeam("me")); d.Allowed {
				t.Errorf("%s by role %q allowed", word[0], role)
			}
		}
		if d := Decide(Actor{Role: ledger.Surgeon, At: noon, Checked: noon}, Act(word[0]), inTeam("")); d.Allowed {
			t.Errorf("%s by nobody allowed", word[0])
		}
	}
}

func TestCareTeamIsAskedOnEveryPatientAct(t *testing.T) {
	asked := 0
	for _, act := range Acts() {
		for _, role := range roleOf {
			actor := Actor{Staff: "me", Role: role, At: noon, Checked: noon}
			if !Decide(actor, act, inTeam("me")).Allowed || !table[act].patient {
				continue
			}
			asked++
			stranger := Decide(actor, act, inTeam("somebody"))
			if stranger.Allowed || !stranger.Hide {
				t.Errorf("%s by %s outside the team: %+v", act, role, stranger)
			}
			if d := Decide(actor, act, Resource{}); d.Allowed {
				t.Errorf("%s without a patient: %+v", act, d)
			}
		}
	}
	if asked < 60 {
		t.Errorf("only %d pairs were asked", asked)
	}
	if d := Decide(Actor{Staff: "me", Role: ledger.Surgeon}, "plan.erase", inTeam("me")); d.Refusal != NotAnAct {
		t.Errorf("an act outside the table: %+v", d)
	}
}

func TestSecondPerson(t *testing.T) {
	me := Actor{Staff: "me", Role: ledger.Surgeon, At: noon, Checked: noon}
	for _, act := range []Act{ConfirmSide, ConfirmCorrection} {
		res := inTeam("me")
		if d := Decide(me, act, res); !d.Allowed {
			t.Errorf("%s by the second person: %+v", act, d)
		}
		res.FirstBy = "me"
		if d := Decide(me, act, res); d.Refusal != SamePerson {
			t.Errorf("%s by the first person: %+v", act, d)
		}
		res.FirstBy = ""
		if d := Decide(me, act, res); d.Refusal != NoFirstHalf {
			t.Errorf("%s before the first half: %+v", act, d)
		}
	}
}

func TestEmergencyAccess(t *testing.T) {
	me := Actor{Staff: "me", Role: ledger.Therapist, At: noon, Checked: noon}
	g, why := NewGlass(me, "p1", "  on call, patient rang  after a fall ")
	if why != "" || !g.Until.Equal(noon.Add(time.Hour)) || g.Reason != "on call, patient rang after a fall" {
		t.Fatalf("%+v %s", g, why)
	}
	me.Glass = []ledger.Glass{g}
	for act, want := range map[Act]bool{ViewPatient: true, StopPlan: true, NarrowPlan: true, AddNote: true, ChangePlan: false, CloseFinding: false, ExportPatient: false} {
		d := Decide(me, act, inTeam("somebody"))
		if d.Allowed != want || d.Allowed && d.Glass == nil {
			t.Errorf("%s with emergency access: %+v", act, d)
		}
	}
	if d := Decide(me, ViewPatient, inTeam("me")); !d.Allowed || d.Glass != nil {
		t.Errorf("in the team the grant is not used: %+v", d)
	}
	later, another := me, inTeam("somebody")
	later.At = g.Until
	another.Patient = "p2"
	stolen := me
	stolen.Staff = "thief"
	for name, d := range map[string]Decision{
		"an hour later":   Decide(later, ViewPatient, inTeam("somebody")),
		"another patient": Decide(me, ViewPatient, another),
		"another person":  Decide(stolen, ViewPatient, inTeam("somebody")),
	} {
		if d.Allowed {
			t.Errorf("%s: %+v", name, d)
		}
	}
	for _, reason := range []string{"", "why not", "xxxxxxxxxxxxxxxxxxxx", "               "} {
		if _, why := NewGlass(me, "p1", reason); why != ReasonNeeded {
			t.Errorf("reason %q: %q", reason, why)
		}
	}
	if _, why := NewGlass(Actor{Staff: "x", Role: ledger.Administrator, At: noon, Checked: noon}, "p1", "a good enough reason"); why != NotYourRole {
		t.Errorf("administrator: %q", why)
	}
}
