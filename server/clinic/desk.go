package clinic

import (
	"cmp"
	"crypto/ed25519"
	"io"
	"log/slog"
	"net/http"
	"sync"
	"time"

	"unsling/engine/rom"
	"unsling/server/access"
	"unsling/server/clinic/cases"
	"unsling/server/ledger"
)

// Store is the part of the ledger that the pages use.
type Store interface {
	ledger.Staffing
	ledger.Accounts
	ledger.Patients
	ledger.Phones
	ledger.Restricting
	ledger.Audits
	Append(rom.PatientID, []ledger.Draft, *ledger.Base, ledger.Trail) ([]ledger.Line, error)
	Facts(rom.PatientID) (ledger.Facts, error)
	Read(p rom.PatientID, from int64, max int) ([]ledger.Line, error)
	Quarantine(rom.PatientID) ([]ledger.Quarantined, error)
	Sealed(rom.Author) ([]ledger.Line, error)
	Release(rom.Author, ledger.Trail) ([]ledger.Line, error)
}

// Desk answers everything below /clinic/.
type Desk struct {
	Store     Store
	Tokens    *access.Tokens
	Passwords *access.Passwords
	Gate      *access.Gate
	Cookies   access.Cookies
	// Codes is the HMAC key of invitations.
	Codes []byte
	// Secrets is the key under which secrets of staff are sealed.
	Secrets []byte
	// AuditKey verifies the signed heads of the audit log.
	AuditKey ed25519.PublicKey
	// PublicURL is where phones reach this server, without a slash at the end.
	PublicURL string
	// History reads the facts that the ledger's fold made.
	History func([]byte) (rom.History, error)
	Now     func() time.Time
	Chance  io.Reader
	Log     *slog.Logger
	// MoreTime gives the next piece of a long answer the time limit of a whole one, from now on. May be nil.
	MoreTime func(http.ResponseWriter)
	// Notice is one sentence for the top of every page while something is
	// wrong with the server, "" for nothing. May be nil.
	Notice func() string
	// Server is how the server is, for administrators. May be nil.
	Server func() ServerState

	box        *access.Box
	passkeys   *access.Passkeys
	secondGate *access.Gate // wrong codes of a second step

	judged       *cases.Kept[[]brief]       // what the watch list shows
	outcomeCases *cases.Kept[[]outcomeCase] // what outcomes count
	onces        onces
	mu           sync.Mutex // guards sheets and shown
	sheets       map[string]sheet
	shown        map[string]shown        // by session
	imports      map[string]stagedImport // guarded by mu
}

// Handler returns the pages. It panics when a page does not parse, which a
// test would have shown, and without the key of staff or a public address.
func (d *Desk) Handler() http.Handler {
	var err error
	if d.box, err = access.NewBox(d.Secrets, d.Chance); err != nil {
		panic(err)
	}
	clinic, _ := d.Store.Clinic()
	if d.passkeys, err = access.NewPasskeys(d.PublicURL, cmp.Or(clinic.Name, "Unsling"), d.box); err != nil {
		panic(err)
	}
	d.secondGate = access.NewCodeGate()
	d.judged, d.outcomeCases = cases.NewKept[[]brief](keptMost), cases.NewKept[[]outcomeCase](keptMost)
	mux := http.NewServeMux()
	for pattern, h := range d.routes() {
		mux.Handle(pattern, h)
	}
	mux.Handle("/clinic/", d.signedIn(func(v *visit) error { return errNotFound }))
	cross := http.NewCrossOriginProtection()
	cross.SetDenyHandler(http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) {
		d.plain(w, http.StatusForbidden, "This form came from another site. Nothing was changed.")
	}))
	return secured(cross.Handler(mux))
}

