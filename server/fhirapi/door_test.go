package fhirapi

import (
	"bytes"
	crand "crypto/rand"
	"encoding/json"
	"errors"
	"flag"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"os"
	"strings"
	"testing"
	"time"

	"unsling/engine/rom"
	"unsling/server/access"
	"unsling/server/formats/fhir"
	"unsling/server/ledger"
	"unsling/server/ledger/badgerstore"
	"unsling/sync/replica"
	"unsling/sync/wire"
)

var rewrite = flag.Bool("rewrite", false, "write the CapabilityStatement beside package fhir anew")

var noon = time.Date(2026, 3, 2, 12, 0, 0, 0, time.UTC)

// rig is a door over a store in memory. All people are invented.
type rig struct {
	t     *testing.T
	store *badgerstore.Store
	door  *Door
	http  http.Handler
	now   time.Time
	log   bytes.Buffer
	n     int
}

const ada rom.PatientID = "patient_1-aaaaaaaaaaaa"

func newRig(t *testing.T) *rig {
	r := &rig{t: t, now: noon}
	var err error
	fold := ledger.Fold{Version: replica.FoldVersion, Add: func(facts []byte, lines []ledger.Line) ([]byte, error) {
		for _, l := range lines {
			facts = append(append(facts, l.Bytes...), '\n')
		}
		return facts, nil
	}}
	r.store, err = badgerstore.OpenMemory(badgerstore.Options{Content: bytes.Repeat([]byte{1}, 32), ClinicMAC: bytes.Repeat([]byte{2}, 32), Fold: fold, Chance: crand.Reader, Run: "test", Started: noon})
	r.must(err)
	t.Cleanup(func() { r.store.Close() })
	keys, err := access.NewKeySet(crand.Reader, noon.Add(-time.Hour))
	r.must(err)
	r.door = &Door{Store: r.store, Tokens: &access.Tokens{Issuer: "https://clinic.test", Keys: keys}, Public: "https://clinic.test", Now: func() time.Time { return r.now }, Log: slog.New(slog.NewTextHandler(&r.log, nil)),
		History: func(facts []byte) (rom.History, error) {
			var f replica.Folder
			for line := range bytes.SplitSeq(facts, []byte("\n")) {
				if len(line) > 0 {
					f.Add(line)
				}
			}
			return f.History(), nil
		}}
	r.http = r.door.Handler()
	r.must(r.store.SetClinic(ledger.Clinic{Name: "Quay Shoulder Practice (invented)", Phone: "+353 20 911 0000", Zone: "Europe/Dublin"}, r.trail()))
	for id, role := range map[rom.StaffID]ledger.Role{"vega": ledger.Surgeon, "quill": ledger.Therapist, "marsh": ledger.Assistant, "fenn": ledger.Administrator, "orr": ledger.Surgeon, "gone": ledger.Therapist} {
		r.must(r.store.AddStaff(ledger.Staff{ID: id, Login: string(id), Name: "Dr " + string(id), Role: role, Added: noon}, r.trail()))
	}
	r.patient(ada, "Ada Rowe", "vega", "quill", "marsh", "gone")
	r.patient("patient2", "Bo Lind", "vega")
	r.patient("patient3", "Cy Moor", "orr")
	return r
}

func (r *rig) must(err error) {
	r.t.Helper()
	if err != nil {
		r.t.Fatal(err)
	}
}

func (r *rig) trail() ledger.Trail { return ledger.Trail{At: r.now, Actor: "server"} }

// patient has an episode, a plan and five readings on five days.
func (r *rig) patient(id rom.PatientID, name string, team ...rom.StaffID) {
	r.t.Helper()
	day := rom.MakeDate(2026, time.February, 1)
	ep := rom.Episode{ID: rom.EpisodeID(id + "-e"), Version: 1, State: rom.Planned, Side: rom.Left, Procedures: []rom.Procedure{rom.CuffRepair}, Surgery: day, By: "vega"}
	var drafts []ledger.Draft
	add := func(kind wire.Kind, body any) {
		raw, v, err := wire.EncodeBody(kind, body)
		r.must(err)
		drafts = append(drafts, ledger.Draft{Kind: kind, V: v, Body: raw, At: noon.Add(time.Duration(len(drafts)) * time.Minute), Zone: "Europe/Dublin"})
	}
	add(wire.KindEpisode, ep)
	for i := range 5 {
		add(wire.KindReading, rom.Reading{Episode: ep.ID, Side: rom.Left, Motion: []rom.Motion{rom.ForwardFlexion, rom.ERSide}[i%2], Class: rom.Passive, Method: rom.Goniometer, Angle: rom.Deg(60 + i), SE: rom.Deg(4), By: "quill", On: day.Add(10 * i)})
	}
	r.must(r.store.CreatePatient(ledger.Patient{ID: id, Name: name, Number: "N-" + string(id), Born: "1961-05-04", Zone: "Europe/Dublin", Lang: "en", Created: noon}, team, drafts, r.trail()))
}

