package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"io"
	"log/slog"
	"net"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"filippo.io/age"

	"unsling/engine/rom"
	"unsling/server/access"
	"unsling/server/ledger"
)

const testPassword = "a long sentence for tests"

// testHouse is a house on a folder, with a surgeon, a therapist, an
// administrator and two invented patients.
func testHouse(t *testing.T, data string, log io.Writer) *house {
	t.Helper()
	h, err := open(settings{data: data, public: "http://localhost:1", log: slog.New(slog.NewJSONHandler(log, nil))})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := h.store.Clinic(); err == nil {
		return h
	}
	err = h.store.SetClinic(ledger.Clinic{Name: "Invented practice", Phone: "555 0100", Zone: "UTC"}, h.trail())
	for login, role := range map[string]ledger.Role{"vega": ledger.Surgeon, "roth": ledger.Therapist, "admin": ledger.Administrator} {
		err = errors.Join(err, h.addStaff(t.Context(), ledger.Staff{ID: rom.StaffID(login), Login: login, Name: "Canary " + login, Role: role}, testPassword))
	}
	trail := h.trail()
	trail.Actor = "vega"
	for _, p := range []rom.PatientID{"p1", "p2"} {
		err = errors.Join(err, h.store.CreatePatient(ledger.Patient{ID: p, Name: "Canary Surname"}, []rom.StaffID{"vega", "roth"}, nil, trail))
	}
	if err != nil {
		t.Fatal(err)
	}
	return h
}

// call runs a command and returns what it printed.
func call(t *testing.T, args ...string) (string, error) {
	t.Helper()
	var out bytes.Buffer
	err := dispatch(t.Context(), args, &out, io.Discard)
	return out.String(), err
}

func wantCall(t *testing.T, want string, args ...string) string {
	t.Helper()
	out, err := call(t, args...)
	if err != nil || !strings.Contains(out, want) {
		t.Fatalf("unsling %s: %v\n%s\nwant %q", strings.Join(args, " "), err, out, want)
	}
	return out
}

