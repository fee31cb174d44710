package ledgertest

import (
	"bytes"
	"fmt"
	"strings"
	"sync"
	"testing"
	"time"

	"unsling/engine/rom"
	"unsling/server/ledger"
	"unsling/sync/wire"
)

func testExchange(t *testing.T, b *bench) {
	ph := b.enrol("p1")
	if out := ph.exchange(); out.Code != "" || out.Reply.Ack != (wire.Mark{}) || out.Reply.Seq != 1 || len(out.Lines) != 0 || out.Reply.More || out.Reply.State != wire.Active {
		t.Errorf("an empty exchange: %+v", out)
	}
	ph.write("one")
	ph.write("two")
	first := ph.request()
	out := ph.exchange()
	if out.Reply.Ack.N != 2 || out.Reply.Ack.Hash != wire.HashOf(ph.lines[1]) || out.Reply.Head.Seq != 2 || len(out.Lines) != 2 {
		t.Errorf("after two records: %+v", out.Reply)
	}
	for i, l := range ph.got {
		if !bytes.Equal(l.Bytes, ph.lines[i]) || l.Author != ph.author {
			t.Errorf("line %d came back changed", i+1)
		}
	}
	again, err := b.Exchange(first) // the answer was lost: the same request again
	if err != nil || again.Reply.Ack != out.Reply.Ack || again.Reply.Head != out.Reply.Head || len(again.Lines) != 2 {
		t.Errorf("the same again: %+v %v", again.Reply, err)
	}
	b.must(appendOne(b, note("from the clinic")))
	ph.write("three")
	out = ph.exchange()
	if len(out.Lines) != 2 || !out.Lines[0].Author.FromClinic() || out.Lines[1].N != 3 || out.Reply.Seq != 3 {
		t.Errorf("clinic line and own line: %+v", out)
	}
	if !wire.Sealed(out.Lines[0].Bytes, TestKeys().ClinicMAC, "p1") || wire.Sealed(out.Lines[0].Bytes, TestKeys().ClinicMAC, "p2") {
		t.Error("the clinic's line does not bear its seal for this patient")
	}
	ph.follows, ph.epoch = 7, "the life before"
	b.now = b.now.Add(time.Minute)
	ph.exchange()
	row, err := b.Author(ph.author)
	if err != nil || row.Following != 7 || !row.FollowingSince.Equal(b.now) || !row.LastSeen.Equal(b.now) || row.App != "1.0" || row.Mark.N != 3 {
		t.Errorf("row: %+v %v", row, err)
	}
	since := b.now
	b.now = b.now.Add(time.Minute)
	ph.exchange()
	if row, _ := b.Author(ph.author); !row.FollowingSince.Equal(since) || !row.LastSeen.Equal(b.now) {
		t.Errorf("row after the same revision again: %+v", row)
	}
	for _, made := range []int{8, 1 << 62} { // nothing was lost: there is no such plan
		ph.follows = made
		ph.exchange()
		if row, _ := b.Author(ph.author); row.Following != 7 {
			t.Errorf("a phone is believed to follow %d", row.Following)
		}
	}
	ph.follows = 7
	stranger := ph.request()
	stranger.Author = "a999"
	_, err = b.Exchange(stranger)
	wantErr(t, "unknown author", err, ledger.ErrUnknown)
}

func appendOne(b *bench, d ledger.Draft) error {
	_, err := b.Append("p1", []ledger.Draft{d}, nil, b.trail("vega"))
	return err
}

func testForkAndGap(t *testing.T, b *bench) {
	ph := b.enrol("p1")
	ph.write("one")
	ph.write("two")
	ph.exchange()

	gap := ph.request()
	ph.write("three")
	ph.write("four")
	gap.Request.Header.From, gap.Request.Lines = 4, ph.lines[3:]
	out, err := b.Exchange(gap)
	if err != nil || out.Code != wire.Gap || out.Reply.Ack.N != 2 || len(out.Lines) != 0 {
		t.Errorf("gap: %+v %v", out, err)
	}

	copied := &phone{b: b, author: ph.author, patient: "p1", from: 2, lines: [][]byte{ph.lines[0]}}
	copied.write("another two")
	copied.write("another three")
	out = copied.exchange()
	if out.Code != wire.Fork || out.Reply.Ack.N != 2 || out.Reply.Ack.Hash != wire.HashOf(ph.lines[1]) {
		t.Errorf("fork: %+v", out)
	}
	out = copied.exchange() // asks again: no second entry
	if out.Code != wire.Fork {
		t.Errorf("fork again: %+v", out)
	}
	lines, err := b.Read("p1", 1, 0)
	if err != nil || len(lines) != 2 || !bytes.Equal(lines[1].Bytes, ph.lines[1]) {
		t.Errorf("log after gap and fork: %+v %v", lines, err)
	}
	q, err := b.Quarantine("p1")
	if err != nil || len(q) != 1 || q[0].Kind != ledger.Forked || q[0].N != 2 || !bytes.Equal(q[0].Bytes, copied.lines[1]) {
		t.Errorf("quarantine: %+v %v", q, err)
	}
	if out := ph.exchange(); out.Code != "" || out.Reply.Ack.N != 4 {
		t.Errorf("the true phone goes on: %+v", out)
	}
}

