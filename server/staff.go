package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"os"
	"strings"
	"time"

	"unsling/engine/rom"
	"unsling/server/access"
	"unsling/server/ledger"
)

const staffHelp = `unsling staff add --data FOLDER --role ROLE --login LOGIN --name NAME

adds a person of the clinic. The roles are surgeon, therapist, assistant and
administrator. The password (15 characters or more, a short sentence is good)
is read from the standard input, so that it stands in no history of commands.

unsling staff disable --data FOLDER --login LOGIN

ends a person's access for ever, with every session; no restore takes it back.

Stop the server first: the store can be open once only.`

func staff(ctx context.Context, args []string, out, errs io.Writer) error {
	if len(args) > 0 && args[0] == "disable" {
		return disableStaff(args[1:], out, errs)
	}
	if len(args) == 0 || args[0] != "add" {
		fmt.Fprintln(errs, staffHelp)
		if len(args) > 0 && (args[0] == "-h" || args[0] == "--help" || args[0] == "help") {
			return nil
		}
		return wrong("staff has the verbs add and disable")
	}
	f := flags("staff add", staffHelp, errs)
	data := f.String("data", "", "data folder")
	role := f.String("role", "", "surgeon, therapist, assistant or administrator")
	login := f.String("login", "", "name to sign in with")
	name := f.String("name", "", "name as shown")
	clinicName := f.String("clinic", "", "name of the clinic, for the first person")
	clinicPhone := f.String("clinic-phone", "", "number of the clinic, for the first person")
	zone := f.String("zone", "", "time zone of the clinic such as Europe/Vienna, for the first person")
	if err := parse(f, args[1:], os.Getenv); err != nil {
		return err
	}
	s := ledger.Staff{Login: strings.ToLower(strings.TrimSpace(*login)), Name: strings.TrimSpace(*name), Role: ledger.Role(*role)}
	switch {
	case *data == "":
		return wrong("staff add needs --data FOLDER")
	case !s.Role.Valid():
		return wrong("--role must be surgeon, therapist, assistant or administrator")
	case s.Login == "" || s.Name == "":
		return wrong("staff add needs --login and --name")
	}
	fmt.Fprint(errs, "Password: ")
	password, err := bufio.NewReader(os.Stdin).ReadString('\n')
	if err != nil && !errors.Is(err, io.EOF) {
		return err
	}
	fmt.Fprintln(errs)
	h, err := open(settings{data: *data, public: "http://localhost", log: slog.New(slog.DiscardHandler)})
	if err != nil {
		return err
	}
	defer h.close()
	if _, err := h.store.Clinic(); errors.Is(err, ledger.ErrUnknown) {
		if *clinicName == "" || *clinicPhone == "" || *zone == "" {
			return wrong("this is the first person: also give --clinic, --clinic-phone and --zone")
		}
		c := ledger.Clinic{Name: *clinicName, Phone: *clinicPhone, Zone: *zone}
		if err := h.store.SetClinic(c, h.trail()); err != nil {
			return err
		}
	} else if err != nil {
		return err
	}
	if err := h.addStaff(ctx, s, strings.TrimRight(password, "\r\n")); err != nil {
		return err
	}
	fmt.Fprintf(out, "Added %s as %s.\n", s.Login, s.Role)
	return nil
}

func disableStaff(args []string, out, errs io.Writer) error {
	f := flags("staff disable", staffHelp, errs)
	data := f.String("data", "", "data folder")
	login := f.String("login", "", "who leaves")
	if err := parse(f, args, os.Getenv); err != nil {
		return err
	}
	if *data == "" || *login == "" {
		return wrong("staff disable needs --data and --login")
	}
	store, _, err := openData(*data)
	if err != nil {
		return err
	}
	defer store.Close()
	who, err := store.StaffByLogin(strings.ToLower(*login))
	if errors.Is(err, ledger.ErrUnknown) {
		return wrong("nobody signs in as %s", *login)
	}
	if err != nil {
		return err
	}
	who.Disabled = true
	if err := store.PutStaff(who, ledger.Trail{At: time.Now().UTC(), Actor: "server"}); err != nil {
		return err
	}
	fmt.Fprintf(out, "%s can no longer sign in. Look through the care teams for patients nobody else looks after.\n", who.Login)
	return nil
}

// addStaff checks and hashes the password and adds the row.
func (h *house) addStaff(ctx context.Context, s ledger.Staff, password string) error {
	if err := access.CheckPassword(password, false, s.Login, s.Name); err != nil {
		return err
	}
	var err error
	if s.Password, err = h.words.Hash(ctx, password, h.chance); err != nil {
		return err
	}
	if s.ID == "" {
		s.ID = rom.StaffID(h.id())
	}
	s.Added = h.now().UTC()
	err = h.store.AddStaff(s, h.trail())
	if errors.Is(err, ledger.ErrTaken) {
		return fmt.Errorf("the login %s is taken", s.Login)
	}
	return err
}

func (h *house) trail() ledger.Trail { return ledger.Trail{At: h.now().UTC(), Actor: "server"} }