// token signs a person in and makes a token for a program.
func (r *rig) token(who rom.StaffID) string {
	r.t.Helper()
	r.n++
	row, err := r.store.Staff(who)
	r.must(err)
	s := ledger.Session{ID: "session" + string(rune('a'+r.n)) + string(who), Staff: who, Started: r.now, Until: r.now.Add(access.SessionLife)}
	r.must(r.store.StartSession(s, r.trail()))
	text, err := r.door.Tokens.IssueFHIR(access.StaffToken{Staff: string(who), Session: s.ID, Started: r.now, Scopes: access.ScopesFor(row.Role)}, "jti-0123456789", r.now)
	if err != nil {
		return "none" // nothing to read
	}
	return text
}

func (r *rig) get(token, path string, more ...string) (*httptest.ResponseRecorder, map[string]any) {
	r.t.Helper()
	req := httptest.NewRequest("GET", "https://clinic.test"+path, nil)
	if token != "" {
		req.Header.Set("Authorization", "Bearer "+token)
	}
	for i := 0; i+1 < len(more); i += 2 {
		req.Header.Set(more[i], more[i+1])
	}
	rec := httptest.NewRecorder()
	r.http.ServeHTTP(rec, req)
	var body map[string]any
	if err := json.Unmarshal(rec.Body.Bytes(), &body); err != nil {
		r.t.Fatalf("%s: %v %q", path, err, rec.Body.String())
	}
	return rec, body
}

func (r *rig) entries(body map[string]any) (ids []string) {
	list, _ := body["entry"].([]any)
	for _, e := range list {
		ids = append(ids, e.(map[string]any)["resource"].(map[string]any)["id"].(string))
	}
	return ids
}

// Who may read what, written by hand beside the tables of acts and scopes
// (OWASP ASVS 5.0, 8.2.1): S surgeon, T therapist, A assistant of the care
// team. Nobody else reads anything: not a surgeon outside the team, not an
// administrator, not who left, not without a token.
const doorText = `
Patient S T A
EpisodeOfCare S T A
CarePlan S T A
Procedure S T
Observation S T
Device S T
Provenance S T
Practitioner S T A
Organization S T A
`

func TestEveryRouteForEverybody(t *testing.T) {
	r := newRig(t)
	want := map[string]string{}
	for line := range strings.SplitSeq(strings.TrimSpace(doorText), "\n") {
		kind, who, _ := strings.Cut(line, " ")
		want[kind] = who
	}
	leaver := r.token("gone")
	r.must(r.store.EndSession("session"+string(rune('a'+r.n))+"gone", r.trail()))
	tokens := map[string]string{"S": r.token("vega"), "T": r.token("quill"), "A": r.token("marsh")}
	strangers := map[string]string{"no token": "", "an administrator": r.token("fenn"), "who left": leaver, "nonsense": "x.y.z"}
	outside := r.token("orr")
	surgeon := tokens["S"]
	if len(want) != len(table) {
		t.Errorf("%d types written here, %d in the table", len(want), len(table))
	}
	for _, row := range table {
		paths := []string{}
		id := map[string]string{"Patient": fhir.ID(string(ada)), "Practitioner": "vega", "Organization": "clinic"}[row.kind]
		if row.search != nil {
			path := "/fhir/" + row.kind
			if row.kind != "Patient" {
				path += "?patient=" + fhir.ID(string(ada))
			}
			paths = append(paths, path)
			_, body := r.get(surgeon, path)
			if ids := r.entries(body); id == "" && len(ids) > 0 {
				id = ids[0]
			}
		}
		if id == "" && row.kind != "Device" && row.kind != "CarePlan" { // this patient has none
			t.Errorf("%s: nothing is found", row.kind)
		}
		if id != "" {
			paths = append(paths, "/fhir/"+row.kind+"/"+id)
		}
		for _, path := range paths {
			for letter, token := range tokens {
				rec, body := r.get(token, path)
				may := strings.Contains(want[row.kind], letter)
				if ok := rec.Code == http.StatusOK; ok != may || !ok && rec.Code != http.StatusForbidden {
					t.Errorf("%s by %s: %d %v", path, letter, rec.Code, body)
				}
			}
			for who, token := range strangers {
				if rec, body := r.get(token, path); rec.Code != http.StatusUnauthorized || body["resourceType"] != "OperationOutcome" || rec.Header().Get("WWW-Authenticate") == "" {
					t.Errorf("%s by %s: %d %v", path, who, rec.Code, body)
				}
			}
			rec, body := r.get(outside, path)
			switch {
			case row.kind == "Practitioner" || row.kind == "Organization":
			case path == "/fhir/Patient":
				if ids := r.entries(body); len(ids) != 1 || ids[0] != "patient3" {
					t.Errorf("%s outside the team: %v", path, ids)
				}
			case rec.Code != http.StatusNotFound || strings.Contains(rec.Body.String(), "Rowe"):
				t.Errorf("%s outside the team: %d", path, rec.Code)
			default:
				none, _ := r.get(outside, strings.Replace(path, fhir.ID(string(ada)), "nobody", 1))
				if none.Body.String() != rec.Body.String() {
					t.Errorf("%s: a stranger can tell a patient from nobody", path)
				}
			}
			req := httptest.NewRequest("POST", "https://clinic.test"+path, strings.NewReader("{}"))
			req.Header.Set("Authorization", "Bearer "+surgeon)
			rec = httptest.NewRecorder()
			if r.http.ServeHTTP(rec, req); rec.Code != http.StatusMethodNotAllowed {
				t.Errorf("POST %s: %d", path, rec.Code)
			}
		}
	}
	if strings.Contains(r.log.String(), "Rowe") || strings.Contains(r.log.String(), surgeon) {
		t.Error("the log holds a name or a token")
	}
}