// The whole life of a backup by command: make keys, back up, verify at every
// depth, erase, restore, check.
func TestBackupCommands(t *testing.T) {
	dir := t.TempDir()
	data, to, id, ring := filepath.Join(dir, "data"), filepath.Join(dir, "backup"), filepath.Join(dir, "identity.txt"), filepath.Join(dir, "keyring.age")
	h := testHouse(t, data, io.Discard)
	if err := h.close(); err != nil {
		t.Fatal(err)
	}
	recipient := regexp.MustCompile(`age1\w+`).FindString(wantCall(t, "Recipient: age1", "keys", "identity", "--out", id))
	if _, err := call(t, "keys", "identity", "--out", id); err == nil {
		t.Error("an identity was written over")
	}
	wantCall(t, "encrypted", "keys", "save", "--data", data, "--recipient", recipient, "--out", ring)
	wantCall(t, "Segment 1 of series", "backup", "--data", data, "--to", to, "--recipient", recipient)
	wantCall(t, "Nothing changed since segment 1", "backup", "--data", data, "--to", to, "--recipient", recipient)
	until := time.Now().UTC().Format(time.RFC3339Nano)

	out := wantCall(t, "sizes and hashes are right", "verify-backup", "--from", to)
	if !strings.Contains(out, "Not checked: what is inside") {
		t.Errorf("says nothing of what was not checked: %s", out)
	}
	inBackup := regexp.MustCompile(`audit entry (\d+) (\S{43})`).FindStringSubmatch(wantCall(t, "rows decrypted", "verify-backup", "--from", to, "--identity", id))
	wantCall(t, "0 faults", "verify-backup", "--from", to, "--identity", id, "--keyring", ring)
	wantCall(t, "0 faults", "verify-backup", "--from", to, "--identity", id, "--keyring", filepath.Join(data, "keys"))

	head := regexp.MustCompile(`\d+:\S{43}`).FindString(wantCall(t, "the chain fits", "audit", "verify", "--data", data, "--backup", to))
	wantCall(t, "the chain fits", "audit", "verify", "--data", data, "--head", head)
	if _, err := call(t, "audit", "verify", "--data", data, "--head", "99999"+head[strings.Index(head, ":"):]); err == nil || !strings.Contains(err.Error(), "its end is lost") {
		t.Errorf("a noted head beyond the end: %v", err)
	}
	if _, err := call(t, "audit", "verify", "--data", data, "--head", "2"+head[strings.Index(head, ":"):]); err == nil {
		t.Error("another hash was taken for the noted one")
	}

	h = testHouse(t, data, io.Discard)
	receipt := eraseByTwo(t, h, "p1")
	if !strings.Contains(receipt, "Receipt. Patient p1 was erased") || strings.Contains(receipt, "Canary") {
		t.Errorf("receipt: %s", receipt)
	}
	if err := h.close(); err != nil {
		t.Fatal(err)
	}
	wantCall(t, "Receipt. Patient p1", "erase", "list", "--data", data)
	wantCall(t, "Segment 2 of series", "backup", "--data", data, "--to", to, "--recipient", recipient)

	wantCall(t, "can no longer sign in", "staff", "disable", "--data", data, "--login", "admin")
	if _, err := call(t, "staff", "disable", "--data", data, "--login", "nobody"); exitCode(orHelp(err)) != 2 {
		t.Errorf("nobody was disabled: %v", err)
	}
	wantCall(t, "Segment 3 of series", "backup", "--data", data, "--to", to, "--recipient", recipient)

	restored := filepath.Join(dir, "restored")
	if _, err := call(t, "restore", "--from", to, "--data", data, "--identity", id, "--keyring", ring); exitCode(orHelp(err)) != 2 {
		t.Errorf("restored over a folder in use: %v", err)
	}
	wantCall(t, "1 patients erased, 1 people disabled", "restore", "--from", to, "--data", restored, "--identity", id, "--keyring", ring, "--until", until)
	wantCall(t, "0 faults", "verify", restored)
	wantCall(t, "the chain fits", "audit", "verify", "--data", restored, "--head", inBackup[1]+":"+inBackup[2])
	h = testHouse(t, restored, io.Discard)
	defer h.close()
	if _, err := h.store.Patient("p1"); !errors.Is(err, ledger.ErrErased) {
		t.Errorf("the erased patient: %v", err)
	}
	if p, err := h.store.Patient("p2"); err != nil || p.Name != "Canary Surname" {
		t.Errorf("the other patient: %+v %v", p, err)
	}
}

func eraseByTwo(t *testing.T, h *house, p rom.PatientID) string {
	t.Helper()
	var out bytes.Buffer
	do := func(verb, login, password string) error {
		out.Reset()
		return h.erase(t.Context(), verb, p, login, password, &out)
	}
	for _, c := range []struct{ verb, login, password, want string }{
		{"confirm", "roth", testPassword, string(access.NoFirstHalf)},
		{"ask", "vega", "a wrong sentence for tests", "wrong"},
		{"ask", "admin", testPassword, string(access.NotYourRole)},
		{"ask", "vega", testPassword, ""},
		{"confirm", "vega", testPassword, string(access.SamePerson)},
		{"confirm", "nobody", testPassword, "wrong"},
		{"confirm", "roth", testPassword, ""},
	} {
		err := do(c.verb, c.login, c.password)
		if c.want == "" && err != nil || c.want != "" && (err == nil || !strings.Contains(err.Error(), c.want)) {
			t.Errorf("%s by %s: %v, want %q", c.verb, c.login, err, c.want)
		}
	}
	return out.String()
}

