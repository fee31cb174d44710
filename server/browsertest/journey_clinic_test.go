package browsertest

import (
	"crypto/rand"
	"fmt"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"time"

	"github.com/chromedp/chromedp"

	"unsling/server/access"
	"unsling/server/ledger"
	"unsling/server/ledger/badgerstore"
	"unsling/sync/replica"
)

// signIn signs a person of the demo in.
func (p *screenPage) signIn(h *house, login string) {
	p.t.Helper()
	p.Open(h.URL() + "/clinic/")
	p.Type("input[name=login]", login)
	p.Type("input[name=password]", h.password(login))
	p.press("Sign in")
	p.WaitText("h1", "Watch list")
	signedIn.Store(p, h.password(login))
}

// signedIn holds the password of whoever is signed in on a page, for when the clinic asks again who is there.
var signedIn sync.Map

// again answers the question who is there, if the page asks it; what was sent before goes on by itself.
func (p *screenPage) again() {
	p.t.Helper()
	password, known := signedIn.Load(p)
	var asked bool
	p.Eval(`!!document.querySelector("form[action='/clinic/again']")`, &asked)
	if !known || !asked {
		return
	}
	p.Type("input[name=password]", password.(string))
	p.follow(`document.querySelector("form[action='/clinic/again'] button.main")`)
	p.Wait(`document.readyState === 'complete' && !document.querySelector("form[action='/clinic/again'], form[data-send]")`)
}

// press clicks the button with this text and waits for the page that follows.
func (p *screenPage) press(text string) {
	p.t.Helper()
	p.follow(fmt.Sprintf("[...document.querySelectorAll('button')].find(b => b.innerText.trim() === %s)", quote(text)))
	p.again()
}

// link clicks the link with this text and waits for the page that follows.
func (p *screenPage) link(text string) {
	p.t.Helper()
	p.follow(fmt.Sprintf("[...document.querySelectorAll('a')].find(a => a.innerText.trim() === %s)", quote(text)))
}

func (p *screenPage) follow(element string) {
	p.t.Helper()
	p.Eval("window.testBefore = true", nil)
	var found bool
	p.Eval("(() => { const e = "+element+"; e?.scrollIntoView({block: 'center'}); e?.setAttribute('data-test', 'here'); return !!e; })()", &found)
	if !found {
		p.t.Fatalf("not on the page: %s\nscreen: %s", element, short(p.Text("body")))
	}
	p.Click("[data-test=here]")
	p.Wait("!window.testBefore && document.readyState === 'complete'")
}

// fill puts a value into a field of a form, as typing or a date picker does.
func (p *screenPage) fill(field, value string) {
	p.t.Helper()
	p.act("fill in "+field, chromedp.SetValue(field, value))
}

// patient goes from the watch list to a patient's page.
func (p *screenPage) patient(h *house, name string) {
	p.t.Helper()
	p.Open(h.URL() + "/clinic/?find=" + strings.ReplaceAll(name, " ", "+"))
	p.link(name)
}

// records are the lines of the table of every record, the oldest first, as the clinic's page words them.
func (p *screenPage) records() (all []string) {
	p.t.Helper()
	p.Eval(`[...document.querySelectorAll("[aria-label='Every record'] tbody tr")].map(r => r.cells[1].textContent.trim() + ": " + r.cells[2].textContent.trim()).reverse()`, &all)
	return all
}

// openStore opens the store of a house while its server is down.
func (h *house) openStore() (*badgerstore.Store, access.Keyring) {
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
	return store, ring
}

// expired puts an invitation into the store that was made two days ago, and gives its typed code.
func (h *house) expired() string {
	h.t.Helper()
	store, ring := h.openStore()
	defer store.Close()
	rows, err := store.Panel("")
	if err != nil || len(rows) == 0 {
		h.t.Fatal("no patient to invite: ", err)
	}
	made := time.Now().Add(-48 * time.Hour)
	secrets, row, err := access.NewInvitation(ledger.InDemo, ring.Codes, made, rand.Reader)
	if err != nil {
		h.t.Fatal(err)
	}
	row.ID, row.Patient, row.By = "expired", rows[0].Patient.ID, "marsh"
	if err := store.Invite(row, ledger.Trail{At: made.UTC(), Actor: "server"}); err != nil {
		h.t.Fatal(err)
	}
	return secrets.Code
}

// log reads a patient's log from the store.
func (h *house) log(name string) (lines []ledger.Line) {
	h.t.Helper()
	store, _ := h.openStore()
	defer store.Close()
	rows, err := store.Panel("")
	if err != nil {
		h.t.Fatal(err)
	}
	for _, r := range rows {
		if r.Patient.Name == name {
			if lines, err = store.Read(r.Patient.ID, 1, 0); err != nil {
				h.t.Fatal(err)
			}
			if r.Quarantined != 0 {
				h.t.Errorf("%d lines of %s were set aside", r.Quarantined, name)
			}
		}
	}
	if len(lines) == 0 {
		h.t.Fatalf("the store has no log of %s", name)
	}
	return lines
}

// verify runs the program's own check of its data folder.
func (h *house) verify() {
	h.t.Helper()
	out, err := exec.Command(h.bin, "verify", h.data).CombinedOutput()
	if err != nil || !strings.Contains(string(out), " 0 faults") {
		h.t.Errorf("verify: %v\n%s", err, out)
	}
}

// kept are the lines that the phone has in its own database, by author and number.
func (p *screenPage) kept() (lines []string) {
	p.t.Helper()
	p.Eval(readLog, &lines)
	return lines
}
