package main

import (
	"context"
	"encoding/json"
	"io"
	"log/slog"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"unsling/engine/review"
	"unsling/engine/rom"
	"unsling/engine/schedule"
	"unsling/server/ledger"
)

// TestDemo makes the whole invented clinic through journal, client and HTTP,
// and holds the stories to what they are there to show.
func TestDemo(t *testing.T) {
	data := t.TempDir()
	o := serveOptions{data: data, listen: "127.0.0.1:0", public: "http://localhost:8080"}
	quiet := slog.New(slog.DiscardHandler)
	// Shortly after midnight, when a careless scenario would be incomplete.
	today := time.Date(2026, 11, 25, 0, 20, 0, 0, time.UTC)
	file, err := makeDemo(context.Background(), o, quiet, today, io.Discard)
	if err != nil {
		t.Fatal(err)
	}
	h, err := open(settings{data: data, public: o.public, log: quiet, now: func() time.Time { return today }})
	if err != nil {
		t.Fatal(err)
	}
	defer h.close()

	report, err := h.store.Verify(context.Background())
	if err != nil || len(report.Faults) > 0 {
		t.Fatalf("verify: %v, faults %v", err, report.Faults)
	}
	if report.Lines < 3000 {
		t.Errorf("only %d records: that is not months of many people", report.Lines)
	}
	stories := map[string]review.Class{
		"Bruno Castell": review.Stiffening, "Celia Drum": review.LimitPassed, "Dario Elm": review.Silent,
		"Edda Falk": review.WarningSign, "Hugo Ives": review.EarlyLoss, "Klara Lund": review.TooMuch, "Lars Mott": review.Afraid,
		"Pia Quist": review.PlanNotThere,
	}
	quietOnes := map[string]bool{"Alma Brandt": true, "Jonas Kite": true, "Iris Jansen": true, "Mina Noor": true, "Finn Garrow": true}
	rows, err := h.store.Panel("")
	if err != nil {
		t.Fatal(err)
	}
	people, procedures, phases := 0, map[rom.Procedure]bool{}, map[string]bool{}
	day := rom.DateOf(today)
	for _, r := range rows {
		if strings.HasPrefix(r.Patient.Name, "Spare ") {
			continue
		}
		people++
		hist, err := history(r.Facts.Data)
		if err != nil {
			t.Fatal(err)
		}
		if n := len(hist.Damaged) + len(hist.Unknown); n > 0 {
			t.Errorf("%s: %d records do not fold", r.Patient.Name, n)
		}
		id := hist.EpisodeIDs()[0]
		e, _ := hist.Episode(id)
		procedures[e.Procedures[0]] = true
		d := schedule.On(hist, id, day, 20, schedule.With{LastContact: day})
		phases[d.Phase.Key] = true
		if d.State == schedule.CannotSay {
			t.Errorf("%s: %s", r.Patient.Name, d.Problem)
		}
		var in review.Inputs
		for _, a := range r.Phones {
			in.Phones = append(in.Phones, review.Phone{Author: a.ID, Contact: rom.DateOf(a.LastSeen), Since: rom.DateOf(a.Enrolled), Following: a.Following})
		}
		classes := map[review.Class]bool{}
		for _, f := range review.Findings(hist, id, day, in) {
			classes[f.Class] = true
		}
		if want, ok := stories[r.Patient.Name]; ok && !classes[want] {
			t.Errorf("%s should show %s, and shows %v", r.Patient.Name, want, classes)
		}
		if quietOnes[r.Patient.Name] && len(classes) > 0 {
			t.Errorf("%s is on course, and shows %v", r.Patient.Name, classes)
		}
	}
	// The command tells what the page tells: of phones and their contact, too.
	for name, want := range map[string]string{"Pia Quist": "plan-on-the-phone", "Dario Elm": "silence"} {
		var out strings.Builder
		for _, r := range rows {
			if r.Patient.Name == name {
				if err := explained(h, r.Patient.ID, 0, &out); err != nil {
					t.Fatal(err)
				}
			}
		}
		if !slices.ContainsFunc(strings.Split(out.String(), "\n"), func(l string) bool {
			return strings.HasPrefix(strings.TrimSpace(l), want) && strings.Contains(l, " fires ")
		}) {
			t.Errorf("%s: explain does not say that %s fires: %s", name, want, out.String())
		}
	}
	if people < 12 || len(procedures) < 5 || len(phases) < 5 {
		t.Errorf("%d people, %d procedures, %d phases: less than the demo promises", people, len(procedures), len(phases))
	}

	// demo.json: twenty unused invitations, each once.
	if _, err := h.freshInvitations(file, today); err != nil {
		t.Fatal(err)
	}
	seen := map[string]bool{}
	for _, i := range file.Invitations {
		seen[i.Code] = true
	}
	if len(seen) != invitations {
		t.Errorf("%d different invitations, want %d", len(seen), invitations)
	}
	if used, err := demoUsedIn(h, file); err != nil || used {
		t.Errorf("nobody used the demo yet: %v, %v", used, err)
	}
	if err := h.store.CreatePatient(ledger.Patient{ID: "own", Name: "Somebody", Zone: "UTC", Lang: "en"}, []rom.StaffID{"solberg"}, nil, h.trail()); err != nil {
		t.Fatal(err)
	}
	if used, err := demoUsedIn(h, file); err != nil || !used {
		t.Errorf("a patient was added and is not noticed: %v, %v", used, err)
	}
}

// TestDemoFolder holds the demo to its own folder: a store that no demo made
// is never touched, an unfinished demo is made again.
func TestDemoFolder(t *testing.T) {
	data := t.TempDir()
	if err := os.MkdirAll(filepath.Join(data, "store"), 0o700); err != nil {
		t.Fatal(err)
	}
	if _, err := readDemo(data); err == nil {
		t.Error("a store without demo.json was taken for a demo")
	}
	if err := os.WriteFile(filepath.Join(data, unfinished), nil, 0o600); err != nil {
		t.Fatal(err)
	}
	if f, err := readDemo(data); err != nil || f != nil {
		t.Errorf("an unfinished demo: %v, %v", f, err)
	}
	if err := clearDemo(data); err != nil {
		t.Fatal(err)
	}
	if _, err := os.Stat(filepath.Join(data, "store")); err == nil {
		t.Error("the unfinished store is still there")
	}
	file := &demoFile{Day: "2026-11-25", Staff: []demoSignIn{{Login: "x"}}}
	if err := writeDemo(data, file); err != nil {
		t.Fatal(err)
	}
	back, err := readDemo(data)
	if err != nil {
		t.Fatal(err)
	}
	a, _ := json.Marshal(file)
	b, _ := json.Marshal(back)
	if string(a) != string(b) {
		t.Errorf("demo.json read back as %s", b)
	}
}
