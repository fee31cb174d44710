package clinic

import (
	"cmp"
	"errors"
	"fmt"
	"net/http"
	"regexp"
	"slices"

	"unsling/engine/rom"
	"unsling/server/access"
	"unsling/server/ledger"
)

type staffPage struct {
	Rows   []staffRow
	Takers []ledger.Staff // who can take over patients
	Deputy rom.StaffID
	Roles  []ledger.Role
	Broken []breakRow
}

type staffRow struct {
	ledger.Staff
	Me       bool
	Sessions int
	Waits    string // what an invitation waits for
	Factors  string // in words
	// Left counts the patients in whose care team somebody still is who left or has no patients by the role.
	Left int
}

// breakRow is one emergency access, for the administrator: ids and reasons.
type breakRow struct {
	ledger.Glass
	Who  string
	Open bool
}

var allRoles = []ledger.Role{ledger.Surgeon, ledger.Therapist, ledger.Assistant, ledger.Administrator}

// staffPage lists who works here, and lets the administrator invite and let
// go. It shows nothing about patients.
func (d *Desk) staffPage(v *visit) error { return v.staffShow(http.StatusOK, "") }

func (v *visit) staffShow(status int, problem string) error {
	if err := v.may(access.ManageStaff); err != nil {
		return err
	}
	all, err := v.desk.Store.AllStaff()
	if err != nil {
		return err
	}
	p := staffPage{Deputy: v.clinic.Deputy, Roles: allRoles}
	names := map[rom.StaffID]string{}
	for _, s := range all {
		names[s.ID] = s.Name
		row := staffRow{Staff: s, Me: s.ID == v.staff.ID, Factors: factorWords(s)}
		live, err := v.desk.Store.Sessions(s.ID)
		if err != nil {
			return err
		}
		for _, x := range live {
			if x.Live(v.at) {
				row.Sessions++
			}
		}
		if s.Disabled || s.Role == ledger.Administrator {
			if row.Left, err = v.desk.stillIn(s.ID); err != nil {
				return err
			}
		}
		if i := s.Invited; i != nil && !s.Disabled {
			switch {
			case !v.at.Before(i.Until):
				row.Waits = "The code has run out."
			case i.Reset && i.Second == "":
				row.Waits = "A new start waits for a second person: any surgeon, therapist or other administrator, under “Your account”."
			default:
				row.Waits = "Invited, the code is good until " + i.Until.In(v.zone).Format("Mon 2 Jan 15:04") + "."
			}
		}
		p.Rows = append(p.Rows, row)
		if !s.Disabled && s.Role != ledger.Administrator {
			p.Takers = append(p.Takers, s)
		}
	}
	slices.SortFunc(p.Rows, func(a, b staffRow) int {
		return cmp.Or(cmp.Compare(b2i(a.Disabled), b2i(b.Disabled)), cmp.Compare(a.Name, b.Name))
	})
	breaks, err := v.desk.Store.Breaks()
	if err != nil {
		return err
	}
	for _, g := range breaks[:min(len(breaks), 50)] {
		p.Broken = append(p.Broken, breakRow{g, cmp.Or(names[g.Staff], string(g.Staff)), v.at.Before(g.Until)})
	}
	return v.showWith(status, "staff", frame{Title: "Staff", Here: "staff", Error: problem, Page: p})
}

func b2i(b bool) int {
	if b {
		return 1
	}
	return 0
}

func factorWords(s ledger.Staff) string {
	out := ""
	add := func(on bool, what string) {
		if on && out != "" {
			out += ", "
		}
		if on {
			out += what
		}
	}
	add(len(s.Factors.Passkeys) == 1, "1 passkey")
	add(len(s.Factors.Passkeys) > 1, fmt.Sprintf("%d passkeys", len(s.Factors.Passkeys)))
	add(s.Password != "", "password")
	add(s.Factors.TOTP != nil, "app")
	add(len(s.Factors.Recovery) > 0, fmt.Sprintf("%d recovery codes", len(s.Factors.Recovery)))
	return cmp.Or(out, "nothing yet")
}

// staffAct invites, disables, enables, starts anew, or changes a role.
func (d *Desk) staffAct(v *visit) error {
	if err := v.may(access.ManageStaff); err != nil {
		return err
	}
	what, err := "staff", error(nil)
	switch v.form("act") {
	case "invite":
		err = d.inviteStaff(v)
		if err == nil {
			return nil // the code is on its page
		}
	case "again", "reset", "enable":
		if err = d.startAnew(v); err == nil {
			return nil
		}
	case "disable":
		what, err = "disabled", d.disable(v)
	case "role":
		err = d.changeRole(v)
	default:
		err = refuse(http.StatusUnprocessableEntity, "Please choose what to do.")
	}
	var s *sorry
	switch {
	case errors.As(err, &s):
		return v.staffShow(s.status, s.text)
	case errors.Is(err, ledger.ErrLastAdministrator):
		return v.staffShow(http.StatusConflict, "Nobody else could look after the clinic's staff then. Give another person the role of administrator first.")
	case err != nil:
		return err
	}
	d.judged.Forget() // who owns findings may have changed
	return v.back("/clinic/staff", what)
}