// A disk that fills: what is said, what is taken, and that it ends.
func TestDiskFills(t *testing.T) {
	data := t.TempDir()
	h := testHouse(t, data, io.Discard)
	defer h.close()
	u := newUpkeep(h, serveOptions{data: data, minFree: 100})
	free := uint64(0)
	u.free = func(string) (uint64, error) { return free, nil }
	h.api.SetReady(true)
	ready := func() int {
		w := httptest.NewRecorder()
		h.handler.ServeHTTP(w, httptest.NewRequest(http.MethodGet, "http://localhost:1/readyz", nil))
		return w.Code
	}
	page := func() string {
		w := httptest.NewRecorder()
		h.handler.ServeHTTP(w, httptest.NewRequest(http.MethodGet, "http://localhost:1/clinic/sign-in", nil))
		return w.Body.String()
	}
	for _, c := range []struct {
		free   uint64
		status int
		says   string
		writes error
	}{
		{101 << 20, 200, "", nil}, {99 << 20, 503, "disk is nearly full", nil}, {49 << 20, 503, "disk is full", ledger.ErrFull}, {101 << 20, 200, "", nil},
	} {
		free = c.free
		u.checkDisk()
		if got := ready(); got != c.status {
			t.Errorf("%d MiB free: readiness %d", c.free>>20, got)
		}
		if got := page(); strings.Contains(got, "server&#39;s disk") != (c.says != "") || !strings.Contains(got, c.says) {
			t.Errorf("%d MiB free: the page does not say %q", c.free>>20, c.says)
		}
		err := h.store.Note(ledger.Entry{At: h.now(), Actor: "vega", Act: "patient.view", Patient: "p1"})
		if !errors.Is(err, c.writes) || err != nil && c.writes == nil {
			t.Errorf("%d MiB free: %v", c.free>>20, err)
		}
	}
	if got, err := diskFree(data); err != nil || got == 0 {
		t.Errorf("room on this disk: %d %v", got, err)
	}
}

// The lines of the text format 0.0.4 (Prometheus documentation, "Exposition
// formats").
var sampleLine = regexp.MustCompile(`^[a-zA-Z_:][a-zA-Z0-9_:]*(\{[a-zA-Z_][a-zA-Z0-9_]*="([^"\\]|\\[\\n"])*"(,[a-zA-Z_][a-zA-Z0-9_]*="([^"\\]|\\[\\n"])*")*\})? (NaN|[+-]?Inf|[+-]?[0-9.]+(e[+-]?[0-9]+)?)$`)

