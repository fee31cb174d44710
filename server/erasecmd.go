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

const eraseHelp = `unsling erase ask     --data FOLDER --patient ID --by LOGIN
unsling erase confirm --data FOLDER --patient ID --by LOGIN
unsling erase drop    --data FOLDER --patient ID --by LOGIN
unsling erase list    --data FOLDER

erases a patient for ever: the key under which everything of the patient is
encrypted is destroyed, here and with the next backup there. It takes two
people of the patient's care team, a surgeon or therapist who asks and another
person who confirms within two weeks; each gives the own password on the
standard input. Export the record first if the law asks you to keep it. The
id is the last part of the patient's page address. Stop the server first.`

func erase(ctx context.Context, args []string, out, errs io.Writer) error {
	if len(args) == 0 || args[0] == "-h" || args[0] == "--help" || args[0] == "help" {
		fmt.Fprintln(errs, eraseHelp)
		if len(args) == 0 {
			return wrong("erase has the verbs ask, confirm, drop and list")
		}
		return nil
	}
	f := flags("erase "+args[0], eraseHelp, errs)
	data := f.String("data", "", "data folder")
	patient := f.String("patient", "", "patient id")
	by := f.String("by", "", "login of the person who does it")
	if err := parse(f, args[1:], os.Getenv); err != nil {
		return err
	}
	verb := args[0]
	switch {
	case verb != "ask" && verb != "confirm" && verb != "drop" && verb != "list":
		return wrong("erase has the verbs ask, confirm, drop and list")
	case *data == "":
		return wrong("erase needs --data FOLDER")
	case verb != "list" && (*patient == "" || *by == ""):
		return wrong("erase %s needs --patient and --by", verb)
	}
	h, err := open(settings{data: *data, public: "http://localhost", log: slog.New(slog.DiscardHandler)})
	if err != nil {
		return err
	}
	defer h.close()
	if verb == "list" {
		return h.listErasures(out)
	}
	fmt.Fprintf(errs, "Password of %s: ", *by)
	password, err := bufio.NewReader(os.Stdin).ReadString('\n')
	if err != nil && !errors.Is(err, io.EOF) {
		return err
	}
	fmt.Fprintln(errs)
	return h.erase(ctx, verb, rom.PatientID(*patient), strings.ToLower(*by), strings.TrimRight(password, "\r\n"), out)
}

// erase does one half of an erasure, or takes it back.
func (h *house) erase(ctx context.Context, verb string, p rom.PatientID, login, password string, out io.Writer) error {
	who, err := h.store.StaffByLogin(login)
	if err != nil && !errors.Is(err, ledger.ErrUnknown) {
		return err
	}
	if ok, _, err := h.words.Verify(ctx, who.Password, password); err != nil || !ok || who.Disabled || who.Password == "" {
		return errors.New("login or password is wrong")
	}
	row, err := h.store.Patient(p)
	if err != nil && !errors.Is(err, ledger.ErrUnknown) && !errors.Is(err, ledger.ErrErased) {
		return err
	}
	team, err := h.store.Team(p)
	if errors.Is(err, ledger.ErrUnknown) {
		return wrong("there is no patient with this id")
	}
	if err != nil {
		return err
	}
	resource := access.Resource{Patient: p, Team: team, RestrictedBy: row.RestrictedBy()}
	all, err := h.store.Erasures()
	if err != nil {
		return err
	}
	for _, e := range all {
		if e.Patient == p {
			resource.FirstBy = e.AskedBy
		}
	}
	act := access.AskErasure
	if verb == "confirm" {
		act = access.ConfirmErasure
	}
	now := h.now().UTC()
	if d := access.Decide(access.Actor{Staff: who.ID, Role: who.Role, At: now, Checked: now}, act, resource); !d.Allowed {
		return fmt.Errorf("not possible: %s", d.Refusal)
	}
	trail := ledger.Trail{At: now, Actor: string(who.ID)}
	switch verb {
	case "ask":
		if err := h.store.AskErasure(p, who.ID, trail); err != nil {
			return err
		}
		fmt.Fprintf(out, "Noted. Another person of the care team has to confirm by %s; nothing is erased yet.\n", now.Add(ledger.ErasureWindow).Format(time.DateOnly))
	case "drop":
		if err := h.store.DropErasure(p, trail); err != nil {
			return err
		}
		fmt.Fprintln(out, "Taken back. Nothing is erased.")
	case "confirm":
		e, err := h.store.Erase(p, who.ID, trail)
		if err != nil {
			return err
		}
		printReceipt(out, e)
	}
	return nil
}

func (h *house) listErasures(out io.Writer) error {
	all, err := h.store.Erasures()
	if err != nil {
		return err
	}
	for _, e := range all {
		if e.Done() {
			printReceipt(out, e)
		} else {
			fmt.Fprintf(out, "Patient %s: asked by %s on %s, not confirmed.\n", e.Patient, e.AskedBy, e.AskedAt.Format(time.RFC3339))
		}
	}
	fmt.Fprintf(out, "%d in all.\n", len(all))
	return nil
}

// printReceipt says what was done, without anything of the patient but the id.
func printReceipt(out io.Writer, e ledger.Erasure) {
	fmt.Fprintf(out, "Receipt. Patient %s was erased on %s: asked by %s on %s, confirmed by %s.\n",
		e.Patient, e.At.Format(time.RFC3339), e.AskedBy, e.AskedAt.Format(time.RFC3339), e.By)
	fmt.Fprintf(out, "%d records up to hash %s; the content key is destroyed. %d phones are told at their next contact.\n", e.Log.Seq, e.Log.Hash, e.Phones)
	if e.Purged {
		fmt.Fprintln(out, "No file of the store holds an older copy of the key. The next backup removes it there, in every series.")
	} else {
		fmt.Fprintln(out, "Older copies of the key are still in files of the store; the daily upkeep removes them.")
	}
}
