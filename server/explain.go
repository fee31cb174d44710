package main

import (
	"context"
	"fmt"
	"io"
	"log/slog"
	"os"
	"strings"

	"unsling/engine/review"
	"unsling/engine/rom"
	"unsling/engine/trend"
)

const explainHelp = `unsling explain --data FOLDER --patient ID [--on 2026-01-31] prints every rule
evaluated for one patient on one date, with its inputs, its outcome and its
source. Stop the server first: the store can be open once only. The same page
stands at the clinic's patient, "Every rule".`

func explain(_ context.Context, args []string, out, errs io.Writer) error {
	f := flags("explain", explainHelp, errs)
	data := f.String("data", "", "data folder")
	patient := f.String("patient", "", "id of the patient, as in the address of the clinic's page")
	on := f.String("on", "", "date; default today")
	if err := parse(f, args, os.Getenv); err != nil {
		return err
	}
	if *data == "" || *patient == "" {
		return wrong("explain needs --data FOLDER and --patient ID")
	}
	var day rom.Date
	if *on != "" {
		d, err := rom.ParseDate(*on)
		if err != nil {
			return wrong("--on: %v", err)
		}
		day = d
	}
	h, err := open(settings{data: *data, public: "http://localhost", log: slog.New(slog.DiscardHandler)})
	if err != nil {
		return err
	}
	defer h.close()
	return explained(h, rom.PatientID(*patient), day, out)
}

// explained prints what the page "Every rule" of the clinic shows, of the same
// facts. The zero date is today at the clinic.
func explained(h *house, patient rom.PatientID, day rom.Date, out io.Writer) error {
	facts, err := h.store.Facts(patient)
	if err != nil {
		return fmt.Errorf("patient %s: %w", patient, err)
	}
	asOf, err := h.desk.AsOfNow()
	if err != nil {
		return err
	}
	phones, err := h.store.Authors(patient)
	if err != nil {
		return err
	}
	inputs, err := asOf.Inputs(phones, patient)
	if err != nil {
		return err
	}
	if day.IsZero() {
		day = asOf.Today
	}
	hist, err := history(facts.Data)
	if err != nil {
		return err
	}
	for _, id := range hist.EpisodeIDs() {
		fmt.Fprintf(out, "Episode %s on %s\n", id, day)
		for _, l := range review.Explain(hist, id, day, inputs) {
			var in []string
			for _, n := range l.Inputs {
				in = append(in, n.Name+" "+n.Value)
			}
			fmt.Fprintf(out, "  %-18s %-5s %-14s %s [%s] %s\n", l.Rule, l.Motion, l.Outcome, l.Why, strings.Join(in, "; "), l.Source)
		}
		printScores(out, hist, id, day)
	}
	return nil
}

// printScores prints what clinicians entered for scores by a day, and how it
// adds up.
func printScores(out io.Writer, h rom.History, id rom.EpisodeID, day rom.Date) {
	for _, e := range h.Scores {
		if e.Body.Episode != id || e.Body.On > day {
			continue
		}
		s, err := trend.ScoreOf(e.Body)
		if err != nil {
			continue
		}
		fmt.Fprintf(out, "  score %s of %s: %s of %d [%s]\n", s.Form, e.Body.On, s.Points(), s.Most, s.Source)
		for _, p := range s.Parts {
			fmt.Fprintf(out, "    %s %s: %s\n", p.Name, p.Value, p.Gives)
		}
	}
}