// What is read is in the audit log, and what was refused is not; a session
// that ends, a person whose role changed and a patient whose data is
// restricted end it at once; the cookie of the pages is no key here.
func TestReadingIsAuditedAndEnds(t *testing.T) {
	r := newRig(t)
	token := r.token("quill")
	path := "/fhir/Observation?patient=" + fhir.ID(string(ada))
	reads := func() (n int) {
		all, err := r.store.Audit(1, 0)
		r.must(err)
		for _, e := range all {
			if e.Act == "patient.read-by-program" && e.Patient == string(ada) && e.Actor == "quill" && e.Session != "" {
				n++
			}
		}
		return n
	}
	if rec, _ := r.get(token, path); rec.Code != http.StatusOK || reads() != 1 {
		t.Fatalf("%d, %d in the audit log", rec.Code, reads())
	}
	r.get(token, "/fhir/Observation?patient=patient2")
	if reads() != 1 {
		t.Error("what was refused is audited as read")
	}
	if rec, _ := r.get("", path, "Cookie", "__Host-sid="+token); rec.Code != http.StatusUnauthorized {
		t.Errorf("by cookie: %d", rec.Code)
	}
	row, err := r.store.Staff("quill")
	r.must(err)
	row.Role = ledger.Assistant
	r.must(r.store.PutStaff(row, r.trail()))
	if rec, _ := r.get(token, path); rec.Code == http.StatusOK {
		t.Error("the role's scopes are those of when the token was made")
	}
	// A token that says more than the role may.
	s := ledger.Session{ID: "wide", Staff: "marsh", Started: r.now, Until: r.now.Add(time.Hour)}
	r.must(r.store.StartSession(s, r.trail()))
	wide, err := r.door.Tokens.IssueFHIR(access.StaffToken{Staff: "marsh", Session: "wide", Started: r.now, Scopes: access.ScopesFor(ledger.Surgeon)}, "jti-0123456789", r.now)
	r.must(err)
	if rec, _ := r.get(wide, path); rec.Code != http.StatusForbidden {
		t.Errorf("an assistant with a surgeon's scopes: %d", rec.Code)
	}
	surgeon := r.token("vega")
	r.must(r.store.Restrict(ada, ledger.Restriction{By: "quill", Reason: "the patient objects to it"}, r.trail()))
	if rec, _ := r.get(surgeon, path); rec.Code != http.StatusForbidden {
		t.Errorf("restricted: %d", rec.Code)
	}
	if _, body := r.get(surgeon, "/fhir/Patient"); len(r.entries(body)) != 1 {
		t.Errorf("restricted, in the list: %v", body)
	}
	r.now = r.now.Add(access.FHIRTokenLife)
	if rec, _ := r.get(surgeon, "/fhir/Patient"); rec.Code != http.StatusUnauthorized {
		t.Errorf("after its end: %d", rec.Code)
	}
}

