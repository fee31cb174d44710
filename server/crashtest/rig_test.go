package crashtest

import (
	"bufio"
	"bytes"
	"context"
	crand "crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"errors"
	"fmt"
	"io/fs"
	"net"
	"net/http"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"unsling/engine/rom"
	"unsling/server/access"
	"unsling/server/internal/phonekeys"
	"unsling/server/ledger"
	"unsling/server/ledger/badgerstore"
	"unsling/sync/client"
	"unsling/sync/journal"
	"unsling/sync/replica"
	"unsling/sync/wire"
)

var built struct {
	sync.Once
	path string
	err  error
}

// binary builds the server once.
func binary(t testing.TB) string {
	t.Helper()
	built.Do(func() {
		built.path = filepath.Join("..", "..", "bin", "unsling-crash")
		out, err := exec.Command("go", "build", "-trimpath", "-o", built.path, "unsling/server").CombinedOutput()
		if err != nil {
			built.err = fmt.Errorf("build the server: %w\n%s", err, out)
		}
	})
	if built.err != nil {
		t.Fatal(built.err)
	}
	return built.path
}

// fold is the server's own, so that its verification finds equal facts.
var fold = ledger.Fold{Version: replica.FoldVersion, Add: func(facts []byte, lines []ledger.Line) ([]byte, error) {
	for _, l := range lines {
		if !l.Erased {
			facts = append(append(facts, l.Bytes...), '\n')
		}
	}
	return facts, nil
}}

// clinic is a data folder with an invented clinic, and the server over it.
type clinic struct {
	t    testing.TB
	data string
	addr string
	ring access.Keyring
	more []string // more arguments of serve

	cmd *exec.Cmd
	mu  sync.Mutex
	out bytes.Buffer
}

var patients = []rom.PatientID{"p1", "p2"}

const staffSession = "session-of-the-test"

func newClinic(t testing.TB) *clinic {
	t.Helper()
	ln, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	c := &clinic{t: t, data: t.TempDir(), addr: ln.Addr().String()}
	ln.Close()
	if c.ring, err = access.OpenKeyring(filepath.Join(c.data, "keys"), crand.Reader, time.Now()); err != nil {
		t.Fatal(err)
	}
	s := c.open()
	defer s.Close()
	trail := ledger.Trail{At: time.Now(), Actor: "vega"}
	err = errors.Join(
		s.SetClinic(ledger.Clinic{Name: "Invented practice", Phone: "555 0100", Zone: "UTC"}, trail),
		s.AddStaff(ledger.Staff{ID: "vega", Login: "vega", Name: "Invented surgeon", Role: ledger.Surgeon}, trail),
		s.StartSession(ledger.Session{ID: staffSession, Staff: "vega", Started: time.Now(), Until: time.Now().Add(access.SessionLife)}, trail))
	for _, p := range patients {
		raw, v, bad := wire.EncodeBody(wire.KindEpisode, rom.Episode{ID: "e1", Version: 1, State: rom.Planned, Side: rom.Left, Procedures: rom.Procedures[:1], By: "vega"})
		err = errors.Join(err, bad, s.CreatePatient(ledger.Patient{ID: p, Name: "Invented patient " + string(p)}, []rom.StaffID{"vega"},
			[]ledger.Draft{{Kind: wire.KindEpisode, V: v, Body: raw, At: time.Now(), Zone: "UTC"}}, trail))
	}
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(c.kill)
	return c
}

// open opens the store while no server has it.
func (c *clinic) open() *badgerstore.Store {
	c.t.Helper()
	s, err := badgerstore.Open(filepath.Join(c.data, "store"), badgerstore.Options{
		Content: c.ring.Content, ClinicMAC: c.ring.ClinicMAC, Fold: fold, Chance: crand.Reader, Run: "test", Started: time.Now(),
	})
	if err != nil {
		c.t.Fatal(err)
	}
	return s
}

