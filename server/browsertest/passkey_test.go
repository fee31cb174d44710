package browsertest

import (
	"encoding/base32"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/webauthn"
	"github.com/chromedp/chromedp"

	"unsling/server/access"
)

// realClinic starts the server as a clinic runs it, with one administrator,
// who was added by the command.
func realClinic(t *testing.T, login, password string) *Program {
	t.Helper()
	data, addr := filepath.Join(t.TempDir(), "data"), FreeAddress(t)
	cmd := exec.Command(Binary(t), "staff", "add", "--data", data, "--role", "administrator", "--login", login, "--name", "Otto Fenn",
		"--clinic", "Quay Shoulder Practice (invented)", "--clinic-phone", "+353 20 911 0000", "--zone", "Europe/Dublin")
	cmd.Stdin = strings.NewReader(password + "\n")
	if out, err := cmd.CombinedOutput(); err != nil {
		t.Fatalf("add a person: %v\n%s", err, out)
	}
	return StartProgram(t, addr, "serve", "--data", data, "--listen", addr)
}

// authenticator is a passkey device of the browser's own making (the WebAuthn
// domain of the devtools protocol).
type authenticator struct {
	p  *Page
	id webauthn.AuthenticatorID
}

func (p *Page) authenticator() *authenticator {
	p.t.Helper()
	if _, err := chromedp.Call(p.ctx, webauthn.Enable, webauthn.EnableParams{}); err != nil {
		p.t.Fatalf("passkeys of the browser: %v", err)
	}
	res, err := chromedp.Call(p.ctx, webauthn.AddVirtualAuthenticator, webauthn.AddVirtualAuthenticatorParams{Options: &webauthn.VirtualAuthenticatorOptions{
		Protocol: webauthn.AuthenticatorProtocolCtap2, Transport: webauthn.AuthenticatorTransportInternal,
		HasResidentKey: true, HasUserVerification: true, IsUserVerified: true, AutomaticPresenceSimulation: true,
	}})
	if err != nil {
		p.t.Fatalf("add a passkey device: %v", err)
	}
	return &authenticator{p, res.AuthenticatorID}
}

func (a *authenticator) verified(yes bool) {
	a.p.t.Helper()
	if _, err := chromedp.Call(a.p.ctx, webauthn.SetUserVerified, webauthn.SetUserVerifiedParams{AuthenticatorID: a.id, IsUserVerified: yes}); err != nil {
		a.p.t.Fatal(err)
	}
}

func (a *authenticator) gone() {
	a.p.t.Helper()
	if _, err := chromedp.Call(a.p.ctx, webauthn.RemoveVirtualAuthenticator, webauthn.RemoveVirtualAuthenticatorParams{AuthenticatorID: a.id}); err != nil {
		a.p.t.Fatal(err)
	}
}

// TestStaffSignIn goes the ways of staff in a real clinic: the first password
// leads to a passkey, the passkey signs in, an invitation is taken up by link,
// an app and recovery codes are the other way, and a device that did not
// verify its person is refused.
func TestStaffSignIn(t *testing.T) {
	const word = "gulls over the harbour wall"
	server := realClinic(t, "fenn", word)
	w := &watch{origin: server.URL()}
	tab := Start(t, "").NewPage()
	p := &screenPage{Page: tab, w: w}
	watchOver(tab, w)
	device := tab.authenticator()
	p.act("be a desk", chromedp.EmulateViewport(1280, 900))
	base := server.URL()

	// The password alone leads to the own account and no further.
	w.allowed = []string{"status of 401"} // what the browser notes of a refused sign-in
	p.Open(base + "/clinic/")
	p.Type("input[name=login]", "fenn")
	p.Type("input[name=password]", word)
	p.press("Sign in")
	p.WaitText("h1", "Your account")
	p.Open(base + "/clinic/staff")
	p.WaitText("h1", "Your account")
	p.press("Add a passkey")
	p.WaitText("[role=status]", "The passkey is added.")
	p.WaitText("main", "Only one. Add a second")

	// The passkey signs in, whatever is in the fields.
	p.press("Sign out")
	p.press("Sign in with a passkey")
	p.WaitText("header", "Otto Fenn")
	p.press("Sign out")
	device.verified(false)
	p.Click("[data-passkey] button")
	p.WaitText("[data-passkey] [role=alert]", "did not get a passkey")
	device.verified(true)
	p.press("Sign in with a passkey")

	// Somebody is invited.
	p.Open(base + "/clinic/staff")
	p.Type("input[name=name]", "Dr Ines Berg")
	p.Type("input[name=login]", "i.berg")
	p.fill("form select[name=role]:required", "surgeon")
	p.press("Make the invitation")
	link := p.Text("p:nth-of-type(3) .secret")
	if !strings.HasPrefix(link, base+"/clinic/join#") {
		t.Fatalf("the link is %q on %s", link, p.Text("main"))
	}
	p.press("Sign out")
	p.Open(link)
	p.Wait("document.querySelector('input[data-code]').value.length > 20 && location.hash === ''")
	p.press("Go on")
	p.WaitText("h1", "Welcome, Dr Ines Berg")
	p.press("Make a passkey")
	p.WaitText("h1", "Your account")
	p.WaitText("header", "Watch list")

	// The other way: password, app, recovery codes.
	p.Eval("document.querySelectorAll('details').forEach(d => d.open = true)", nil)
	p.Type("input[name=new]", "a lantern in the boathouse")
	p.Type("input[name=repeat]", "a lantern in the boathouse")
	p.press("Save the password")
	p.WaitText("[role=status]", "Saved.")
	p.link("Set up an app")
	secret, err := base32.StdEncoding.WithPadding(base32.NoPadding).DecodeString(strings.ReplaceAll(p.Text(".secret"), " ", ""))
	if err != nil || len(secret) != 20 {
		t.Fatalf("the secret on the page: %v", err)
	}
	var modules int
	p.Eval("document.querySelectorAll('.qr svg path').length", &modules)
	if modules != 1 {
		t.Errorf("no QR code on the page")
	}
	p.Type("input[name=code]", access.TOTPCode(secret, time.Now()))
	p.press("Finish")
	p.WaitText("h1", "Recovery codes")
	var codes []string
	p.Eval("[...document.querySelectorAll('.codes li')].map(l => l.textContent)", &codes)
	if len(codes) != access.RecoveryCodes {
		t.Fatalf("%d recovery codes", len(codes))
	}
	p.press("Sign out")
	device.gone() // the device is lost
	for i, code := range []string{codes[0], codes[0]} {
		p.Type("input[name=login]", "i.berg")
		p.Type("input[name=password]", "a lantern in the boathouse")
		p.press("Sign in")
		p.WaitText("h1", "Second step")
		p.Type("input[name=code]", code)
		p.press("Go on")
		if i == 0 {
			p.WaitText("header", "Dr Ines Berg")
			p.press("Sign out")
			continue
		}
		p.WaitText("[role=alert]", "wrong or was used before")
	}
	// A code of the app of the next step: the one of now set it up.
	p.Type("input[name=code]", access.TOTPCode(secret, time.Now().Add(access.TOTPStep)))
	p.press("Go on")
	p.WaitText("header", "Dr Ines Berg")

	for _, line := range w.bad {
		t.Errorf("the browser said: %s", line)
	}
	if out := server.Output(); strings.Contains(out, word) || strings.Contains(out, codes[0]) || strings.Contains(out, "Berg") {
		t.Error("the server's log holds a secret or a name")
	}
}
