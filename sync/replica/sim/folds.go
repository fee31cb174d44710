package sim

import (
	"maps"
	"reflect"

	"unsling/engine/rom"
	"unsling/sync/replica"
	"unsling/sync/wire"
)

// shuffled returns the lines in another order, some of them twice.
func (w *world) shuffled(lines [][]byte) [][]byte {
	out := append([][]byte(nil), lines...)
	for range len(lines) / 3 {
		out = append(out, pick(&w.chance, lines))
	}
	for i := len(out) - 1; i > 0; i-- {
		j := w.chance.below(i + 1)
		out[i], out[j] = out[j], out[i]
	}
	return out
}

// fold is the fold, or one that goes against its rules.
func (w *world) fold(lines [][]byte) []rom.History {
	switch {
	case w.broken(13):
		var out []rom.History
		for _, l := range lines {
			out = append(out, replica.Fold(l))
		}
		return out
	case w.broken(11):
		last := map[rom.Ref]int{}
		var keep [][]byte
		for i, l := range lines {
			if rec, err := wire.Decode(l); err == nil && rec.Kind == wire.KindAmend {
				if b, err := wire.DecodeBody(rec.Kind, rec.V, rec.Body); err == nil {
					last[b.(rom.Amend).Target] = i
				}
			}
		}
		for i, l := range lines {
			rec, err := wire.Decode(l)
			if err == nil && rec.Kind == wire.KindAmend {
				if b, err := wire.DecodeBody(rec.Kind, rec.V, rec.Body); err == nil && last[b.(rom.Amend).Target] != i {
					continue
				}
			}
			keep = append(keep, l)
		}
		lines = keep
	}
	return []rom.History{replica.Fold(lines...)}
}

// checkOrder holds I5 for the server: the fold knows no order.
func (w *world) checkOrder(id rom.PatientID) {
	lines := w.server.now.patients[id].lines()
	if len(lines) > 0 && !reflect.DeepEqual(w.fold(lines), w.fold(w.shuffled(lines))) {
		w.fail("I5", "the log of %s folds differently in another order", id)
	}
}

// checkVoids holds I11, by the log and by what was taken back and not by the
// fold, and the second half of I2: nothing counts twice.
func (w *world) checkVoids(id rom.PatientID) {
	p := w.server.now.patients[id]
	saltOf, at := map[rom.Ref]string{}, map[string]bool{}
	for _, e := range p.log {
		if rec, err := wire.Decode(e.line); err == nil {
			saltOf[e.ref] = rec.Salt
			at[rec.Salt] = true
		}
	}
	// What damage has touched, or what was set aside because of it, can have
	// lost its name.
	touched := maps.Clone(w.hurt)
	for _, q := range p.aside {
		if rec, err := wire.Decode(q.Bytes); err == nil {
			touched[rec.Salt] = true
		}
	}
	shown, counted := map[rom.Ref]bool{}, map[string]bool{}
	for _, h := range w.fold(p.lines()) {
		for _, e := range h.Pains {
			salt := saltOf[e.Ref]
			if counted[salt] {
				w.fail("I2", "%v counts twice", e.Ref)
			}
			shown[e.Ref], counted[salt] = true, true
			if by := w.voided[salt]; at[by] && !touched[salt] && !touched[by] {
				w.fail("I11", "%v was taken back by the patient and is shown", e.Ref)
			}
		}
	}
	for _, e := range p.log {
		rec, err := wire.Decode(e.line)
		if err != nil || rec.Kind != wire.KindVoid {
			continue
		}
		b, err := wire.DecodeBody(rec.Kind, rec.V, rec.Body)
		if err != nil {
			continue
		}
		t := b.(rom.Void).Target
		if shown[t] && (rec.Author.FromClinic() || rec.Author == t.Author) {
			w.fail("I11", "%v was taken back by %v and is shown", t, e.ref)
		}
	}
}
