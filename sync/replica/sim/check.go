package sim

import (
	"unsling/engine/rom"
	"unsling/sync/journal"
	"unsling/sync/replica"
	"unsling/sync/wire"
)

// checkServer holds I2, I3 and I4 at every step.
func (w *world) checkServer() {
	for a, r := range w.server.rows {
		if have := w.server.now.patients[r.patient].marks[a].N; have < r.told {
			w.fail("I4", "%s was told that %d are kept, the store has %d", a, r.told, have)
		}
	}
	if w.step%8 != 0 && !w.quiet {
		return
	}
	for _, id := range w.ids {
		p := w.server.now.patients[id]
		seen := map[rom.Ref]bool{}
		for _, e := range p.log {
			if seen[e.ref] {
				w.fail("I2", "%v stands twice in the log", e.ref)
			}
			seen[e.ref] = true
			if !e.ref.Author.FromClinic() && !w.written[e.hash] {
				w.fail("I3", "%v is not what a phone wrote", e.ref)
			}
		}
		for a, m := range p.marks {
			for n := int64(1); n <= m.N; n++ {
				if _, ok := p.hashes[rom.Ref{Author: a, N: n}]; !ok {
					w.fail("I2", "%s has a hole at %d below its mark %d", a, n, m.N)
				}
			}
		}
	}
}

// checkAnswer holds I8.
func (w *world) checkAnswer(r *row, lines []wire.LogLine) {
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

// checkPruned holds a phone to rule 4 and to the second half of rule 12.
func (w *world) checkPruned(ph *phone, b journal.Batch) {
	moved := map[rom.Ref]bool{}
	for _, r := range b.Add {
		if rec, err := wire.Decode(r.Line); err == nil {
			moved[rec.Was] = true
		}
	}
	for _, r := range b.Put {
		ref := r.Key()
		if moved[ref] || string(r.Line) != replica.BarrierLine {
			continue
		}
		if v := w.server.verified; v == nil || v.patients[ph.patient].hashes[ref] == "" {
			w.fail("I1", "%s dropped %v, which no verified backup has", ph.name, ref)
		}
	}
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
