package clinic

import (
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"time"

	"rsc.io/qr"

	"unsling/engine/rom"
	"unsling/server/access"
	"unsling/server/ledger"
)

// sheet is an invitation with its secrets. It is held in memory only, for
// the person who made it, as long as the invitation is good.
type sheet struct {
	Patient rom.PatientID
	Session string
	Secrets access.Secrets
	Made    time.Time
	Until   time.Time
	Kind    ledger.InvitationKind
}

type sheetPage struct {
	Care    care
	HasCare bool
	Code    string
	PIN     string
	Link    string
	QR      string // SVG
	Until   string
	Home    bool
	Base    string
	// Emergency is the emergency number of the place.
	Emergency string
}

// toSheet makes an invitation, in place of the phones named, and sends the person to its sheet.
func (v *visit) toSheet(kind ledger.InvitationKind, what string, replaces ...rom.Author) error {
	secrets, row, err := access.NewInvitation(kind, v.desk.Codes, v.at, v.desk.chance())
	if err != nil {
		return err
	}
	row.ID, row.Patient, row.By, row.Replaces = v.desk.id(), v.patient.ID, v.staff.ID, replaces
	if err := v.desk.Store.Invite(row, v.trail()); err != nil {
		return err
	}
	key := v.desk.id()
	v.desk.keepSheet(key, sheet{v.patient.ID, v.token.Session, secrets, row.Made, row.Until, kind}, v.at)
	return v.back("/clinic/patients/"+string(v.patient.ID)+"/sheet?key="+url.QueryEscape(key), what)
}

func (d *Desk) keepSheet(key string, s sheet, now time.Time) {
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.sheets == nil {
		d.sheets = map[string]sheet{}
	}
	oldest := ""
	for k, old := range d.sheets {
		switch {
		case now.After(old.Until):
			delete(d.sheets, k)
		case oldest == "" || old.Made.Before(d.sheets[oldest].Made):
			oldest = k
		}
	}
	if len(d.sheets) >= sheetsKept { // whose page is open longest has printed it
		delete(d.sheets, oldest)
	}
	d.sheets[key] = s
}

// sheetsKept bounds how many sheets can be shown, those of all people together.
const sheetsKept = 1000

// sheetPage is the printable sheet: QR code, short code, steps and cautions.
func (d *Desk) sheetPage(v *visit) error {
	d.mu.Lock()
	s, ok := d.sheets[v.r.URL.Query().Get("key")]
	d.mu.Unlock()
	if !ok || s.Patient != v.patient.ID || s.Session != v.token.Session || v.at.After(s.Until) {
		return refuse(http.StatusGone, "This invitation is shown once, to whoever made it, and not any more. If it was not printed, make a new one on the patient's page: this one then stays unused and runs out by itself.")
	}
	f, err := v.file()
	if err != nil {
		return err
	}
	p := sheetPage{Code: s.Secrets.Code, PIN: s.Secrets.PIN, Home: s.Kind == ledger.TakeHome, Base: "/clinic/patients/" + string(v.patient.ID)}
	p.Care, p.HasCare = f.Current("")
	p.Emergency = v.contact(rom.Contact{Emergency: "112"}).Emergency
	p.Link = d.PublicURL + "/enrol#" + s.Secrets.QR
	if p.QR, err = qrSVG(p.Link); err != nil {
		return err
	}
	p.Until = s.Until.In(v.zone).Format("Mon 2 Jan 2006 15:04")
	return v.showWith(http.StatusOK, "sheet", frame{Title: "Invitation", Page: p})
}

// qrSVG draws a QR code as one path, so that it prints sharp at any size.
func qrSVG(text string) (string, error) {
	code, err := qr.Encode(text, qr.M)
	if err != nil {
		return "", fmt.Errorf("draw QR code: %w", err)
	}
	const quiet = 4 // modules of margin, ISO/IEC 18004
	var b strings.Builder
	n := code.Size + 2*quiet
	fmt.Fprintf(&b, `<svg class="qr" role="img" viewBox="0 0 %d %d" shape-rendering="crispEdges"><title>QR code with the invitation</title><rect width="%d" height="%d" fill="#fff"/><path fill="#000" d="`, n, n, n, n)
	for y := range code.Size {
		for x := 0; x < code.Size; x++ {
			if !code.Black(x, y) {
				continue
			}
			w := 1
			for code.Black(x+w, y) && x+w < code.Size {
				w++
			}
			fmt.Fprintf(&b, "M%d %dh%dv1h-%dz", x+quiet, y+quiet, w, w)
			x += w - 1
		}
	}
	b.WriteString(`"/></svg>`)
	return b.String(), nil
}