// A server as it runs: the backup is made by itself, rotated keys are taken
// up, the operator's address tells numbers, and neither numbers nor log tell
// of a person.
func TestServerWithUpkeep(t *testing.T) {
	data, folder := t.TempDir(), filepath.Join(t.TempDir(), "backup")
	var log lockedBuffer
	h := testHouse(t, data, &log)
	id, err := age.GenerateX25519Identity()
	if err != nil {
		t.Fatal(err)
	}
	o := serveOptions{data: data, listen: freeAddress(t), metrics: freeAddress(t), backupTo: folder, backupRecipient: id.Recipient().String(), public: "http://localhost:1"}
	h.public = o.public
	ctx, stop := context.WithCancel(t.Context())
	ended := make(chan error, 1)
	ready := make(chan struct{})
	go func() { ended <- errors.Join(run(ctx, h, o, func() { close(ready) }), h.close()) }()
	<-ready
	get := func(address, path string) (int, string) {
		req, err := http.NewRequest(http.MethodGet, "http://"+address+path, nil)
		if err != nil {
			t.Fatal(err)
		}
		if address == o.listen {
			req.Host = "localhost:1"
		}
		req.Header.Set("X-Forwarded-For", "192.0.2.99")
		res, err := http.DefaultClient.Do(req)
		if err != nil {
			t.Fatal(err)
		}
		defer res.Body.Close()
		text, err := io.ReadAll(res.Body)
		if err != nil {
			t.Fatal(err)
		}
		return res.StatusCode, string(text)
	}
	get(o.listen, "/clinic/patients/canary-of-a-patient")
	get(o.listen, "/v1/hello")
	get(o.listen, "/no/such/canary")
	res, err := http.Post("http://"+o.listen+"/v1/exchange", "application/x-ndjson", strings.NewReader("canary"))
	if err != nil {
		t.Fatal(err)
	}
	res.Body.Close()

	var d detail
	for deadline := time.Now().Add(2 * time.Minute); d.Segment == "" && time.Now().Before(deadline); time.Sleep(50 * time.Millisecond) {
		_, text := get(o.metrics, "/readyz")
		d = detail{}
		if err := json.Unmarshal([]byte(text), &d); err != nil {
			t.Fatal(err)
		}
	}
	if !d.Ready || d.Segment == "" || d.Room != "plenty" || d.Free == 0 || len(d.Errors) > 0 {
		t.Errorf("detail: %+v", d)
	}
	_, numbers := get(o.metrics, "/metrics")
	lines := 0
	for line := range strings.Lines(numbers) {
		if line = strings.TrimSuffix(line, "\n"); strings.HasPrefix(line, "# HELP ") || strings.HasPrefix(line, "# TYPE ") {
			continue
		}
		if lines++; !sampleLine.MatchString(line) {
			t.Errorf("not a line of the format: %q", line)
		}
	}
	for _, want := range []string{
		`unsling_requests_total{route="GET /clinic/patients/{patient}",status="303"} 1`, `unsling_requests_total{route="/v1/hello",status="200"} 1`,
		"unsling_patients 2\n", "unsling_backup_failures_total 0\n", "unsling_verify_faults 0\n", "unsling_disk_room 0\n", "unsling_backup_age_seconds",
	} {
		if !strings.Contains(numbers, want) {
			t.Errorf("the numbers lack %q in\n%s", want, numbers)
		}
	}
	for what, text := range map[string]string{"numbers": numbers, "log": log.String()} {
		for _, canary := range []string{"canary", "Canary", "p1", "192.0.2.99"} {
			if strings.Contains(text, canary) {
				t.Errorf("the %s hold %q", what, canary)
			}
		}
	}
	if lines < 20 {
		t.Errorf("only %d numbers", lines)
	}

	wantCall(t, "Tokens are signed with key", "keys", "rotate", "--data", data)
	before := h.tokens.CurrentKeys().Current.ID
	u := newUpkeep(h, o)
	u.reloadKeys()
	if now := h.tokens.CurrentKeys(); now.Current.ID == before || now.Previous.ID != before {
		t.Error("the rotated keys are not in use")
	}
	u.daily(t.Context())
	if s := u.snapshot(); s.Verify.Good.IsZero() || s.Faults != 0 || s.Check.Err != "" || s.Check.Good.IsZero() || s.Tidy.Err != "" {
		t.Errorf("daily: %+v", s)
	}
	// A byte of the backup rots: the daily check says so.
	segment, err := filepath.Glob(filepath.Join(folder, "series", "*", "000001.age"))
	if err != nil || len(segment) != 1 {
		t.Fatal(segment, err)
	}
	b, err := os.ReadFile(segment[0])
	if err != nil {
		t.Fatal(err)
	}
	b[len(b)/2] ^= 1
	if err := os.WriteFile(segment[0], b, 0o600); err != nil {
		t.Fatal(err)
	}
	u.daily(t.Context())
	if s := u.snapshot(); s.Check.Err == "" {
		t.Error("a rotten byte of the backup was not found")
	}
	stop()
	if err := <-ended; err != nil {
		t.Error(err)
	}
}

// lockedBuffer is a log that is read while it is written.
type lockedBuffer struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (l *lockedBuffer) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.Write(p)
}

func (l *lockedBuffer) String() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.String()
}

func freeAddress(t *testing.T) string {
	t.Helper()
	ln, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer ln.Close()
	return ln.Addr().String()
}

// Settings that would put the operator's numbers or a backup where they do
// not belong.
func TestUpkeepOptions(t *testing.T) {
	for _, c := range []serveOptions{
		{listen: "127.0.0.1:8080", backupTo: "x"}, {listen: "127.0.0.1:8080", backupRecipient: "age1x"},
		{listen: "127.0.0.1:8080", backupTo: "x", backupRecipient: "ssh-rsa AAAA"}, {listen: "127.0.0.1:8080", proxies: "10.0.0.1"},
	} {
		if err := c.check(); err == nil {
			t.Errorf("%+v was taken", c)
		}
	}
	for _, address := range []string{"0.0.0.0:9301", "192.0.2.1:9301", "9301", "example.org:1"} {
		if _, err := listenOperator(address); err == nil {
			t.Errorf("the operator's numbers on %s", address)
		}
	}
}