var goodLogin = regexp.MustCompile(`^[a-z0-9][a-z0-9._-]{1,39}$`)

// codePage shows the code of an invitation, this once.
type codePage struct {
	Who   ledger.Staff
	Code  string
	Link  string
	Until string
	Reset bool
}

func (d *Desk) inviteStaff(v *visit) error {
	s := ledger.Staff{ID: rom.StaffID(d.id()), Login: v.form("login"), Name: v.form("name"), Role: ledger.Role(v.form("role")), Added: v.at.UTC()}
	switch {
	case !goodLogin.MatchString(s.Login):
		return refuse(http.StatusUnprocessableEntity, "The login must be 2 to 40 small letters, digits, dots or dashes, such as i.vega.")
	case s.Name == "" || len(s.Name) > 200:
		return refuse(http.StatusUnprocessableEntity, "Please give the person's name.")
	case !s.Role.Valid():
		return refuse(http.StatusUnprocessableEntity, "Please choose a role.")
	}
	code, row, err := v.newCode(false)
	if err != nil {
		return err
	}
	s.Invited = row
	err = d.Store.AddStaff(s, v.trail())
	if errors.Is(err, ledger.ErrTaken) {
		return refuse(http.StatusConflict, "This login is in use. Choose another.")
	} else if err != nil {
		return err
	}
	return v.codeShow(s, code)
}

func (v *visit) newCode(reset bool) (string, *ledger.StaffInvitation, error) {
	code, mac, err := access.NewStaffCode(v.desk.Secrets, v.desk.Chance)
	if err != nil {
		return "", nil, err
	}
	return code, &ledger.StaffInvitation{MAC: mac, Made: v.at.UTC(), Until: v.at.UTC().Add(access.StaffCodeLife), By: v.staff.ID, Reset: reset}, nil
}

func (v *visit) codeShow(s ledger.Staff, code string) error {
	return v.show("staffcode", "Invitation", "staff", codePage{Who: s, Code: code, Link: v.desk.PublicURL + "/clinic/join#" + code,
		Until: s.Invited.Until.In(v.zone).Format("Mon 2 Jan 2006 15:04"), Reset: s.Invited.Reset})
}

// startAnew makes a further code: for somebody invited, somebody who comes
// back, or somebody who has lost the way in. Nothing of what the person signs
// in with is taken away until the code is used; an administrator alone cannot
// take over the sign-in of a person who works with patients.
func (d *Desk) startAnew(v *visit) error {
	act := v.form("act")
	code := ""
	left, err := d.stillIn(rom.StaffID(v.form("staff")))
	if err != nil {
		return err
	}
	s, err := d.Store.ChangeStaff(rom.StaffID(v.form("staff")), "staff.change", v.trail(), func(s *ledger.Staff) error {
		switch {
		case s.ID == v.staff.ID:
			return refuse(http.StatusForbidden, "Your own sign-in you change under “Your account”.")
		case act == "enable" && left > 0:
			return refuse(http.StatusConflict, "Somebody else must take over this person's patients first.")
		case act == "enable" && !s.Disabled, act != "enable" && s.Disabled:
			return refuse(http.StatusConflict, "This person is not in the state for this any more.")
		}
		var row *ledger.StaffInvitation
		var err error
		// Somebody who was let go comes back to the same patients as a
		// stranger would: a second person confirms that too.
		if code, row, err = v.newCode(s.Password != "" || len(s.Factors.Passkeys) > 0); err != nil {
			return err
		}
		s.Invited, s.Disabled = row, false
		if act == "enable" {
			s.Password, s.Factors = "", ledger.Factors{}
		}
		return nil
	})
	if errors.Is(err, ledger.ErrUnknown) {
		return refuse(http.StatusUnprocessableEntity, "There is no such person at the clinic.")
	} else if err != nil {
		return err
	}
	return v.codeShow(s, code)
}

func (d *Desk) changeRole(v *visit) error {
	role := ledger.Role(v.form("role"))
	if !role.Valid() {
		return refuse(http.StatusUnprocessableEntity, "Please choose a role.")
	}
	_, err := d.Store.ChangeStaff(rom.StaffID(v.form("staff")), "staff.change", v.trail(), func(s *ledger.Staff) error {
		if s.ID == v.staff.ID {
			return refuse(http.StatusForbidden, "Nobody changes the own role. Another administrator does.")
		}
		if role == ledger.Administrator && s.ID == v.clinic.Deputy {
			return refuse(http.StatusConflict, "This person is the clinic's deputy. Choose another deputy first.")
		}
		s.Role = role
		return nil
	})
	return err
}
