package ledgertest

import (
	"context"
	"fmt"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"unsling/engine/rom"
	"unsling/server/ledger"
	"unsling/sync/wire"
)

func testAudit(t *testing.T, b *bench) {
	start, err := b.Audit(1, 0)
	b.must(err)
	ph := b.enrol("p1")
	ph.write("canary of the patient")
	ph.exchange()
	ph.exchange() // nothing new: no entry
	b.must(appendOne(b, note("canary of the clinic")))
	b.must(b.Note(ledger.Entry{At: b.now, Actor: "vega", Act: "patient.view", Patient: "p1"}))
	if appendOne(b, plan("e1", 5, 6)) == nil {
		t.Fatal("a stale plan was appended")
	}
	all, err := b.Audit(int64(len(start))+1, 0)
	b.must(err)
	var acts []string
	for i, e := range all {
		acts = append(acts, e.Act)
		if e.Seq != int64(len(start)+i+1) || len(e.Hash) != 43 || !e.At.Equal(b.now) {
			t.Errorf("entry %+v", e)
		}
		if text := fmt.Sprintf("%+v", e); strings.Contains(text, "canary") || strings.Contains(text, "Invented") {
			t.Errorf("entry holds what people wrote: %s", text)
		}
	}
	if got, want := fmt.Sprint(acts), "[phone.invite phone.enrol exchange record.note patient.view]"; got != want {
		t.Errorf("acts %s, want %s", got, want)
	}
	two, err := b.Audit(2, 2)
	if err != nil || len(two) != 2 || two[0].Seq != 2 {
		t.Errorf("a page of two: %+v %v", two, err)
	}
}

func testUpkeep(t *testing.T, b *bench) {
	h, err := b.Health()
	if err != nil || h.Patients != 2 || h.Audit == 0 {
		t.Errorf("health: %+v %v", h, err)
	}
	before, _ := b.About()
	after, err := b.NewEpoch(b.trail("admin"))
	if err != nil || after.Epoch == before.Epoch || after.Clinic == before.Clinic {
		t.Errorf("epoch: %+v then %+v, %v", before, after, err)
	}
	if now, _ := b.About(); now != after {
		t.Errorf("about: %+v", now)
	}
	b.must(b.Tidy())
	ph := b.enrol("p1")
	ph.write("one")
	ph.exchange()
	wantErr(t, "backed up beyond the mark", backUp(b, ph.author, 2), ledger.ErrState)
	b.must(backUp(b, ph.author, 1))
	b.must(backUp(b, ph.author, 0)) // never falls
	if out := ph.exchange(); out.Reply.BackedUp != 1 {
		t.Errorf("reply: %+v", out.Reply)
	}
}

func testReopen(t *testing.T, b *bench) {
	ph := b.enrol("p1")
	for range 100 {
		ph.write("x")
	}
	ph.exchange()
	b.must(appendOne(b, plan("e1", 0, 1)))
	about, _ := b.About()
	facts, _ := b.Facts("p1")
	for range 2 {
		b.reopen()
	}
	if now, _ := b.About(); now != about {
		t.Errorf("about: %+v, was %+v", now, about)
	}
	ph.write("after")
	out := ph.exchange()
	if out.Reply.Ack.N != 101 || out.Reply.Head.Seq != 102 || len(out.Lines) != 2 {
		t.Errorf("after opening again: %+v", out.Reply)
	}
	wantErr(t, "stale after opening again", appendOne(b, plan("e1", 0, 2)), ledger.ErrStale)
	if f, err := b.Facts("p1"); err != nil || string(f.Data[:len(facts.Data)]) != string(facts.Data) {
		t.Errorf("facts: %v", err)
	}
	if row, err := b.Patient("p1"); err != nil || row.Name != "Invented p1" {
		t.Errorf("patient: %+v %v", row, err)
	}
}

func testNewFold(t *testing.T, b *bench) {
	ph := b.enrol("p1")
	for range 100 {
		ph.write("x")
	}
	ph.exchange()
	b.must(b.Close())
	b.Store = b.setup.Open(t, b.place, TestKeys(), TestFold(2))
	f, err := b.Facts("p1")
	if err != nil || f.Version != 2 || f.Seq != 100 || string(f.Data[:2]) != "2:" {
		t.Errorf("facts of the new fold: %d %d %.20s %v", f.Version, f.Seq, f.Data, err)
	}
}