// routes is the table of everything the desk answers. A route that is not
// public goes through signedIn or onPatient.
func (d *Desk) routes() map[string]http.Handler {
	return map[string]http.Handler{
		"GET /clinic/assets/{file}": http.HandlerFunc(serveAsset),
		"GET /clinic/sign-in":       http.HandlerFunc(d.signInPage),
		"POST /clinic/sign-in":      http.HandlerFunc(d.signIn),
		"POST /clinic/sign-out":     http.HandlerFunc(d.signOut),

		"POST /clinic/sign-in/code":    http.HandlerFunc(d.signInCode),
		"GET /clinic/sign-in/options":  http.HandlerFunc(d.signInOptions),
		"POST /clinic/sign-in/passkey": http.HandlerFunc(d.signInPasskey),
		"GET /clinic/session":          http.HandlerFunc(d.left),
		"POST /clinic/lock":            http.HandlerFunc(d.lock),
		"POST /clinic/stay":            d.signedIn(d.stay),
		"POST /clinic/kept":            d.signedIn(d.kept),
		"GET /clinic/join":             http.HandlerFunc(d.joinPage),
		"POST /clinic/join":            http.HandlerFunc(d.join),
		"GET /clinic/join/options":     http.HandlerFunc(d.joinOptions),
		"POST /clinic/join/with":       http.HandlerFunc(d.joinWith),
		"GET /clinic/account":          d.signedIn(d.accountPage),
		"GET /clinic/account/options":  d.signedIn(d.accountOptions),
		"GET /clinic/account/app":      d.signedIn(d.appPage),
		"POST /clinic/account/{what}":  d.signedIn(d.accountAct),
		"GET /clinic/audit":            d.signedIn(d.auditPage),
		"GET /clinic/server":           d.signedIn(d.serverPage),
		"GET /clinic/audit/heads":      d.signedIn(d.headsPage),
		"GET /clinic/emergency":        d.signedIn(d.emergencyPage),
		"POST /clinic/emergency":       d.signedIn(d.emergency),
		"GET /clinic/staff":            d.signedIn(d.staffPage),
		"POST /clinic/staff":           d.signedIn(d.staffAct),
		"GET /clinic/again/options":    d.signedIn(d.againOptions),
		"POST /clinic/again":           d.signedIn(d.again),

		"GET /clinic/outcomes":      d.signedIn(d.outcomesPage),
		"GET /clinic/outcomes/file": d.signedIn(d.outcomesFile),
		"GET /clinic/data":          d.signedIn(d.dataPage),
		"POST /clinic/data/{what}":  d.signedIn(d.dataAct),
		"GET /clinic/import":        d.signedIn(d.importPage),
		"POST /clinic/import":       d.signedIn(d.importAct),

		"GET /clinic/{$}":                           d.signedIn(d.watchList),
		"GET /clinic/patients/{patient}":            d.onPatient(access.ViewPatient, d.patientPage),
		"POST /clinic/looked":                       d.signedIn(d.looked),
		"GET /clinic/morning":                       d.signedIn(d.morning),
		"GET /clinic/enrol":                         d.signedIn(d.enrolPage),
		"POST /clinic/enrol":                        d.signedIn(d.enrol),
		"GET /clinic/protocols":                     d.signedIn(d.protocolsPage),
		"GET /clinic/protocols/own":                 d.signedIn(d.ownForm),
		"POST /clinic/protocols/check":              d.signedIn(d.ownCheck),
		"POST /clinic/protocols/own":                d.signedIn(d.own),
		"GET /clinic/protocols/{protocol}/versions": d.signedIn(d.versionsPage),
		"GET /clinic/protocols/{protocol}":          d.signedIn(d.protocolPage),
		"POST /clinic/protocols/{protocol}":         d.signedIn(d.adoptProtocol),
		"GET /clinic/customs":                       d.signedIn(d.customsPage),
		"POST /clinic/customs":                      d.signedIn(d.customs),
		"GET /clinic/settings":                      d.signedIn(d.settingsPage),
		"POST /clinic/settings":                     d.signedIn(d.saveSettings),

		"POST /clinic/patients/{patient}/invite":        d.onPatient(access.InvitePhone, d.invite),
		"GET /clinic/patients/{patient}/phones":         d.onPatient(access.ViewPatient, d.phonesPage),
		"GET /clinic/patients/{patient}/sheet":          d.onPatient(access.InvitePhone, d.sheetPage),
		"POST /clinic/patients/{patient}/phone":         d.onPatient(access.ViewPatient, d.phoneAct),
		"GET /clinic/patients/{patient}/episode":        d.onPatient(access.ViewPatient, d.episodePage),
		"POST /clinic/patients/{patient}/episode":       d.onPatient(access.ViewPatient, d.episodeAct),
		"GET /clinic/patients/{patient}/handoff":        d.onPatient(access.ViewPatient, d.handoff),
		"POST /clinic/patients/{patient}/handoff":       d.onPatient(access.AddReading, d.handedBack),
		"GET /clinic/patients/{patient}/protocol":       d.onPatient(access.ViewPatient, d.movePlanPage),
		"POST /clinic/patients/{patient}/protocol":      d.onPatient(access.ViewPatient, d.movePlan),
		"GET /clinic/patients/{patient}/programme":      d.onPatient(access.ViewPatient, d.programme),
		"GET /clinic/patients/{patient}/another":        d.onPatient(access.PlanEpisode, d.anotherForm),
		"POST /clinic/patients/{patient}/another":       d.onPatient(access.PlanEpisode, d.another),
		"GET /clinic/patients/{patient}/correction":     d.onPatient(access.ViewPatient, d.correctionPage),
		"POST /clinic/patients/{patient}/correction":    d.onPatient(access.ViewPatient, d.correctionAct),
		"GET /clinic/patients/{patient}/plan":           d.onPatient(access.ViewPatient, d.planPage),
		"POST /clinic/patients/{patient}/plan":          d.onPatient(access.ViewPatient, d.changePlan),
		"GET /clinic/patients/{patient}/plan/history":   d.onPatient(access.ViewPatient, d.planHistory),
		"POST /clinic/patients/{patient}/clearance":     d.onPatient(access.ClearPhase, d.clear),
		"POST /clinic/patients/{patient}/finding":       d.onPatient(access.ViewPatient, d.findingAct),
		"GET /clinic/patients/{patient}/finding":        d.onPatient(access.ViewPatient, d.findingPage),
		"POST /clinic/patients/{patient}/undo":          d.onPatient(access.ViewPatient, d.undo),
		"GET /clinic/patients/{patient}/summary":        d.onPatient(access.ViewPatient, d.summary),
		"GET /clinic/patients/{patient}/records":        d.onPatient(access.ViewPatient, d.recordsPage),
		"GET /clinic/patients/{patient}/record":         d.onPatient(access.ViewPatient, d.recordPage),
		"POST /clinic/patients/{patient}/record":        d.onPatient(access.AmendRecord, d.recordAct),
		"GET /clinic/patients/{patient}/held":           d.onPatient(access.ViewPatient, d.heldPage),
		"POST /clinic/patients/{patient}/held":          d.onPatient(access.ReleaseSealed, d.release),
		"GET /clinic/patients/{patient}/entry/{what}":   d.onPatient(access.ViewPatient, d.entryPage),
		"POST /clinic/patients/{patient}/entry/{what}":  d.onPatient(access.ViewPatient, d.entryAct),
		"GET /clinic/patients/{patient}/team":           d.onPatient(access.ViewPatient, d.teamPage),
		"POST /clinic/patients/{patient}/team":          d.onPatient(access.SetTeam, d.teamAct),
		"GET /clinic/patients/{patient}/access":         d.onPatient(access.ViewPatient, d.accessReport),
		"GET /clinic/patients/{patient}/explain":        d.onPatient(access.ViewPatient, d.explainPage),
		"GET /clinic/patients/{patient}/handout":        d.onPatient(access.ViewPatient, d.handOutPage),
		"POST /clinic/patients/{patient}/export":        d.onPatient(access.ExportPatient, d.export),
		"POST /clinic/patients/{patient}/export/{what}": d.onPatient(access.ExportPatient, d.exportAs),
		"POST /clinic/patients/{patient}/restriction":   d.onPatient(access.ViewPatient, d.restriction),
		"GET /clinic/patients/{patient}/scores":         d.onPatient(access.ViewPatient, d.scoresPage),
		"POST /clinic/patients/{patient}/scores":        d.onPatient(access.ViewPatient, d.scoresAct),
	}
}
