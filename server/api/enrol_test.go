package api

import (
	"encoding/json"
	"net/http"
	"strings"
	"testing"
	"time"

	"unsling/server/access"
	"unsling/server/ledger"
	"unsling/sync/wire"
)

func TestEnrol(t *testing.T) {
	r := newRig(t)
	secrets := r.invite(ledger.AtDesk, "p1")
	p := r.newPhone()
	status, body := p.enrol(strings.ToLower(strings.ReplaceAll(secrets.Code, "-", " ")))
	var got wire.Enrolled
	if err := json.Unmarshal(body, &got); err != nil || status != http.StatusCreated {
		t.Fatalf("%d %s %v", status, body, err)
	}
	about, _ := r.store.About()
	if got.Patient != "p1" || got.State != wire.Active || len(got.Check) != 2 || got.Epoch != about.Epoch ||
		got.Clinic != (wire.Clinic{Name: "Invented practice", Phone: "555 0100", Zone: "Europe/Madrid"}) {
		t.Errorf("%+v", got)
	}
	row, err := r.store.Author(p.id.Author)
	if err != nil || row.Check != got.Check || row.Name != "Phone of a canary" {
		t.Errorf("row %+v %v", row, err)
	}
	r.later(time.Hour)
	again, text := p.enrol(secrets.QR) // the answer was lost; the other secret of the same invitation
	if again != http.StatusCreated || string(text) != string(body) {
		t.Errorf("again: %d %s", again, text)
	}
	if strings.Contains(string(body), "Canary Surname") {
		t.Error("the answer tells the patient's name")
	}
}

// One clear sentence for each bad input, and no row.
func TestEnrolRefusals(t *testing.T) {
	r := newRig(t)
	used, spent := r.invite(ledger.AtDesk, "p1"), r.newPhone()
	if status, body := spent.enrol(used.QR); status != http.StatusCreated {
		t.Fatalf("%d %s", status, body)
	}
	old := r.invite(ledger.AtDesk, "p1")
	r.later(access.DeskLife)

	status, body := r.newPhone().enrol(old.Code)
	r.want("expired code", wire.CodeExpired, status, body)
	status, body = r.newPhone().enrol(used.Code)
	r.want("used code", wire.CodeUsed, status, body)
	status, body = r.newPhone().enrol("ZZZZ-ZZZZ")
	r.want("wrong code", wire.CodeUnknown, status, body)
	status, body = r.newPhone().enrol("hello")
	r.want("no code at all", wire.CodeUnknown, status, body)
	status, body = spent.enrol(r.invite(ledger.AtDesk, "p2").QR)
	r.want("device taken", wire.DeviceTaken, status, body)

	post := func(change func(p *phone, m map[string]any)) (int, []byte) {
		p := r.newPhone()
		m := p.enrolBody(r.invite(ledger.AtDesk, "p1").QR)
		change(p, m)
		text, _ := json.Marshal(m)
		return r.post(wire.PathEnrol, "application/json", text, nil)
	}
	for _, c := range []struct {
		name   string
		want   wire.Code
		change func(p *phone, m map[string]any)
	}{
		{"no author", wire.Malformed, func(_ *phone, m map[string]any) { delete(m, "author") }},
		{"short author", wire.Malformed, func(_ *phone, m map[string]any) { m["author"] = "a1" }},
		{"the clinic's author", wire.Malformed, func(_ *phone, m map[string]any) { m["author"] = "c-0123456789abcdef" }},
		{"author with a slash", wire.Malformed, func(_ *phone, m map[string]any) { m["author"] = "0123456789/abcdef" }},
		{"no key", wire.Malformed, func(_ *phone, m map[string]any) { delete(m, "key") }},
		{"another's key", wire.BadAssertion, func(_ *phone, m map[string]any) { m["key"] = r.newPhone().id.Key }},
		{"no assertion", wire.BadAssertion, func(_ *phone, m map[string]any) { delete(m, "assertion") }},
		{"assertion for the token address", wire.BadAssertion, func(p *phone, m map[string]any) { m["assertion"] = p.assertion(wire.PathToken, nil) }},
		{"code of a number", wire.Malformed, func(_ *phone, m map[string]any) { m["code"] = 12345678 }},
	} {
		status, body := post(c.change)
		r.want(c.name, c.want, status, body)
	}
	status, body = r.post(wire.PathEnrol, "application/json", []byte("{"), nil)
	r.want("not JSON", wire.Malformed, status, body)
	status, body = r.post(wire.PathEnrol, "application/json", []byte(`{"code":"`+strings.Repeat("x", 1<<20)+`"}`), nil)
	r.want("huge", wire.TooBig, status, body)
	status, body = r.post(wire.PathEnrol, "text/plain", []byte("{}"), nil)
	r.want("another content type", wire.BadType, status, body)
	status, body = r.get(wire.PathEnrol)
	r.want("GET", wire.BadMethod, status, body)
	if rows, _ := r.store.Authors("p1"); len(rows) != 1 {
		t.Errorf("%d phones were let in, want the first only", len(rows))
	}
}