func (c *clinic) url() string {
	_, port, _ := net.SplitHostPort(c.addr)
	return "http://localhost:" + port
}

// start starts the server and waits until it is ready, or says why it is not.
func (c *clinic) start() error {
	c.t.Helper()
	c.cmd = exec.Command(binary(c.t), append([]string{"serve", "--data", c.data, "--listen", c.addr}, c.more...)...)
	c.cmd.SysProcAttr = &syscall.SysProcAttr{Pdeathsig: syscall.SIGKILL}
	pipe, err := c.cmd.StdoutPipe()
	if err == nil {
		c.cmd.Stderr = c.cmd.Stdout
		err = c.cmd.Start()
	}
	if err != nil {
		c.t.Fatal(err)
	}
	ended := make(chan struct{})
	go func() {
		defer close(ended)
		for s := bufio.NewScanner(pipe); s.Scan(); {
			c.mu.Lock()
			c.out.WriteString(s.Text() + "\n")
			c.mu.Unlock()
		}
	}()
	for until := time.Now().Add(3 * time.Minute); time.Now().Before(until); {
		select {
		case <-ended:
			_ = c.cmd.Wait()
			c.cmd = nil
			return fmt.Errorf("the server ended: %s", c.said())
		case <-time.After(5 * time.Millisecond):
		}
		res, err := http.Get(c.url() + "/healthz")
		if err == nil {
			res.Body.Close()
			if res.StatusCode == http.StatusOK {
				return nil
			}
		}
	}
	c.kill()
	return fmt.Errorf("the server does not answer: %s", c.said())
}

func (c *clinic) said() string {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.out.String()
}

func (c *clinic) kill() { c.signal(syscall.SIGKILL) }
func (c *clinic) stop() { c.signal(syscall.SIGTERM) }

func (c *clinic) signal(s syscall.Signal) {
	if c.cmd != nil && c.cmd.Process != nil {
		_ = c.cmd.Process.Signal(s)
		_ = c.cmd.Wait()
		c.cmd = nil
	}
}

// halfMade leaves files behind as a kill does that comes between making or
// emptying a file and the next step.
func (c *clinic) halfMade() {
	c.t.Helper()
	for _, name := range []string{"00000.mem", "99999.mem", "000000.vlog", "999999.vlog", "999999.sst", "MANIFEST-REWRITE"} {
		if err := os.WriteFile(filepath.Join(c.data, "store", name), nil, 0o600); err != nil {
			c.t.Fatal(err)
		}
	}
}

// hashes are of all files of the data folder.
func (c *clinic) hashes() map[string][32]byte {
	c.t.Helper()
	all := map[string][32]byte{}
	err := filepath.WalkDir(c.data, func(path string, d fs.DirEntry, err error) error {
		if err == nil && !d.IsDir() {
			var b []byte
			b, err = os.ReadFile(path)
			all[path] = sha256.Sum256(b)
		}
		return err
	})
	if err != nil || len(all) < 5 {
		c.t.Fatalf("%d files: %v", len(all), err)
	}
	return all
}

// verify runs the command.
func (c *clinic) verify() (string, error) {
	out, err := exec.Command(binary(c.t), "verify", c.data).CombinedOutput()
	return string(out), err
}

