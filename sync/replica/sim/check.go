package sim

import (
	"context"
	"errors"
	"fmt"
	"time"

	"unsling/engine/rom"
	"unsling/sync/journal"
	"unsling/sync/replica"
	"unsling/sync/wire"
)

// watch is what was seen of a patient's log up to the last step, so that each
// step costs what is new in it.
type watch struct {
	head     wire.Cursor
	seen     map[rom.Ref]bool
	newest   int // revision of the plan
	marks    map[rom.Author]int64
	backedUp map[rom.Author]int64
}

// forget begins to watch anew: an alarm has just said, or is about to say,
// that the store went back.
func (w *world) forget() { clear(w.watched) }

// checkServer holds I2, I3, I4, I7, I8, I9 and I10 at every step.
func (w *world) checkServer() {
	for a, r := range w.server.rows {
		if have := w.server.now.patients[r.patient].marks[a].N; have < r.told {
			w.fail("I4", "%s was told that %d are kept, the store has %d", a, r.told, have)
		}
	}
	for _, id := range w.ids {
		p, seen := w.server.now.patients[id], w.watched[id]
		if seen == nil {
			seen = &watch{seen: map[rom.Ref]bool{}, marks: map[rom.Author]int64{}, backedUp: map[rom.Author]int64{}}
			w.watched[id] = seen
		}
		if n := seen.head.Seq; n > int64(len(p.log)) || n > 0 && p.log[n-1].hash != seen.head.Hash {
			w.fail("I7", "the log of %s went back without an alarm", id)
		}
		for _, e := range p.log[seen.head.Seq:] {
			w.checkEntry(id, p, seen, e)
		}
		seen.head = p.head()
		for a, m := range p.marks {
			if m.N < seen.marks[a] {
				w.fail("I7", "the mark of %s fell from %d to %d", a, seen.marks[a], m.N)
			}
			for n := seen.marks[a] + 1; n <= m.N; n++ {
				if _, ok := p.hashes[rom.Ref{Author: a, N: n}]; !ok {
					w.fail("I2", "%s has a hole at %d below its mark %d", a, n, m.N)
				}
			}
			seen.marks[a] = m.N
		}
		for a, n := range p.backedUp {
			if n < seen.backedUp[a] {
				w.fail("I7", "what is backed up of %s fell from %d to %d", a, seen.backedUp[a], n)
			}
			seen.backedUp[a] = n
		}
	}
	if w.step%100 == 0 {
		for _, id := range w.ids {
			w.checkOrder(id)
			w.checkVoids(id)
		}
	}
}

// checkEntry looks at one line that is new in a log.
func (w *world) checkEntry(id rom.PatientID, p *patient, seen *watch, e entry) {
	if seen.seen[e.ref] {
		w.fail("I2", "%v stands twice in the log", e.ref)
	}
	seen.seen[e.ref] = true
	rec, err := wire.Decode(e.line)
	if err != nil {
		w.fail("I3", "%v is no record", e.ref)
	}
	if rec.Ref() != e.ref || wire.HashOf(e.line) != e.hash {
		w.fail("I3", "%v stands in the place of %v", rec.Ref(), e.ref)
	}
	if before := p.hashes[rom.Ref{Author: e.ref.Author, N: e.ref.N - 1}]; rec.N > 1 && rec.Prev != before {
		w.fail("I2", "%v does not follow its predecessor", e.ref)
	}
	if !w.belongs(e.ref, e.hash, id) {
		w.fail("I8", "%v stands in the log of another patient, or the clinic never wrote it", e.ref)
	}
	if !e.ref.Author.FromClinic() {
		if !w.written[e.hash] {
			w.fail("I3", "%v is not what a phone wrote", e.ref)
		}
		if !e.before && w.server.rows[e.ref.Author].revoked {
			w.fail("I9", "%v of a revoked phone stands in the log", e.ref)
		}
	}
	w.checkRevision(seen, rec, e.back)
}

// checkRevision holds I10: at its time every revision was made from the newest
// that the store had, and has a number above it. What came back from a phone
// after a loss has its place in another time.
func (w *world) checkRevision(seen *watch, rec wire.Record, back bool) {
	if rec.Kind != wire.KindPlan {
		return
	}
	b, err := wire.DecodeBody(rec.Kind, rec.V, rec.Body)
	if errors.Is(err, wire.ErrNotUnderstood) {
		return
	}
	if err != nil {
		w.fail("I10", "%v is no plan: %v", rec.Ref(), err)
	}
	p := b.(rom.Plan)
	if !back && (p.Base != seen.newest || p.Rev <= seen.newest) {
		w.fail("I10", "revision %d was made from %d while %d was the newest", p.Rev, p.Base, seen.newest)
	}
	seen.newest = max(seen.newest, p.Rev)
}