func TestTakeHomeInvitation(t *testing.T) {
	r := newRig(t)
	s := r.invite(ledger.TakeHome, "p1")
	try := func(p *phone, pin string) (int, []byte) {
		m := p.enrolBody(s.QR)
		m["pin"] = pin
		text, _ := json.Marshal(m)
		return r.post(wire.PathEnrol, "application/json", text, nil)
	}
	p := r.newPhone()
	status, body := try(p, "")
	r.want("without the number", wire.WrongPIN, status, body)
	wrong := "000000"
	if s.PIN == wrong {
		wrong = "000001"
	}
	status, body = try(p, wrong)
	r.want("wrong number", wire.WrongPIN, status, body)
	r.later(6 * 24 * time.Hour)
	if status, body := try(p, s.PIN[:3]+" "+s.PIN[3:]); status != http.StatusCreated {
		t.Errorf("right number: %d %s", status, body)
	}
}

func TestConfirmation(t *testing.T) {
	r := newRig(t)
	clinic, _ := r.store.Clinic()
	clinic.Confirm = true
	if err := r.store.SetClinic(clinic, ledger.Trail{At: noon}); err != nil {
		t.Fatal(err)
	}
	p, s := r.newPhone(), r.invite(ledger.AtDesk, "p1")
	var got wire.Enrolled
	status, body := p.enrol(s.QR)
	if err := json.Unmarshal(body, &got); err != nil || status != http.StatusCreated || got.State != wire.Waiting {
		t.Fatalf("%d %s", status, body)
	}
	status, body = p.askToken(p.assertion(wire.PathToken, nil))
	r.want("before staff confirmed", wire.Pending, status, body)
	if err := r.store.ConfirmAuthor(p.id.Author, ledger.Trail{At: noon}); err != nil {
		t.Fatal(err)
	}
	p.signIn()
	if _, body := p.enrol(s.QR); !strings.Contains(string(body), `"state":"active"`) {
		t.Errorf("asked again: %s", body)
	}
}

// Guessing typed codes slows down for one address and, when many take part,
// for all, while a scanned code still works (OWASP ASVS 5.0, 6.3.1, 6.6.3).
func TestGuessingCodes(t *testing.T) {
	r := newRig(t)
	refused := 0
	for range 60 {
		status, body := r.newPhone().enrol("ZZZZ-ZZZZ")
		if status == wire.TooMany.Status() {
			var e wire.Error
			if json.Unmarshal(body, &e) != nil || e.Wait < 1 {
				t.Errorf("no time to wait: %s", body)
			}
			refused++
		}
	}
	if refused < 40 {
		t.Errorf("%d of 60 guesses of one code were slowed down", refused)
	}
	r.later(time.Hour)
	if status, body := r.newPhone().enrol(r.invite(ledger.AtDesk, "p1").QR); status != http.StatusCreated {
		t.Errorf("scanned code an hour later: %d %s", status, body)
	}
}