func testQuarantine(t *testing.T, b *bench) {
	ph := b.enrol("p1")
	ph.write("one")
	ph.lines = append(ph.lines, []byte(`{"author":"`+string(ph.author)+`","n":2,"prev":`+strings.Repeat("x", 50)))
	ph.write("three, after the bad one")
	four := ph.write("four")
	ph.lines[3] = bytes.Replace(four, []byte(`"prev":"`), []byte(`"prev":"B`), 1)
	ph.lines[3] = append(ph.lines[3][:len(ph.lines[3])-1:len(ph.lines[3])-1], '}')
	ph.write("five")
	out := ph.exchange()
	if out.Code != "" || out.Reply.Ack.N != 5 || out.Reply.Ack.Hash != wire.HashOf(ph.lines[4]) {
		t.Fatalf("bad lines are acknowledged and block nothing: %+v", out)
	}
	var got []int64
	for _, l := range out.Lines {
		got = append(got, l.N)
	}
	if fmt.Sprint(got) != "[1 3 5]" || out.Reply.Head.Seq != 3 {
		t.Errorf("log has %v up to %d", got, out.Reply.Head.Seq)
	}
	q, err := b.Quarantine("p1")
	if err != nil || len(q) != 2 || q[0].Kind != ledger.Malformed || !bytes.Equal(q[0].Bytes, ph.lines[1]) {
		t.Errorf("quarantine: %+v %v", q, err)
	}
	ph.from = 1 // sent again from the start: ignored, also the bad ones
	if out := ph.exchange(); out.Code != "" || out.Reply.Ack.N != 5 || out.Reply.Head.Seq != 3 {
		t.Errorf("again: %+v", out)
	}
	if q, _ := b.Quarantine("p1"); len(q) != 2 {
		t.Errorf("quarantine after sending again: %d", len(q))
	}
	panel, err := b.Panel("vega")
	if err != nil || panel[0].Quarantined != 2 || panel[1].Quarantined != 0 {
		t.Errorf("panel: %+v %v", panel, err)
	}
}

func testPaging(t *testing.T, b *bench) {
	ph := b.enrol("p1")
	for i := range 45 {
		ph.write(strings.Repeat("x", 100*i))
	}
	ph.exchange()
	reader := b.enrol("p1")
	var got []ledger.Line
	for pages := 0; ; pages++ {
		req := reader.request()
		req.MaxLines, req.MaxBytes = 10, 9000
		out, err := b.Exchange(req)
		b.must(err)
		size := 0
		for _, l := range out.Lines {
			size += len(l.Bytes) + 1
		}
		if len(out.Lines) > 10 || size > 9000 || pages > 45 || len(out.Lines) == 0 {
			t.Fatalf("page %d has %d lines of %d bytes", pages, len(out.Lines), size)
		}
		reader.take(out)
		got = append(got, out.Lines...)
		if !out.Reply.More {
			break
		}
	}
	if len(got) != 45 {
		t.Fatalf("%d lines", len(got))
	}
	for i, l := range got {
		if !bytes.Equal(l.Bytes, ph.lines[i]) {
			t.Errorf("line %d differs", i+1)
		}
	}
	some, err := b.Read("p1", 11, 5)
	if err != nil || len(some) != 5 || some[0].Seq != 11 {
		t.Errorf("read from 11: %+v %v", some, err)
	}
	_, err = b.Read("p9", 1, 0)
	wantErr(t, "log of nobody", err, ledger.ErrUnknown)
}

// No reply ever holds a line of another patient.
func testApart(t *testing.T, b *bench) {
	one, two := b.enrol("p1"), b.enrol("p2")
	for i := range 10 {
		one.write(fmt.Sprint("of one ", i))
		two.write(fmt.Sprint("of two ", i))
		one.exchange()
		two.exchange()
	}
	for _, ph := range []*phone{one, two} {
		if len(ph.got) != 10 {
			t.Errorf("%s has %d lines", ph.patient, len(ph.got))
		}
		for _, l := range ph.got {
			if l.Author != ph.author {
				t.Errorf("%s got a line of %s", ph.patient, l.Author)
			}
		}
	}
}

