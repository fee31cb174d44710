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

	"unsling/engine/rom"
	"unsling/server/access"
	"unsling/server/ledger"
)

const exportHelp = `unsling export --data FOLDER --patient ID --by LOGIN --out FILE.zip

writes everything about one patient into a file: a page to read and print, the
very records as they were written, and the same taken apart with a dictionary
of every field. It takes a surgeon or therapist of the patient's care team,
who gives the own password on the standard input; the act is in the audit log.
The id is the last part of the patient's page address. The file holds health
data in clear. While the server runs, the patient's page does the same.`

func exportPatient(ctx context.Context, args []string, out, errs io.Writer) error {
	f := flags("export", exportHelp, errs)
	data := f.String("data", "", "data folder")
	patient := f.String("patient", "", "patient id")
	by := f.String("by", "", "login of the person who does it")
	file := f.String("out", "", "file to make")
	if err := parse(f, args, os.Getenv); err != nil {
		return err
	}
	if *data == "" || *patient == "" || *by == "" || *file == "" {
		return wrong("export needs --data, --patient, --by and --out")
	}
	if _, err := os.Stat(*file); err == nil {
		return wrong("%s is there already", *file)
	}
	h, err := open(settings{data: *data, public: "http://localhost", log: slog.New(slog.DiscardHandler)})
	if err != nil {
		return err
	}
	defer h.close()
	fmt.Fprintf(errs, "Password of %s: ", *by)
	password, err := bufio.NewReader(os.Stdin).ReadString('\n')
	if err != nil && !errors.Is(err, io.EOF) {
		return err
	}
	fmt.Fprintln(errs)
	return h.export(ctx, rom.PatientID(*patient), strings.ToLower(*by), strings.TrimRight(password, "\r\n"), *file, out)
}

func (h *house) export(ctx context.Context, p rom.PatientID, login, password, file string, out io.Writer) error {
	who, err := h.store.StaffByLogin(login)
	if err != nil && !errors.Is(err, ledger.ErrUnknown) {
		return err
	}
	if ok, _, err := h.words.Verify(ctx, who.Password, password); err != nil || !ok || who.Disabled || who.Password == "" {
		return errors.New("login or password is wrong")
	}
	now := h.now().UTC()
	_, text, err := h.desk.Export(ctx, p, access.Actor{Staff: who.ID, Role: who.Role, At: now, Checked: now}, ledger.Trail{At: now, Actor: string(who.ID)})
	if errors.Is(err, ledger.ErrUnknown) {
		return wrong("there is no patient with this id")
	}
	if err != nil {
		return err
	}
	if err := writeNew(file, text); err != nil {
		return err
	}
	fmt.Fprintf(out, "The record is in %s, %d bytes. It holds health data in clear.\n", file, len(text))
	return nil
}
