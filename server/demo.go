package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"log/slog"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"time"

	"unsling/engine/rom"
	"unsling/server/internal/scenario"
	"unsling/server/ledger"
)

const demoHelp = `unsling demo runs the server with an invented clinic on this machine only.

The first start makes months of invented records; later starts on the same day
use them again, and everything you added stays. --fresh begins anew. The file
demo.json in the data folder holds the addresses, the sign-ins and twenty
unused invitations for scripts.`

// demoFile is demo.json.
type demoFile struct {
	Base        string           `json:"base"`
	Day         string           `json:"day"` // on which the records were made
	Clinic      string           `json:"clinic"`
	Staff       []demoSignIn     `json:"staff"`
	Invitations []demoInvitation `json:"invitations"`
	Own         []string         `json:"own"` // patients that the scenario made
}

type demoSignIn struct {
	Login    string `json:"login"`
	Password string `json:"password"`
	Role     string `json:"role"`
	Name     string `json:"name"`
}

type demoInvitation struct {
	Patient string `json:"patient"`
	Code    string `json:"code"`
	Link    string `json:"link"`
	Until   string `json:"until"`
}

// invitations is how many unused ones demo.json holds.
const invitations = 20

func demo(ctx context.Context, args []string, out, errs io.Writer) error {
	var o serveOptions
	f := flags("demo", demoHelp, errs)
	f.StringVar(&o.data, "data", ".demo", "data folder")
	f.StringVar(&o.listen, "listen", "127.0.0.1:8080", "address to listen on, loopback only")
	f.StringVar(&o.public, "public-url", "", "address to print and to put into invitations; default http://localhost and the port")
	o.upkeepFlags(f)
	fresh := f.Bool("fresh", false, "throw the demo's records away and make new ones")
	if err := parse(f, args, os.Getenv); err != nil {
		return err
	}
	if err := o.check(); err != nil {
		return err
	}
	if host, _, _ := net.SplitHostPort(o.listen); host != "localhost" && !net.ParseIP(host).IsLoopback() {
		return wrong("the demo listens on this machine only; use serve for real use")
	}
	// The address is taken before anything slow, so that a second demo says
	// so at once.
	probe, err := net.Listen("tcp", o.listen)
	if err != nil {
		return fmt.Errorf("%s is not free; stop what runs there or give --listen 127.0.0.1:8081: %w", o.listen, err)
	}
	if err := probe.Close(); err != nil {
		return err
	}
	now := time.Now()
	was, err := readDemo(o.data)
	if err != nil {
		return err
	}
	if was != nil && !*fresh && was.Day != now.Format(time.DateOnly) {
		if used, err := demoUsed(o.data, was); err != nil {
			return err
		} else if used {
			fmt.Fprintf(out, "The demo's records are from %s and yours are among them, so they are kept. --fresh makes new ones.\n", was.Day)
		} else {
			*fresh = true
		}
	}
	if *fresh || was == nil {
		if err := clearDemo(o.data); err != nil {
			return err
		}
	}
	log := slog.New(slog.NewJSONHandler(errs, &slog.HandlerOptions{Level: slog.LevelWarn}))
	if *fresh || was == nil {
		if was, err = makeDemo(ctx, o, log, now, out); err != nil {
			return errors.Join(err, clearDemo(o.data))
		}
	}
	h, err := open(settings{data: o.data, public: o.public, log: log})
	if err != nil {
		return err
	}
	defer h.close()
	was.Base = o.public
	link, err := h.freshInvitations(was, now)
	if err != nil {
		return err
	}
	if err := writeDemo(o.data, was); err != nil {
		return err
	}
	return run(ctx, h, o, func() {
		fmt.Fprintf(out, "\nUnsling demo: an invented clinic, invented people.\n\n")
		fmt.Fprintf(out, "  Clinic   %s/clinic/\n           sign in as %s, password: %s\n\n", o.public, was.Staff[0].Login, was.Staff[0].Password)
		fmt.Fprintf(out, "  Phone    %s\n           enrols the invented patient Vera Wren, right shoulder\n\n", link)
		fmt.Fprintf(out, "  More sign-ins and invitations: %s\n  Stop with Ctrl C.\n", filepath.Join(o.data, "demo.json"))
	})
}

// makeDemo plays the scenario against a server on an invented clock.
func makeDemo(ctx context.Context, o serveOptions, log *slog.Logger, today time.Time, out io.Writer) (*demoFile, error) {
	fmt.Fprintln(out, "Making the invented clinic (first start of the day)...")
	clock := &scenario.Clock{}
	clock.Set(today.AddDate(-1, 0, 0))
	h, err := open(settings{data: o.data, public: o.public, log: log, now: clock.Now})
	if err != nil {
		return nil, err
	}
	defer h.close()
	if err := h.store.SetClinic(scenario.Clinic(), h.trail()); err != nil {
		return nil, err
	}
	file := &demoFile{Day: today.Format(time.DateOnly), Clinic: scenario.Clinic().Name}
	for _, p := range scenario.Staff() {
		if err := h.addStaff(ctx, ledger.Staff{ID: p.ID, Login: p.Login, Name: p.Name, Role: p.Role}, p.Password); err != nil {
			return nil, err
		}
		file.Staff = append(file.Staff, demoSignIn{p.Login, p.Password, string(p.Role), p.Name})
	}
	ln, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		return nil, err
	}
	server := &http.Server{Handler: h.handler, ReadHeaderTimeout: 5 * time.Second}
	go func() { _ = server.Serve(ln) }()
	defer server.Close()
	h.api.SetReady(true)
	env := scenario.Env{
		Store: h.store, Codes: h.ring.Codes, Base: o.public, HTTP: toAddress(ln.Addr().String()), Clock: clock, Today: today,
		Chance: h.chance, History: history, Say: func(format string, args ...any) { fmt.Fprintf(out, format+"\n", args...) },
	}
	if err := scenario.Build(ctx, env); err != nil {
		return nil, err
	}
	clock.Set(today)
	for n := range invitations {
		if _, err := scenario.AddSpare(env, n+1); err != nil {
			return nil, err
		}
	}
	rows, err := h.store.Panel("")
	if err != nil {
		return nil, err
	}
	for _, r := range rows {
		file.Own = append(file.Own, string(r.Patient.ID))
	}
	return file, writeDemo(o.data, file)
}

