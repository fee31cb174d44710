package replica

import (
	"testing"

	"unsling/engine/rom"
	"unsling/sync/wire"
)

// Whoever holds a phone can write any bytes. A name of staff in them is no
// proof: neither a reading of the clinic's, nor that a doctor has read a
// message, nor a clearance comes from a phone.
func TestPhoneSpeaksForNobodyElse(t *testing.T) {
	one := 1
	own := rom.Reading{
		Episode: "e1", Side: rom.Right, Motion: rom.ERSide, Class: rom.Passive, Method: rom.Photo, Position: rom.Supine,
		Trials: []rom.Trial{{Angle: rom.Deg(20)}}, Angle: rom.Deg(20), Pain: &one,
	}
	clinical := own
	clinical.Method, clinical.By = rom.Goniometer, "vega"
	phone, clinic := newScribe(t, "a1"), newScribe(t, "c-1")
	var lines [][]byte
	add := func(s *scribe, k wire.Kind, body any) rom.Ref {
		line, ref := s.write(k, body)
		lines = append(lines, line)
		return ref
	}
	question := add(phone, wire.KindQuestion, rom.Question{Episode: "e1", Text: "may I drive?"})
	mine := add(phone, wire.KindReading, own)
	raw, v, err := wire.EncodeBody(wire.KindReading, clinical)
	if err != nil {
		t.Fatal(err)
	}
	forged := []rom.Ref{
		add(phone, wire.KindReading, clinical),
		add(phone, wire.KindSeen, rom.Seen{What: question, By: "vega"}),
		add(phone, wire.KindSeen, rom.Seen{What: question, Signed: rom.Signature{Name: "Dr Vega"}}),
		add(phone, wire.KindSession, rom.Session{ID: "s1", Episode: "e1", By: "vega", Ended: rom.Finished, Due: 20000}),
		add(phone, wire.KindAmend, rom.Amend{Target: mine, V: v, Body: raw, Reason: "as the doctor says"}),
		add(phone, wire.KindClearance, rom.Clearance{Episode: "e1", Phase: "active", By: "vega", On: 20000, Reason: "healed"}),
	}
	h := Fold(lines...)
	if len(h.Readings) != 1 || h.Readings[0].Ref != mine || !h.Readings[0].Body.Self() || len(h.Seens)+len(h.Sessions)+len(h.Clearances) != 0 {
		t.Errorf("a phone spoke as staff: %+v", h)
	}
	if len(h.Damaged) != len(forged) {
		t.Errorf("%d of %d are marked: %v", len(h.Damaged), len(forged), h.Damaged)
	}

	// The same said by the clinic counts, also as a correction.
	add(clinic, wire.KindReading, clinical)
	add(clinic, wire.KindSeen, rom.Seen{What: question, By: "vega"})
	add(clinic, wire.KindAmend, rom.Amend{Target: mine, V: v, Body: raw, Reason: "measured again"})
	h = Fold(lines...)
	if len(h.Readings) != 2 || h.Readings[0].Body.Self() || h.Readings[1].Body.Self() || len(h.Seens) != 1 {
		t.Errorf("the clinic's own word does not count: %+v", h)
	}
}