// checkAnswer holds I6, I7 and I8 for one answer.
func (w *world) checkAnswer(r *row, p *patient, h wire.Header, reply wire.Reply, lines []wire.LogLine) {
	if r.revoked {
		return
	}
	good := h.Since.Seq > 0 && h.Since.Seq <= reply.Head.Seq && p.log[h.Since.Seq-1].hash == h.Since.Hash
	switch {
	case good && reply.Seq != h.Since.Seq+1:
		w.fail("I6", "a phone that stands at %d is sent the log from %d on", h.Since.Seq, reply.Seq)
	case !good && reply.Seq != 1:
		w.fail("I7", "a phone whose cursor is of another log is sent the log from %d on", reply.Seq)
	}
	for _, l := range lines {
		rec, err := wire.Decode(l.Bytes)
		if err != nil {
			w.fail("I3", "line %d of the log is no record", l.Seq)
		}
		if !w.belongs(rec.Ref(), l.Hash, r.patient) {
			w.fail("I8", "%v was sent to a phone of another patient", rec.Ref())
		}
	}
}

func (w *world) belongs(ref rom.Ref, h wire.Hash, id rom.PatientID) bool {
	if !ref.Author.FromClinic() {
		r := w.server.rows[ref.Author]
		return r != nil && r.patient == id
	}
	for _, c := range w.clinic[ref] {
		if c.hash == h && c.patient == id {
			return true
		}
	}
	return false
}

// checkPruned holds a phone to rule 4 and to the second half of rule 12 when
// it puts barriers in the place of rows. It looks before the commit and
// returns what is wrong should that succeed, "" for nothing.
func (w *world) checkPruned(ph *phone, b journal.Batch) string {
	moved, was := map[string]bool{}, map[rom.Ref]bool{}
	for _, r := range b.Add {
		if rec, err := wire.Decode(r.Line); err == nil {
			moved[rec.Salt] = true
			was[rec.Was] = !rec.Was.IsZero()
		}
	}
	for _, r := range b.Put {
		if string(r.Line) != replica.BarrierLine {
			continue
		}
		ref := r.Key()
		rows, err := ph.disk.Open().Rows(context.Background(), r.Author, r.N, 1)
		if err != nil || len(rows) != 1 || rows[0].N != r.N {
			continue
		}
		rec, err := wire.Decode(rows[0].Line)
		if err != nil || moved[rec.Salt] {
			continue
		}
		if w.hurt[rec.Salt] && (was[ref] || was[rec.Was]) {
			continue // it was read and moved before the disk changed its salt
		}
		if v := w.server.verified; v == nil || v.patients[ph.patient].hashes[ref] == "" {
			return fmt.Sprintf("%s dropped %v, which no verified backup has", ph.name, ref)
		}
		if w.clock.Add(ph.ahead).Sub(rec.At) < 90*24*time.Hour {
			return fmt.Sprintf("%s dropped %v, which it wrote less than 90 days ago", ph.name, ref)
		}
	}
	return ""
}

func (w *world) serverLine(id rom.PatientID, ref rom.Ref) ([]byte, bool) {
	for _, e := range w.server.now.patients[id].log {
		if e.ref == ref {
			return e.line, true
		}
	}
	return nil, false
}

// wroteClinic notes what the clinic wrote. After the store lost its end a
// name may be given twice.
func (w *world) wroteClinic(id rom.PatientID, ref rom.Ref, h wire.Hash, line []byte) {
	w.clinic[ref] = append(w.clinic[ref], clinicLine{id, h, line})
}

// diverged reports whether the chain of a clinic author was written twice
// from some number up to that of ref on, so that one of the two cannot come
// back.
func (w *world) diverged(id rom.PatientID, ref rom.Ref) bool {
	for n := int64(1); n <= ref.N; n++ {
		variants := 0
		for _, c := range w.clinic[rom.Ref{Author: ref.Author, N: n}] {
			if c.patient == id {
				variants++
			}
		}
		if variants > 1 {
			return true
		}
	}
	return false
}