// note writes a note at the clinic's form and reports whether the server said
// that it did.
func (c *clinic) note(p rom.PatientID, text string) bool {
	now := time.Now()
	tokens := access.Tokens{Issuer: c.url(), Keys: c.ring.Signing}
	token, err := tokens.IssueStaff(access.StaffToken{Staff: "vega", Session: staffSession, Started: now, Scopes: access.ScopesFor(ledger.Surgeon)}, id16(), now)
	if err != nil {
		return false
	}
	form := url.Values{"text": {text}, "once": {id16()}, "episode": {"e1"}}
	req, err := http.NewRequest(http.MethodPost, c.url()+"/clinic/patients/"+string(p)+"/entry/note", strings.NewReader(form.Encode()))
	if err != nil {
		return false
	}
	req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	req.Header.Set("Origin", c.url())
	req.Header.Set("Sec-Fetch-Site", "same-origin")
	req.AddCookie(&http.Cookie{Name: access.Cookies{Plain: true}.Name(), Value: token})
	once := http.Client{Timeout: 20 * time.Second, CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	res, err := once.Do(req)
	if err != nil {
		return false
	}
	res.Body.Close()
	return res.StatusCode == http.StatusSeeOther && !strings.Contains(res.Header.Get("Location"), "sign-in")
}

func id16() string {
	var b [16]byte
	_, _ = crand.Read(b[:])
	return base64.RawURLEncoding.EncodeToString(b[:])
}

// invite makes an invitation while no server runs.
func (c *clinic) invite(s *badgerstore.Store, p rom.PatientID) string {
	c.t.Helper()
	secrets, inv, err := access.NewInvitation(ledger.InDemo, c.ring.Codes, time.Now(), crand.Reader)
	if err == nil {
		inv.ID, inv.Patient = id16(), p
		err = s.Invite(inv, ledger.Trail{At: time.Now(), Actor: "vega"})
	}
	if err != nil {
		c.t.Fatal(err)
	}
	return secrets.QR
}

// keys are the private keys of installations, as phones keep them.
type keys = phonekeys.Keys

// phone is the phone's own code over a disk in memory.
type phone struct {
	patient rom.PatientID
	code    string
	disk    *journal.Disk
	keys    *keys
	writer  *journal.Writer
	syncer  *client.Syncer
	client  *client.Client
	wrote   int
}

func newPhone(base string, p rom.PatientID, code string, disk *journal.Disk, k *keys) *phone {
	store := disk.Open()
	salt := func() (b [16]byte) { _, _ = crand.Read(b[:]); return b }
	c := &client.Client{Base: base, HTTP: client.Over(&http.Client{Timeout: 20 * time.Second}), Keys: k, Random: salt}
	return &phone{
		patient: p, code: code, disk: disk, keys: k, client: c,
		writer: &journal.Writer{Store: store, Author: journal.Author(store), Run: "r" + id16(), Mono: func() int64 { return time.Now().UnixMilli() },
			Now: time.Now, Zone: func() string { return "UTC" }, Rev: func() int { return 0 }, Salt: salt},
		syncer: &client.Syncer{Store: store, Server: c, App: "crash", Following: func() int { return 0 }, Now: time.Now},
	}
}

// copy is the same phone with a copy of its disk.
func (p *phone) copy() *phone {
	return newPhone(p.client.Base, p.patient, p.code, p.disk.Copy(), p.keys)
}

func (p *phone) join(ctx context.Context) error {
	_, err := p.client.Join(ctx, p.syncer.Store, client.Invitation{Code: p.code, Name: "phone"})
	if errors.Is(err, client.ErrEnrolled) {
		return nil
	}
	return err
}

// write keeps one record; a longer one now and then.
func (p *phone) write() error {
	text := fmt.Sprintf("record %d", p.wrote)
	if p.wrote%17 == 0 {
		text += strings.Repeat(" long", 60)
	}
	p.wrote++
	_, err := p.writer.Append(context.Background(), wire.KindQuestion, rom.Question{Episode: "e1", Text: text})
	return err
}

func (p *phone) state(t testing.TB) replica.State {
	t.Helper()
	st, err := journal.LoadState(context.Background(), p.syncer.Store)
	if err != nil {
		t.Fatal(err)
	}
	return st
}

// own are the phone's own lines in their order.
func (p *phone) own(t testing.TB) [][]byte {
	t.Helper()
	rows, err := p.syncer.Store.Rows(context.Background(), p.state(t).Author, 1, 1<<20)
	if err != nil {
		t.Fatal(err)
	}
	var out [][]byte
	for _, r := range rows {
		out = append(out, r.Line)
	}
	return out
}
