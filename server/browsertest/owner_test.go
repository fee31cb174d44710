package browsertest

import (
	"github.com/chromedp/cdproto/webauthn"
	"github.com/chromedp/chromedp"
)

// owner is a fingerprint reader inside the phone (Web Authentication level 3, section 11: a virtual authenticator).
type owner struct {
	p  *Page
	id webauthn.AuthenticatorID
}

// fingerprint gives the tab a reader that knows its owner.
func (p *Page) fingerprint() owner {
	p.t.Helper()
	if _, err := chromedp.Call(p.ctx, webauthn.Enable, webauthn.EnableParams{}); err != nil {
		p.t.Fatalf("web authentication: %v", err)
	}
	res, err := chromedp.Call(p.ctx, webauthn.AddVirtualAuthenticator, webauthn.AddVirtualAuthenticatorParams{Options: &webauthn.VirtualAuthenticatorOptions{
		Protocol: "ctap2", Transport: "internal", HasUserVerification: true, IsUserVerified: true, AutomaticPresenceSimulation: true,
	}})
	if err != nil {
		p.t.Fatalf("a fingerprint reader: %v", err)
	}
	return owner{p, res.AuthenticatorID}
}

// isThere says whose finger lies on it from now on.
func (o owner) isThere(yes bool) {
	o.p.t.Helper()
	if _, err := chromedp.Call(o.p.ctx, webauthn.SetUserVerified, webauthn.SetUserVerifiedParams{AuthenticatorID: o.id, IsUserVerified: yes}); err != nil {
		o.p.t.Fatalf("the finger: %v", err)
	}
}