func TestToken(t *testing.T) {
	r := newRig(t)
	p := r.enrolled()
	tok := p.signIn()
	if tok.TokenType != "Bearer" || tok.ExpiresIn != 900 || tok.Scope != "__exchange" {
		t.Errorf("%+v", tok)
	}
	stranger := r.newPhone()
	status, body := stranger.askToken(stranger.assertion(wire.PathToken, nil))
	r.want("unknown phone", wire.UnknownDevice, status, body)

	status, body = p.askToken(p.assertion(wire.PathEnrol, nil))
	r.want("made for another address", wire.BadAssertion, status, body)
	good := p.assertion(wire.PathToken, nil)
	if status, body := p.askToken(good); status != http.StatusOK {
		t.Fatalf("%d %s", status, body)
	}
	status, body = p.askToken(good)
	r.want("the same assertion again", wire.BadAssertion, status, body)
	stolen := p.assertion(wire.PathToken, func(m map[string]any) { m["iss"], m["sub"] = stranger.id.Author, stranger.id.Author })
	status, body = p.askToken(stolen)
	r.want("in the name of another", wire.UnknownDevice, status, body)
	late := p.assertion(wire.PathToken, nil)
	r.later(access.AssertionLife + access.Leeway + time.Second)
	status, body = p.askToken(late)
	r.want("too late", wire.BadAssertion, status, body)
	nonce := p.assertion(wire.PathToken, func(m map[string]any) {
		m["iat"], m["exp"] = noon.Add(7*time.Minute).Unix(), noon.Add(8*time.Minute).Unix()
	})
	r.later(access.NonceLife + time.Second)
	status, body = p.askToken(nonce)
	r.want("old nonce", wire.BadAssertion, status, body)
	status, body = p.askToken(p.assertion(wire.PathToken, func(m map[string]any) { m["nonce"] = "invented" }))
	r.want("invented nonce", wire.BadAssertion, status, body)

	for name, form := range map[string]string{
		"empty": "", "no assertion": "grant_type=client_credentials", "two assertions": "grant_type=client_credentials&client_assertion=a&client_assertion=b",
		"password grant": "grant_type=password&username=a&password=b", "not a form": "%zz",
	} {
		status, body := r.post(wire.PathToken, "application/x-www-form-urlencoded", []byte(form), nil)
		r.want(name, wire.Malformed, status, body)
	}
	status, body = p.askToken("a.b.c")
	r.want("no JWT", wire.BadAssertion, status, body)
	status, body = r.post(wire.PathToken, "application/json", []byte("{}"), nil)
	r.want("as JSON", wire.BadType, status, body)
}

func TestCopiedPhone(t *testing.T) {
	r := newRig(t)
	p, twin := r.enrolled(), r.newPhone()
	body := func(id *phone) []byte {
		b, _ := json.Marshal(map[string]any{"author": id.id.Author, "key": id.id.Key, "assertion": id.assertion(wire.PathDevices, nil)})
		return b
	}
	status, text := r.post(wire.PathDevices, "application/json", body(twin), p.bearer())
	if status != http.StatusCreated || !strings.Contains(string(text), `"patient":"p1"`) {
		t.Fatalf("%d %s", status, text)
	}
	twin.signIn()
	twin.write("mine")
	if reply, _ := twin.send(twin.request(1, twin.lines...)); reply.Ack.N != 1 {
		t.Errorf("%+v", reply)
	}
	status, text = r.post(wire.PathDevices, "application/json", body(r.newPhone()), nil)
	r.want("without a token", wire.Unauthorized, status, text)
	other := r.enrolled()
	status, text = r.post(wire.PathDevices, "application/json", body(other), p.bearer())
	r.want("id of another phone", wire.DeviceTaken, status, text)
	if err := r.store.RevokeAuthor(p.id.Author, ledger.Trail{At: noon}); err != nil {
		t.Fatal(err)
	}
	status, text = r.post(wire.PathDevices, "application/json", body(r.newPhone()), p.bearer())
	r.want("revoked, with a token from before", wire.Forbidden, status, text)
	if tok := p.signIn(); tok.Scope != "__sealed" {
		t.Errorf("token of a revoked phone: %+v", tok)
	}
	status, text = r.post(wire.PathDevices, "application/json", body(r.newPhone()), p.bearer())
	r.want("revoked", wire.Forbidden, status, text)
}
