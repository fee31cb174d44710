package enginetest

import (
	"crypto/rand"
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"unsling/server/access"
	"unsling/server/browsertest"
	"unsling/server/ledger"
	"unsling/server/ledger/badgerstore"
	"unsling/sync/replica"
)

// house is the real server with the invented clinic, and what demo.json says about it.
type house struct {
	t         *testing.T
	data, bin string
	*browsertest.Program

	Staff       []struct{ Login, Password string }
	Invitations []invitation
}

type invitation struct{ Patient, Code, Link string }

func (h *house) read() {
	h.t.Helper()
	text, err := os.ReadFile(filepath.Join(h.data, "demo.json"))
	if err != nil {
		h.t.Fatal(err)
	}
	if err := json.Unmarshal(text, h); err != nil {
		h.t.Fatal(err)
	}
}

func (h *house) next() invitation {
	h.t.Helper()
	if len(h.Invitations) == 0 {
		h.t.Fatal("no invitation is left")
	}
	return h.Invitations[0]
}

func (h *house) password(login string) string {
	for _, s := range h.Staff {
		if s.Login == login {
			return s.Password
		}
	}
	h.t.Fatalf("the demo has no sign-in %q", login)
	return ""
}

// verify runs the program's own check of its data folder.
func (h *house) verify() {
	h.t.Helper()
	out, err := exec.Command(h.bin, "verify", h.data).CombinedOutput()
	if err != nil || !strings.Contains(string(out), " 0 faults") {
		h.t.Errorf("verify: %v\n%s", err, out)
	}
}

// log reads a patient's log from the store while the server is down.
func (h *house) log(name string) (lines []ledger.Line) {
	h.t.Helper()
	ring, err := access.OpenKeyring(filepath.Join(h.data, "keys"), rand.Reader, time.Now())
	if err != nil {
		h.t.Fatal(err)
	}
	store, err := badgerstore.Open(filepath.Join(h.data, "store"), badgerstore.Options{
		Content: ring.Content, ClinicMAC: ring.ClinicMAC, Chance: rand.Reader, Run: "t", Started: time.Now(),
		Fold: ledger.Fold{Version: replica.FoldVersion, Add: func(facts []byte, lines []ledger.Line) ([]byte, error) { // as the server's own
			for _, l := range lines {
				if !l.Erased {
					facts = append(append(facts, l.Bytes...), '\n')
				}
			}
			return facts, nil
		}},
	})
	if err != nil {
		h.t.Fatal(err)
	}
	defer store.Close()
	rows, err := store.Panel("")
	if err != nil {
		h.t.Fatal(err)
	}
	for _, r := range rows {
		if r.Patient.Name == name {
			if lines, err = store.Read(r.Patient.ID, 1, 0); err != nil || r.Quarantined != 0 {
				h.t.Fatalf("the log: %v, %d lines set aside", err, r.Quarantined)
			}
		}
	}
	if len(lines) == 0 {
		h.t.Fatalf("the store has no log of %s", name)
	}
	return lines
}

// touch presses a place of the photograph.
func (p *Page) touch(s browsertest.Spot) {
	p.t.Helper()
	var b struct{ X, Y, Width float64 }
	p.Eval("(() => { const r = document.querySelector('#photo').getBoundingClientRect(); return {X: r.x, Y: r.y, Width: r.width}; })()", &b)
	p.TapAt(b.X+s.X*b.Width/1000, b.Y+s.Y*b.Width/1000)
}
