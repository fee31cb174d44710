package access

import (
	"slices"
	"strings"
	"time"

	"unsling/engine/rom"
	"unsling/server/ledger"
)

// Actor is who asks: the person's row as it stands now, and what emergency
// access the person holds.
type Actor struct {
	Staff rom.StaffID
	Role  ledger.Role
	Glass []ledger.Glass
	At    time.Time // of the request, server clock
	// Checked is when the person last proved who it is: by signing in, or
	// by doing it again.
	Checked time.Time
}

// FreshFor is how long a proof of who is there is good for what is fresh
// (OWASP ASVS 5.0, 7.5.1 and 7.5.3).
const FreshFor = 5 * time.Minute

// Resource is what is asked for. The zero Resource is the clinic itself.
type Resource struct {
	Patient rom.PatientID
	Team    []ledger.Member
	FirstBy rom.StaffID // who did the first half of an act for two people
	// RestrictedBy is who restricted the processing of the patient's data,
	// "" while nobody has.
	RestrictedBy rom.StaffID
}

// Refusal says why an act is refused, "" for allowed.
type Refusal string

// The refusals.
const (
	NotAnAct     Refusal = "there is no such act"
	NotYourRole  Refusal = "your role may not do this"
	NotInTeam    Refusal = "you are not in this patient's care team"
	SamePerson   Refusal = "a second person has to do this"
	NoFirstHalf  Refusal = "nobody has done the first half of this yet"
	NeedsPatient Refusal = "this is done to a patient, and none was named"
	NotFresh     Refusal = "say again who you are first"
	IsRestricted Refusal = "the data of this patient may be looked at and not processed; somebody else of the care team can lift that"
)

// Decision is the answer to one question.
type Decision struct {
	Allowed bool
	Refusal Refusal
	// Hide asks for the answer "no such patient": somebody outside the care
	// team must not learn who is a patient here.
	Hide bool
	// Again is set when everything else allows it, and only the proof of who
	// is there is too old.
	Again bool
	// Glass is set when only emergency access allowed it. Write the reason to
	// the audit log; the team has been told.
	Glass *ledger.Glass
}

func refuse(why Refusal) Decision { return Decision{Refusal: why} }

// Decide says whether actor may do act to res. It is the one place where
// this is decided; every page and endpoint asks it.
func Decide(actor Actor, act Act, res Resource) Decision {
	row, known := table[act]
	if !known {
		return refuse(NotAnAct)
	}
	if actor.Staff == "" || !slices.Contains(row.roles, actor.Role) {
		return Decision{Refusal: NotYourRole, Hide: row.patient && actor.Role == ledger.Administrator}
	}
	var glass *ledger.Glass
	if row.patient {
		if res.Patient == "" {
			return refuse(NeedsPatient)
		}
		inTeam := slices.ContainsFunc(res.Team, func(m ledger.Member) bool { return m.Staff == actor.Staff })
		if !inTeam {
			glass = actor.glassFor(res.Patient)
			switch {
			case glass == nil:
				return Decision{Refusal: NotInTeam, Hide: true}
			case !row.glass:
				return refuse(NotInTeam)
			}
		}
	}
	if res.RestrictedBy != "" && row.patient && !row.still {
		lift := Decide(actor, LiftRestriction, res)
		if act != ExportPatient || !lift.Allowed && !lift.Again { // handed out only by who could lift it
			return refuse(IsRestricted)
		}
	}
	if row.second {
		first := res.FirstBy
		if act == LiftRestriction && res.RestrictedBy != "" {
			first = res.RestrictedBy
		}
		switch first {
		case "":
			return refuse(NoFirstHalf)
		case actor.Staff:
			return refuse(SamePerson)
		}
	}
	if row.fresh && (actor.At.Sub(actor.Checked) > FreshFor || actor.Checked.After(actor.At)) {
		return Decision{Refusal: NotFresh, Again: true, Glass: glass}
	}
	return Decision{Allowed: true, Glass: glass}
}

func (a Actor) glassFor(p rom.PatientID) *ledger.Glass {
	for i, g := range a.Glass {
		if g.Patient == p && g.Staff == a.Staff && !a.At.Before(g.From) && a.At.Before(g.Until) {
			return &a.Glass[i]
		}
	}
	return nil
}

// GlassLife is how long emergency access lasts.
const GlassLife = time.Hour

// NewGlass makes a grant for the person. The reason has to say something: at
// least 15 letters that are not the same one.
func NewGlass(actor Actor, p rom.PatientID, reason string) (ledger.Glass, Refusal) {
	if d := Decide(actor, BreakGlass, Resource{}); !d.Allowed {
		return ledger.Glass{}, d.Refusal
	}
	reason = strings.Join(strings.Fields(reason), " ")
	if len([]rune(reason)) < 15 || strings.Trim(reason, reason[:1]) == "" {
		return ledger.Glass{}, ReasonNeeded
	}
	return ledger.Glass{Patient: p, Staff: actor.Staff, Reason: reason, From: actor.At, Until: actor.At.Add(GlassLife)}, ""
}

// ReasonNeeded is the refusal of emergency access without a proper reason.
const ReasonNeeded Refusal = "say in a sentence why you need this patient's data now"

// BareScopes are those of a session without the second factor that the clinic
// asks for: nothing at the FHIR door.
var BareScopes = mustScopes("__account.set")

// ScopesFor returns the scopes of a role's session, in SMART v2 syntax. They
// speak for the FHIR door; Decide still has the last word. Nobody may delete:
// a correction is a new record.
func ScopesFor(role ledger.Role) Scopes {
	switch role {
	case ledger.Surgeon:
		return Union(mustScopes("user/Procedure.crus user/PlanDefinition.crus user/Goal.crus"), ScopesFor(ledger.Therapist))
	case ledger.Therapist:
		return mustScopes("user/Patient.rs user/Observation.crs user/CarePlan.crus user/ServiceRequest.crus " +
			"user/Flag.crus user/Communication.crus user/Procedure.rs user/EpisodeOfCare.rs user/Device.rs user/Provenance.rs " +
			"user/Practitioner.r user/Organization.r __enrolment.manage")
	case ledger.Assistant:
		return mustScopes("user/Patient.rs user/CarePlan.rs user/Flag.rs user/Communication.crus user/EpisodeOfCare.rs user/Practitioner.r " +
			"user/Organization.r __enrolment.manage")
	case ledger.Administrator:
		return mustScopes("__staff.manage __audit.read")
	}
	return nil
}
