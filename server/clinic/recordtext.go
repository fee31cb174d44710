package clinic

import (
	"fmt"
	"strings"

	"unsling/engine/rom"
	"unsling/sync/wire"
)

// kindNames are the kinds of records as the pages call them.
var kindNames = map[wire.Kind]string{
	wire.KindSession: "session", wire.KindReading: "reading", wire.KindPain: "pain", wire.KindSign: "warning sign", wire.KindSling: "sling",
	wire.KindQuestion: "note to the clinic", wire.KindSeen: "read", wire.KindAdopted: "plan on the phone", wire.KindInstall: "app installed",
	wire.KindEpisode: "episode", wire.KindPlan: "plan", wire.KindClearance: "clearance", wire.KindTherapy: "therapy", wire.KindVisit: "visit",
	wire.KindNote: "note to the patient", wire.KindTask: "act on a finding", wire.KindAmend: "correction", wire.KindVoid: "taken back",
}

// recordText is a record's body in one line, and the member of staff whom it
// names.
func recordText(body any) (text string, by rom.StaffID) {
	say := fmt.Sprintf
	switch b := body.(type) {
	case rom.Episode:
		s := say("Episode, version %d: %s, %s shoulder", b.Version, name(stateNames, b.State), b.Side)
		if b.Correction != nil {
			s += "; correction asked: " + correctionText(b, *b.Correction)
		}
		if b.Transfer != nil {
			s += "; care goes on at " + b.Transfer.Clinic
		}
		return s, b.By
	case rom.Plan:
		return say("Plan revision %d: %s", b.Rev, b.Reason), b.By
	case rom.Clearance:
		if b.Withdrawn {
			return say("Phase %s: clearance withdrawn", b.Phase), b.By
		}
		return say("Phase %s: cleared", b.Phase), b.By
	case rom.Session:
		s := say("Session %s: %d of %d holds", b.Ended, b.Counted(), b.Asked())
		if b.By != "" {
			s += ", from the paper log of " + b.Due.String()
		}
		return s, b.By
	case rom.Reading:
		return readingText(b), b.By
	case rom.Pain:
		return say("Pain %d of 10 (%s)", b.Score, b.When), ""
	case rom.Sign:
		return say("Warning sign: %s", name(signNames, b.Sign)), ""
	case rom.SlingReport:
		return say("Sling: %s", b.Worn), ""
	case rom.Question:
		return "Note to the clinic", ""
	case rom.Note:
		return "Note to the patient", b.By
	case rom.Seen:
		return say("Read: record %d of %s", b.What.N, authorWord(b.What.Author)), b.By
	case rom.Adopted:
		return say("Phone follows plan revision %d", b.Rev), ""
	case rom.Install:
		return say("App installed, version %s", b.App), ""
	case rom.Therapy:
		return say("Therapy on %s: %s", b.On, b.Outcome), b.By
	case rom.Visit:
		return say("Visit on %s", b.On), b.By
	case rom.Task:
		return say("Finding %s: %s", b.Finding, actName(b.Act)), b.By
	case rom.Amend:
		return say("Corrects record %d of %s: %s", b.Target.N, authorWord(b.Target.Author), b.Reason), ""
	case rom.Void:
		return say("Takes back record %d of %s: %s", b.Target.N, authorWord(b.Target.Author), b.Reason), ""
	}
	return "", ""
}

func readingText(b rom.Reading) string {
	value := b.Angle.String() + "° (SE " + b.SE.String() + "°)"
	if b.Motion.ByLevel() {
		value = levelName(b.Level)
	}
	s := fmt.Sprintf("Reading, %s arm, %s: %s by %s", b.Side, name(motionShort, b.Motion), value, b.Method)
	var also []string
	if !b.On.IsZero() {
		also = append(also, "taken on "+b.On.String())
	}
	if b.Baseline {
		also = append(also, "baseline before surgery")
	}
	if b.Anaesthetic {
		also = append(also, "under anaesthetic")
	}
	if b.EndFeel != "" {
		also = append(also, string(b.EndFeel)+" end feel")
	}
	if b.Pain != nil {
		also = append(also, fmt.Sprintf("pain %d", *b.Pain))
	}
	if len(also) > 0 {
		s += ", " + strings.Join(also, ", ")
	}
	return s
}

// authorWord tells phones and the clinic apart without ids that say nothing.
func authorWord(a rom.Author) string {
	if a.FromClinic() {
		return "the clinic"
	}
	return "the phone"
}