func testRewind(t *testing.T, b *bench) {
	ph := b.enrol("p1")
	ph.write("one")
	ph.write("two")
	ph.exchange()
	about, err := b.About()
	b.must(err)
	if ph.epoch != about.Epoch || about.Epoch == "" || !about.Clinic.FromClinic() {
		t.Fatalf("epoch %q of %+v", ph.epoch, about)
	}
	other := b.enrol("p2")
	other.write("of another patient")
	other.exchange()
	seen := map[string]bool{about.Epoch: true}
	for name, since := range map[string]wire.Cursor{
		"beyond the head": {Seq: 9, Hash: wire.HashOf(ph.lines[0])}, "another hash": {Seq: 2, Hash: wire.HashOf(ph.lines[0])},
	} {
		old := ph.epoch
		ph.since = since
		out := ph.exchange()
		if out.Reply.Seq != 1 || len(out.Lines) != 2 || seen[out.Reply.Epoch] {
			t.Errorf("%s: %+v, epoch was %s", name, out.Reply, old)
		}
		seen[ph.epoch] = true
		now := ph.epoch
		ph.since = since // a phone that does this all the time makes no epochs
		if out := ph.exchange(); out.Reply.Epoch != now || out.Reply.Seq != 1 {
			t.Errorf("%s again at once: %+v", name, out.Reply)
		}
		b.reopen() // nor one that waits for the next start
		ph.since = since
		if out := ph.exchange(); out.Reply.Epoch != now || out.Reply.Seq != 1 {
			t.Errorf("%s after a restart: %+v", name, out.Reply)
		}
		b.now = b.now.Add(time.Hour)
	}
	before := ph.epoch
	ph.since, ph.epoch = wire.Cursor{Seq: 9, Hash: wire.HashOf(ph.lines[0])}, "an-older-epoch"
	if out := ph.exchange(); out.Reply.Seq != 1 || out.Reply.Epoch != before {
		t.Errorf("a cursor of an older epoch: %+v", out.Reply)
	}
	b.must(appendOne(b, note("in the new epoch")))
	lines, err := b.Read("p1", 1, 0)
	last := lines[len(lines)-1]
	if err != nil || last.Author == about.Clinic || !last.Author.FromClinic() || last.N != 1 {
		t.Errorf("clinic line of the new epoch: %+v %v", last, err)
	}
	if now, _ := b.About(); now != about {
		t.Errorf("the word of one phone changed the whole store: %+v, then %+v", about, now)
	}
	if out := other.exchange(); out.Reply.Epoch != about.Epoch || out.Reply.Seq == 1 {
		t.Errorf("another patient's phone has to begin again: %+v", out.Reply)
	}
}

// Eight phones of two patients at once, while the clinic writes: every number
// once, no gap, and what each phone pulls is the log.
func testExchangeRace(t *testing.T, b *bench) {
	const phones, rounds = 8, 15
	var all []*phone
	for i := range phones {
		ph := b.enrol([]rom.PatientID{"p1", "p2"}[i%2])
		for k := range rounds * 2 {
			ph.write(fmt.Sprint(i, " ", k))
		}
		all = append(all, ph)
	}
	var wg sync.WaitGroup
	for _, ph := range all {
		wg.Go(func() {
			for k := range rounds {
				req := ph.request()
				req.Request.Lines = ph.lines[ph.from-1 : 2*(k+1)]
				out, err := b.Exchange(req)
				if err != nil || out.Code != "" {
					t.Error(out.Code, err)
					return
				}
				ph.take(out)
			}
		})
	}
	wg.Go(func() {
		for range rounds {
			if err := appendOne(b, note("meanwhile")); err != nil {
				t.Error(err)
			}
		}
	})
	wg.Wait()
	for _, p := range []rom.PatientID{"p1", "p2"} {
		lines, err := b.Read(p, 1, 0)
		want := phones / 2 * rounds * 2
		if p == "p1" {
			want += rounds
		}
		if err != nil || len(lines) != want {
			t.Errorf("%s has %d lines, want %d: %v", p, len(lines), want, err)
		}
		seen := map[string]bool{}
		for i, l := range lines {
			name := fmt.Sprint(l.Author, l.N)
			if l.Seq != int64(i+1) || seen[name] {
				t.Fatalf("line %d has seq %d, or %s is there twice", i+1, l.Seq, name)
			}
			seen[name] = true
		}
	}
	for _, ph := range all {
		ph.exchange()
		lines, err := b.Read(ph.patient, 1, 0)
		b.must(err)
		if len(ph.got) != len(lines) {
			t.Fatalf("%s pulled %d of %d lines", ph.author, len(ph.got), len(lines))
		}
	}
}

// A phone that was once told of more than the store has: the store lost its
// end, also when the numbers were taken by a copy since (replica rule 5).
func testLost(t *testing.T, b *bench) {
	ph := b.enrol("p1")
	ph.write("one")
	ph.write("two")
	ph.exchange()
	for name, header := range map[string]wire.Header{
		"acknowledged more": {From: 4}, "acknowledged something else": {From: 3, Prev: wire.HashOf([]byte("another two"))},
	} {
		before := ph.epoch
		req := ph.request()
		req.Request.Header.From, req.Request.Header.Prev = header.From, header.Prev
		out, err := b.Exchange(req)
		if err != nil || out.Code != wire.Gap || out.Reply.Ack.N != 2 || len(out.Lines) != 0 {
			t.Errorf("%s: %+v %v", name, out, err)
		}
		if ph.epoch = out.Reply.Epoch; ph.epoch == before {
			t.Errorf("%s: the epoch is still the same", name)
		}
		b.now = b.now.Add(time.Hour)
	}
	req := ph.request()
	req.Request.Header.From, req.Request.Header.Prev = 3, wire.HashOf(ph.lines[1])
	if out, err := b.Exchange(req); err != nil || out.Code != "" {
		t.Errorf("what was truly acknowledged: %+v %v", out, err)
	}
}
