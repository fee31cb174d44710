package access

import (
	"slices"

	"unsling/server/ledger"
)

// Act is one thing that staff can do. The list is closed: what is not in the
// table of acts below is refused.
type Act string

// The acts on a patient. All need a place in the care team.
const (
	ViewPatient       Act = "patient.view"
	EnrolPatient      Act = "patient.enrol" // make the row, at booking; no team yet
	EditPatient       Act = "patient.edit"  // name, number, zone
	ExportPatient     Act = "patient.export"
	SetTeam           Act = "team.set"
	InvitePhone       Act = "phone.invite"
	ConfirmPhone      Act = "phone.confirm" // both screens show the same number
	RevokePhone       Act = "phone.revoke"
	ReleaseSealed     Act = "phone.release" // lines of a revoked phone into the log
	PlanEpisode       Act = "episode.plan"
	ConfirmSide       Act = "episode.confirm-side" // second person, from the operation note
	ConfirmOperation  Act = "episode.confirm"      // what was done, side and limits
	ProposeCorrection Act = "episode.correct"      // of side or date; suspends the plan
	ConfirmCorrection Act = "episode.correct-confirm"
	Discharge         Act = "episode.discharge"
	Withdraw          Act = "episode.withdraw"
	WritePlan         Act = "plan.write"  // the first revision, from an adopted protocol
	ChangePlan        Act = "plan.change" // inside the protocol's corridor
	PassCeiling       Act = "plan.pass-ceiling"
	NarrowPlan        Act = "plan.narrow"
	PausePlan         Act = "plan.pause"
	StopPlan          Act = "plan.stop"
	ResumePlan        Act = "plan.resume" // after a pause
	ResumeStopped     Act = "plan.resume-stopped"
	ClearPhase        Act = "plan.clear"  // also waive a clearance
	OpenLock          Act = "plan.unlock" // an exercise that its procedure locks
	AddReading        Act = "reading.add"
	AddTherapy        Act = "therapy.add"
	AddNote           Act = "note.add"
	AmendRecord       Act = "record.amend" // also void
	TakeFinding       Act = "finding.take" // "I have seen this"
	CloseFinding      Act = "finding.close"
	CloseOffice       Act = "finding.close-office" // silence, overdue call, wrong clock
	RecordCall        Act = "call.record"
	AnswerQuestion    Act = "question.answer"
	Restrict          Act = "restriction.begin" // the data may be kept and looked at, no more
	LiftRestriction   Act = "restriction.lift"  // another person than who began it
	AskErasure        Act = "erasure.ask"
	ReadByProgram     Act = "patient.read-by-program" // at the FHIR door
	ConfirmErasure    Act = "erasure.confirm"         // second person; destroys the content key
)

// The acts on the clinic.
const (
	SeePanel      Act = "panel.see" // own patients only, by care team
	DraftProtocol Act = "protocol.draft"
	AdoptProtocol Act = "protocol.adopt"
	SeeProtocols  Act = "protocol.see"
	SetClinic     Act = "clinic.set" // hours, numbers, deputy
	ManageStaff   Act = "staff.manage"
	SeeAudit      Act = "audit.see"  // ids only
	SeeServer     Act = "server.see" // how the machine is; ids only
	KeepKeys      Act = "keys.keep"  // rotate keys, make backups
	BreakGlass    Act = "glass.break"
	SeeOutcomes   Act = "outcomes.see"        // numbers over one's own patients, none of them named
	ExportAll     Act = "export.all"          // the records of one's own patients as files
	IssueToken    Act = "token.issue"         // hand a token to another program, for the FHIR door
	ReadFHIR      Act = "fhir.read"           // what is about the clinic, at the FHIR door
	OwnAccount    Act = "account.set"         // the own passkeys, password and codes
	ConfirmReset  Act = "staff.confirm-reset" // second person, of somebody else's new start
)

// rule is one row of the table of acts.
type rule struct {
	roles   []ledger.Role
	patient bool // needs a place in the care team of the patient
	second  bool // needs another person than the one who did the first half
	glass   bool // emergency access is enough
	fresh   bool // the person must have proved who it is within FreshFor
	still   bool // goes on while the patient's data is restricted
}

// Groups of roles. A clinician is a surgeon or a therapist.
var (
	surgeons   = []ledger.Role{ledger.Surgeon}
	clinicians = []ledger.Role{ledger.Surgeon, ledger.Therapist}
	practice   = []ledger.Role{ledger.Surgeon, ledger.Therapist, ledger.Assistant}
	admins     = []ledger.Role{ledger.Administrator}
	everybody  = []ledger.Role{ledger.Surgeon, ledger.Therapist, ledger.Assistant, ledger.Administrator}
)