// toAddress is a client that reaches one address whatever the name.
func toAddress(address string) *http.Client {
	var d net.Dialer
	return &http.Client{Timeout: time.Minute, Transport: &http.Transport{
		DialContext: func(ctx context.Context, network, _ string) (net.Conn, error) {
			return d.DialContext(ctx, network, address)
		},
	}}
}

// freshInvitations makes twenty unused invitations for scripts and one for
// whoever reads the terminal, good for a day.
func (h *house) freshInvitations(file *demoFile, now time.Time) (link string, err error) {
	rows, err := h.store.Panel("")
	if err != nil {
		return "", err
	}
	file.Invitations = nil
	spare := 0
	for _, r := range rows {
		free := len(r.Phones) == 0
		isSpare := strings.HasPrefix(r.Patient.Name, "Spare ")
		if isSpare {
			spare++
		}
		if r.Patient.Name != "Vera Wren" && (!isSpare || !free || len(file.Invitations) == invitations) {
			continue
		}
		one, err := h.inviteDemo(r.Patient, now)
		if err != nil {
			return "", err
		}
		if isSpare {
			file.Invitations = append(file.Invitations, one)
		} else {
			link = one.Link
		}
	}
	env := scenario.Env{Store: h.store, Codes: h.ring.Codes, Clock: &scenario.Clock{}, Today: now, Chance: h.chance, History: history}
	env.Clock.Set(now)
	for len(file.Invitations) < invitations {
		spare++
		id, err := scenario.AddSpare(env, spare)
		if err != nil {
			return "", err
		}
		file.Own = append(file.Own, string(id))
		p, err := h.store.Patient(id)
		if err != nil {
			return "", err
		}
		one, err := h.inviteDemo(p, now)
		if err != nil {
			return "", err
		}
		file.Invitations = append(file.Invitations, one)
	}
	return link, nil
}

func (h *house) inviteDemo(p ledger.Patient, now time.Time) (demoInvitation, error) {
	s, err := scenario.Invite(h.store, h.ring.Codes, h.id(), p.ID, now, h.chance)
	if err != nil {
		return demoInvitation{}, err
	}
	return demoInvitation{
		Patient: p.Name, Code: s.Code, Link: h.public + "/enrol#" + s.QR, Until: now.Add(24 * time.Hour).Format(time.RFC3339),
	}, nil
}

// demoUsed reports whether somebody enrolled a patient or a phone beyond the
// scenario's own.
func demoUsed(data string, file *demoFile) (bool, error) {
	h, err := open(settings{data: data, public: "http://localhost", log: slog.New(slog.DiscardHandler)})
	if err != nil {
		return false, err
	}
	defer h.close()
	return demoUsedIn(h, file)
}

func demoUsedIn(h *house, file *demoFile) (bool, error) {
	rows, err := h.store.Panel("")
	if err != nil {
		return false, err
	}
	own := map[rom.PatientID]bool{}
	for _, id := range file.Own {
		own[rom.PatientID(id)] = true
	}
	for _, r := range rows {
		if !own[r.Patient.ID] {
			return true, nil
		}
		for _, a := range r.Phones {
			if a.App != "demo" {
				return true, nil
			}
		}
	}
	return false, nil
}

func readDemo(data string) (*demoFile, error) {
	text, err := os.ReadFile(filepath.Join(data, "demo.json"))
	if errors.Is(err, fs.ErrNotExist) {
		if _, err := os.Stat(filepath.Join(data, "store")); err == nil {
			if _, err := os.Stat(filepath.Join(data, unfinished)); err != nil {
				return nil, wrong("%s holds a store that no demo made; choose another folder with --data", data)
			}
		}
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	var file demoFile
	if err := json.Unmarshal(text, &file); err != nil || len(file.Staff) == 0 {
		return nil, fmt.Errorf("%s is not readable; start with --fresh", filepath.Join(data, "demo.json"))
	}
	return &file, nil
}

// unfinished marks a folder in which a demo is being made, so that one that
// was interrupted is thrown away and a real store never is.
const unfinished = "demo.unfinished"

func writeDemo(data string, file *demoFile) error {
	text, err := json.MarshalIndent(file, "", "  ")
	if err != nil {
		return err
	}
	if err := os.WriteFile(filepath.Join(data, "demo.json"), append(text, '\n'), 0o600); err != nil {
		return err
	}
	err = os.Remove(filepath.Join(data, unfinished))
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	return err
}

// clearDemo removes what a demo made in its folder, and nothing else.
func clearDemo(data string) error {
	if err := os.MkdirAll(data, 0o700); err != nil {
		return err
	}
	_, errMade := os.Stat(filepath.Join(data, "demo.json"))
	_, errBegun := os.Stat(filepath.Join(data, unfinished))
	if errMade == nil || errBegun == nil {
		for _, name := range []string{"store", "keys", "demo.json"} {
			if err := os.RemoveAll(filepath.Join(data, name)); err != nil {
				return err
			}
		}
	}
	return os.WriteFile(filepath.Join(data, unfinished), nil, 0o600)
}