// Any order of writing, sending, sending again, losing the answer and
// forking, on two patients with two phones each, against a plain list.
func testModel(t *testing.T, b *bench) {
	rapid.Check(t, func(rt *rapid.T) {
		var phones []*phone
		model := map[rom.PatientID][]string{}
		for _, p := range []rom.PatientID{rom.PatientID(b.id("m")), rom.PatientID(b.id("m"))} {
			if err := b.CreatePatient(ledger.Patient{ID: p}, []rom.StaffID{"vega"}, nil, b.trail("vega")); err != nil {
				rt.Fatal(err)
			}
			phones = append(phones, b.enrol(p), b.enrol(p))
		}
		for range rapid.IntRange(1, 25).Draw(rt, "acts") {
			ph := phones[rapid.IntRange(0, 3).Draw(rt, "phone")]
			switch rapid.IntRange(0, 5).Draw(rt, "act") {
			case 0, 1:
				ph.write(fmt.Sprint(len(ph.lines)))
				continue
			case 2: // starts again from an earlier number
				ph.from = int64(rapid.IntRange(1, int(ph.from)).Draw(rt, "from"))
			case 3: // forgets what it pulled
				ph.since, ph.got = wire.Cursor{}, nil
			}
			known := ph.from
			for _, name := range model[ph.patient] {
				var n int64
				if k, _ := fmt.Sscanf(name, string(ph.author)+"/%d", &n); k == 1 && n >= known {
					known = n + 1
				}
			}
			for n := known; n <= int64(len(ph.lines)); n++ {
				model[ph.patient] = append(model[ph.patient], fmt.Sprintf("%s/%d", ph.author, n))
			}
			out, err := b.Exchange(ph.request())
			if err != nil || out.Code != "" {
				rt.Fatal(out.Code, err)
			}
			if rapid.Bool().Draw(rt, "answer arrives") {
				ph.take(out)
			}
		}
		for _, ph := range phones {
			lines, err := b.Read(ph.patient, 1, 0)
			if err != nil {
				rt.Fatal(err)
			}
			var got []string
			for _, l := range lines {
				got = append(got, fmt.Sprintf("%s/%d", l.Author, l.N))
			}
			if fmt.Sprint(got) != fmt.Sprint(model[ph.patient]) {
				rt.Fatalf("log %v, want %v", got, model[ph.patient])
			}
		}
	})
	if r, err := b.Verify(context.Background()); err != nil || len(r.Faults) != 0 || r.Lines == 0 {
		t.Errorf("verify: %+v %v", r, err)
	}
}

func backUp(b *bench, a rom.Author, n int64) error {
	return b.SetBackedUp(ledger.BackupState{Series: "s1", Segment: 1},
		ledger.Exported{Logs: map[rom.PatientID]ledger.Extent{"p1": {Marks: map[rom.Author]int64{a: n}}}}, b.trail("backup"))
}

// Little room stops what phones send and new patients; the clinic can still
// narrow a plan and the phone still learns of it. No room stops everything
// but an erasure.
func testRoom(t *testing.T, b *bench) {
	ph := b.enrol("p1")
	ph.write("one")
	ph.exchange()
	b.must(b.AskErasure("p2", "vega", b.trail("vega")))
	b.SetRoom(ledger.Little)
	ph.write("two")
	_, err := b.Exchange(ph.request())
	wantErr(t, "a record with little room", err, ledger.ErrFull)
	wantErr(t, "a patient with little room", b.CreatePatient(ledger.Patient{ID: "p3"}, []rom.StaffID{"vega"}, nil, b.trail("vega")), ledger.ErrFull)
	b.must(appendOne(b, note("go less far")))
	empty := ph.request()
	empty.Request.Lines = nil
	if out, err := b.Exchange(empty); err != nil || len(out.Lines) != 1 {
		t.Errorf("the phone does not hear from the clinic: %+v %v", out, err)
	}
	b.SetRoom(ledger.None)
	wantErr(t, "a note with no room", appendOne(b, note("x")), ledger.ErrFull)
	if _, err := b.Read("p1", 1, 0); err != nil {
		t.Errorf("reading with no room: %v", err)
	}
	_, err = b.Health()
	wantErr(t, "health with no room", err, ledger.ErrFull)
	if _, err := b.Erase("p2", "roth", b.trail("roth")); err != nil {
		t.Errorf("erasing with no room: %v", err)
	}
	b.SetRoom(ledger.Plenty)
	if out := ph.exchange(); out.Reply.Ack.N != 2 {
		t.Errorf("with room again: %+v", out)
	}
}