// table is the whole policy. An administrator has no clinical data, so no
// row on a patient names the role.
//
// What is fresh asks again who is there, unless that was proved within
// FreshFor: whatever widens what a patient may do, gives out or erases data,
// hands out a code, or changes who may sign in. What stops, pauses or narrows
// a plan never waits for that, and neither do revoking a phone, notes,
// readings and findings.
//
// While processing is restricted, still are: looking, whatever makes the
// patient safer (narrowing, pausing, stopping, the record of a call, ending a
// phone's access), and lifting the restriction.
var table = map[Act]rule{
	ViewPatient:       {roles: practice, patient: true, glass: true, still: true},
	EnrolPatient:      {roles: practice, fresh: true},
	EditPatient:       {roles: practice, patient: true},
	ExportPatient:     {roles: clinicians, patient: true, fresh: true},
	SetTeam:           {roles: clinicians, patient: true, fresh: true},
	InvitePhone:       {roles: practice, patient: true, fresh: true},
	ConfirmPhone:      {roles: practice, patient: true, fresh: true},
	RevokePhone:       {roles: practice, patient: true, still: true},
	ReleaseSealed:     {roles: clinicians, patient: true, fresh: true},
	PlanEpisode:       {roles: practice, patient: true},
	ConfirmSide:       {roles: practice, patient: true, second: true},
	ConfirmOperation:  {roles: surgeons, patient: true, fresh: true},
	ProposeCorrection: {roles: practice, patient: true},
	ConfirmCorrection: {roles: clinicians, patient: true, second: true, fresh: true},
	Discharge:         {roles: surgeons, patient: true, fresh: true},
	Withdraw:          {roles: clinicians, patient: true, fresh: true},
	WritePlan:         {roles: clinicians, patient: true, fresh: true},
	ChangePlan:        {roles: clinicians, patient: true, fresh: true},
	PassCeiling:       {roles: surgeons, patient: true, fresh: true},
	NarrowPlan:        {roles: clinicians, patient: true, glass: true, still: true},
	PausePlan:         {roles: clinicians, patient: true, still: true},
	StopPlan:          {roles: clinicians, patient: true, glass: true, still: true},
	ResumePlan:        {roles: clinicians, patient: true, fresh: true},
	ResumeStopped:     {roles: surgeons, patient: true, fresh: true},
	ClearPhase:        {roles: surgeons, patient: true, fresh: true},
	OpenLock:          {roles: surgeons, patient: true, fresh: true},
	AddReading:        {roles: clinicians, patient: true},
	AddTherapy:        {roles: clinicians, patient: true},
	AddNote:           {roles: practice, patient: true, glass: true},
	AmendRecord:       {roles: clinicians, patient: true},
	TakeFinding:       {roles: practice, patient: true},
	CloseFinding:      {roles: clinicians, patient: true},
	CloseOffice:       {roles: practice, patient: true},
	RecordCall:        {roles: practice, patient: true, glass: true, still: true},
	AnswerQuestion:    {roles: clinicians, patient: true},
	Restrict:          {roles: clinicians, patient: true},
	LiftRestriction:   {roles: clinicians, patient: true, second: true, fresh: true, still: true},
	AskErasure:        {roles: clinicians, patient: true, fresh: true},
	ReadByProgram:     {roles: practice, patient: true}, // the token was handed out after a fresh proof
	ConfirmErasure:    {roles: practice, patient: true, second: true, fresh: true},

	SeePanel:      {roles: practice},
	DraftProtocol: {roles: clinicians},
	AdoptProtocol: {roles: surgeons, fresh: true},
	SeeProtocols:  {roles: practice},
	SetClinic:     {roles: []ledger.Role{ledger.Surgeon, ledger.Administrator}, fresh: true},
	ManageStaff:   {roles: admins, fresh: true},
	SeeAudit:      {roles: admins},
	SeeServer:     {roles: admins},
	KeepKeys:      {roles: admins, fresh: true},
	BreakGlass:    {roles: clinicians, fresh: true},
	SeeOutcomes:   {roles: clinicians},
	ExportAll:     {roles: clinicians, fresh: true},
	IssueToken:    {roles: practice, fresh: true},
	ReadFHIR:      {roles: practice},
	OwnAccount:    {roles: everybody, fresh: true},
	ConfirmReset:  {roles: []ledger.Role{ledger.Surgeon, ledger.Therapist, ledger.Administrator}, second: true, fresh: true},
}

// Acts returns every act, sorted.
func Acts() []Act {
	all := make([]Act, 0, len(table))
	for act := range table {
		all = append(all, act)
	}
	slices.Sort(all)
	return all
}
