package clinic

import (
	"net/http"
	"time"

	"unsling/server/access"
	"unsling/server/ledger"
)

type appPage struct {
	Text  string // the secret, typed
	QR    string // SVG
	State string // the secret, sealed for this person
}

// appPage shows a fresh secret for an authenticator app. Nothing is stored
// before the app has shown a right code.
func (d *Desk) appPage(v *visit) error {
	secret, err := access.NewTOTPSecret(d.Chance)
	if err != nil {
		return err
	}
	return v.appShow(http.StatusOK, secret, "")
}

const useNewTOTP = "totp new"

type newTOTP struct {
	Secret []byte    `json:"secret"`
	Made   time.Time `json:"made"`
}

func (v *visit) appShow(status int, secret []byte, problem string) error {
	var err error
	p := appPage{Text: access.TOTPText(secret)}
	if p.QR, err = qrSVG(access.TOTPAddress(secret, v.clinic.Name, v.staff.Login)); err != nil {
		return err
	}
	if p.State, err = v.desk.box.Pack(useNewTOTP, string(v.staff.ID), newTOTP{secret, v.at}); err != nil {
		return err
	}
	return v.showWith(status, "app", frame{Title: "Authenticator app", Here: "account", Error: problem, Page: p})
}

// setApp takes the first code of the app, stores the secret sealed, and goes
// on to the recovery codes.
func (d *Desk) setApp(v *visit) error {
	var fresh newTOTP
	if d.box.Unpack(useNewTOTP, string(v.staff.ID), v.r.PostForm.Get("state"), &fresh) != nil || v.at.Sub(fresh.Made) > time.Hour {
		return v.accountShow(http.StatusUnprocessableEntity, "That took too long. Please begin with the app again.")
	}
	step, ok := access.CheckTOTP(fresh.Secret, v.form("code"), v.at, 0)
	if !ok {
		return v.appShow(http.StatusUnprocessableEntity, fresh.Secret, "This is not the code that the app should show now. The secret is unchanged: look at the app and at the clock of its device, and type the next code.")
	}
	sealed, err := d.box.Seal(useTOTP, string(v.staff.ID), fresh.Secret)
	if err != nil {
		return err
	}
	if err := v.change("staff.app-add", func(s *ledger.Staff) error {
		s.Factors.TOTP = &ledger.TOTP{Secret: sealed, Since: v.at.UTC(), Step: step}
		return nil
	}); err != nil {
		return err
	}
	if len(v.staff.Factors.Recovery) == 0 {
		return d.newCodes(v)
	}
	return v.back("/clinic/account", "account")
}

func (d *Desk) dropApp(v *visit) (string, error) {
	return "account", v.change("staff.app-remove", func(s *ledger.Staff) error {
		s.Factors.TOTP = nil
		return v.stillEnough(*s)
	})
}

type codesPage struct {
	Codes []string
	At    time.Time
}

// newCodes shows ten recovery codes, this once. Those of before are void.
func (d *Desk) newCodes(v *visit) error {
	codes, hashes, err := access.NewRecoveryCodes(d.Secrets, string(v.staff.ID), d.Chance)
	if err != nil {
		return err
	}
	if err := v.change("staff.recovery-new", func(s *ledger.Staff) error {
		s.Factors.Recovery, s.Factors.RecoveryMade = hashes, v.at.UTC()
		return nil
	}); err != nil {
		return err
	}
	return v.show("codes", "Recovery codes", "account", codesPage{codes, v.at})
}