// Pages: every resource once, links that lead on, total of all (R4, search,
// paging).
func TestPages(t *testing.T) {
	r := newRig(t)
	token := r.token("vega")
	seen := map[string]int{}
	next := "/fhir/Observation?patient=" + fhir.ID(string(ada)) + "&_count=2"
	pages := 0
	for next != "" {
		_, body := r.get(token, next)
		pages++
		if body["type"] != "searchset" || body["total"] != 5.0 {
			t.Fatalf("%v", body)
		}
		for _, id := range r.entries(body) {
			seen[id]++
		}
		next = ""
		for _, l := range body["link"].([]any) {
			if m := l.(map[string]any); m["relation"] == "next" {
				next = strings.TrimPrefix(m["url"].(string), "https://clinic.test")
			}
		}
	}
	if pages != 3 || len(seen) != 5 {
		t.Errorf("%d pages, %v", pages, seen)
	}
	for id, n := range seen {
		if n != 1 {
			t.Errorf("%s stands there %d times", id, n)
		}
	}
}

// Every parameter that the CapabilityStatement names finds something and
// leaves something out; what it does not name is refused when the client asks
// for strictness, and left out of the self link otherwise.
func TestEveryParameter(t *testing.T) {
	r := newRig(t)
	token := r.token("vega")
	p := "patient=" + fhir.ID(string(ada))
	tried := map[string]bool{}
	for _, c := range []struct {
		kind, param, query string
		found              int
	}{
		{"Patient", "_id", "_id=" + fhir.ID(string(ada)), 1}, {"Patient", "_id", "_id=patient2,patient3", 1},
		{"Patient", "identifier", "identifier=N-patient2", 1}, {"Patient", "identifier", "identifier=https://clinic.test/fhir/identifier/number|N-patient2", 1}, {"Patient", "identifier", "identifier=https://other|N-patient2", 0},
		{"EpisodeOfCare", "patient", p, 1}, {"EpisodeOfCare", "patient", "patient=Patient/" + fhir.ID(string(ada)), 1},
		{"Procedure", "patient", p, 1}, {"Procedure", "date", p + "&date=2026-02-01", 1}, {"Procedure", "date", p + "&date=gt2026-02-01", 0},
		{"CarePlan", "patient", p, 0}, {"CarePlan", "category", p + "&category=rehabilitation", 0}, {"Device", "patient", p, 0},
		{"Observation", "patient", p, 5}, {"Observation", "code", p + "&code=http://loinc.org|41390-6", 3}, {"Observation", "code", p + "&code=41390-6,41388-0", 5}, {"Observation", "code", p + "&code=72514-3", 0},
		{"Observation", "category", p + "&category=exam", 5}, {"Observation", "category", p + "&category=survey", 0},
		{"Observation", "date", p + "&date=ge2026-02-11&date=lt2026-03-03", 2}, {"Observation", "date", p + "&date=2026-02", 3}, {"Observation", "date", p + "&date=ne2026-02", 2}, {"Observation", "date", p + "&date=sa2026-02-21", 2}, {"Observation", "date", p + "&date=eb2026-02-11,ge2026-03-13", 2},
		{"Provenance", "patient", p, 8}, {"Provenance", "target", p + "&target=Patient/" + fhir.ID(string(ada)), 1},
	} {
		tried[c.kind+" "+c.param] = true
		rec, body := r.get(token, "/fhir/"+c.kind+"?"+c.query)
		if rec.Code != http.StatusOK || len(r.entries(body)) != c.found || body["total"] != float64(c.found) {
			t.Errorf("%s?%s: %d, found %d, want %d", c.kind, c.query, rec.Code, len(r.entries(body)), c.found)
		}
	}
	for _, row := range table {
		for _, one := range row.params {
			if !tried[row.kind+" "+one.name] {
				t.Errorf("%s %s is named and not tried", row.kind, one.name)
			}
		}
	}
	for query, status := range map[string]int{"": 400, p + "&date=yesterday": 400, p + "&date=ap2026-01-01": 400, p + "&_count=-1": 400, p + "&_count=x": 400, p + "&_count=1&_count=2": 400, "patient=": 400, p + "&" + p: 400, p + "&%zz": 400, "patient=nobody": 404} {
		if rec, body := r.get(token, "/fhir/Observation?"+query); rec.Code != status || body["resourceType"] != "OperationOutcome" {
			t.Errorf("%q: %d %v", query, rec.Code, body)
		}
	}
	if rec, _ := r.get(token, "/fhir/Observation?"+p+"&shoe=9", "Prefer", "handling=strict"); rec.Code != http.StatusBadRequest {
		t.Errorf("strict: %d", rec.Code)
	}
	if rec, _ := r.get(token, "/fhir/Observation?"+p+"&shoe=9"); rec.Code != http.StatusOK || strings.Contains(rec.Body.String(), "shoe") {
		t.Errorf("lenient: %d", rec.Code)
	}
	if rec, _ := r.get(token, "/fhir/Observation?"+p, "Accept", "application/fhir+xml"); rec.Code != http.StatusNotAcceptable {
		t.Errorf("xml: %d", rec.Code)
	}
	for _, path := range []string{"/fhir/", "/fhir/Basic", "/fhir/Patient/a/b", "/fhir/Observation/x", "/fhir/Practitioner"} {
		if rec, body := r.get(token, path); rec.Code != http.StatusNotFound || body["resourceType"] != "OperationOutcome" {
			t.Errorf("%s: %d", path, rec.Code)
		}
	}
}

// The CapabilityStatement names exactly the routes; it is validated with the
// other examples beside package fhir. The SMART configuration has what
// SMART App Launch 2.2 requires, and offers no grant that there is not.
func TestMetadataIsWhatIsThere(t *testing.T) {
	r := newRig(t)
	rec, body := r.get("", "/fhir/metadata")
	if rec.Code != http.StatusOK || rec.Header().Get("Content-Type") != "application/fhir+json; charset=utf-8" {
		t.Fatalf("%d %v", rec.Code, rec.Header())
	}
	said := map[string]bool{"GET /fhir/metadata": true, "GET /fhir/.well-known/smart-configuration": true}
	for _, x := range body["rest"].([]any)[0].(map[string]any)["resource"].([]any) {
		row := x.(map[string]any)
		for _, i := range row["interaction"].([]any) {
			path := "GET /fhir/" + row["type"].(string)
			if i.(map[string]any)["code"] == "read" {
				path += "/{id}"
			}
			said[path] = true
		}
	}
	for pattern := range r.door.routes() {
		if !said[pattern] {
			t.Errorf("%s is not in the statement", pattern)
		}
		delete(said, pattern)
	}
	for pattern := range said {
		t.Errorf("%s is in the statement and not there", pattern)
	}
	const file = "../formats/fhir/testdata/capability.json"
	got, err := json.MarshalIndent(r.door.capability(), "", " ")
	r.must(err)
	if *rewrite {
		r.must(os.WriteFile(file, append(got, '\n'), 0o644))
	}
	want, err := os.ReadFile(file)
	if err != nil || string(want) != string(got)+"\n" {
		t.Errorf("%s is not what is answered today (%v); look at it and run with -args -rewrite", file, err)
	}
	_, smart := r.get("", "/fhir/.well-known/smart-configuration")
	for _, must := range []string{"token_endpoint", "grant_types_supported", "capabilities", "code_challenge_methods_supported"} {
		if smart[must] == nil {
			t.Errorf("%s is missing", must)
		}
	}
	if len(smart["grant_types_supported"].([]any)) != 0 {
		t.Error("a grant is offered that no program can use")
	}
	for _, s := range smart["scopes_supported"].([]any) {
		if _, err := access.ParseScope(s.(string)); err != nil {
			t.Errorf("%v: %v", s, err)
		}
	}
}

// noTeam is a store that cannot read one patient's care team.
type noTeam struct {
	Store
	of  rom.PatientID
	err error
}

func (s noTeam) Team(p rom.PatientID) ([]ledger.Member, error) {
	if p == s.of {
		return nil, s.err
	}
	return s.Store.Team(p)
}

// A search that could not look at everybody has no total: it says that it
// failed. Somebody erased since the list was read is just not in it.
func TestSearchThatCannotRead(t *testing.T) {
	r := newRig(t)
	whole, token := r.door.Store, r.token("vega")
	r.door.Store = noTeam{whole, "patient2", errors.New("the disk does not answer")}
	a, body := r.get(token, "/fhir/Patient")
	if a.Code != http.StatusInternalServerError || body["resourceType"] != "OperationOutcome" {
		t.Errorf("%d %v", a.Code, body)
	}
	r.door.Store = noTeam{whole, "patient2", ledger.ErrUnknown}
	if a, body = r.get(token, "/fhir/Patient"); a.Code != http.StatusOK || body["total"] != 1.0 {
		t.Errorf("one erased: %d %v", a.Code, body)
	}
}
