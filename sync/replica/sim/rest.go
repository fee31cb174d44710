package sim

import (
	"context"
	"reflect"

	"unsling/engine/rom"
	"unsling/sync/journal"
	"unsling/sync/replica"
	"unsling/sync/wire"
)

// checkRest holds the rest when everything has come to rest.
func (w *world) checkRest() {
	w.checkServer()
	w.checkKept()
	for _, ph := range w.phones {
		if !w.revokedPhone(ph) {
			w.checkReplica(ph)
		}
	}
	for _, ph := range w.phones {
		if r := w.server.rows[ph.author()]; r != nil && r.revoked && !ph.state().Revoked {
			w.fail("I9", "%s is revoked and does not know", ph.name)
		}
	}
	for _, id := range w.ids {
		w.checkOrder(id)
		w.checkVoids(id)
	}
	for _, ph := range w.phones {
		w.lastPulled = 0
		ph.windows[0].begin(ph.windows[0].sync)
		ph.windows[0].finish()
		if w.lastPulled > 0 {
			w.fail("I6", "%s is sent %d records although it has everything", ph.name, w.lastPulled)
		}
	}
}

// checkKept holds I1 (I13 after a restore), and the second half of I9.
func (w *world) checkKept() {
	at := map[string]bool{}
	note := func(line []byte) {
		if rec, err := wire.Decode(line); err == nil {
			at[rec.Salt] = true
		}
	}
	for _, p := range w.server.now.patients {
		for _, e := range p.log {
			note(e.line)
		}
		for _, l := range p.sealed {
			note(l)
		}
		for _, q := range p.aside {
			if q.Why != replica.Forked {
				note(q.Bytes)
			}
		}
	}
	for _, salt := range w.order {
		k := w.kept[salt]
		if at[salt] || k.gone || w.flipped[k.ref] {
			continue
		}
		if w.revokedPhone(k.ph) && (k.ph.windows[0].last.Code == wire.Forbidden || k.ref.Author != k.ph.author()) {
			// A copy that may not become another device, or one that may
			// not see what of its former self the server has lost.
			continue
		}
		which := "I1"
		if w.restores > 0 {
			which = "I13"
		}
		w.fail(which, "%v of %s was called kept and is not at the server", k.ref, k.ph.name)
	}
}

// checkReplica holds I5, I7, I13 and I14 for one phone.
func (w *world) checkReplica(ph *phone) {
	p, st := w.server.now.patients[ph.patient], ph.state()
	tail, err := journal.Tail(context.Background(), ph.disk.Open(), st.Author)
	if err != nil {
		panic(err)
	}
	// A disk that lost its end cannot get back what the server keeps apart.
	if m := p.marks[st.Author]; st.Acked != m && (tail.N >= m.N || st.Acked.N != tail.N) {
		w.fail("I7", "%s believes %v, the server has %v", ph.name, st.Acked, m)
	}
	if st.Since != p.head() {
		w.fail("I7", "%s stands at %v, the log ends at %v", ph.name, st.Since, p.head())
	}
	have := map[wire.Hash]bool{}
	for _, e := range p.log {
		have[e.hash] = true
	}
	first, err := journal.First(context.Background(), ph.disk.Open(), st.Author)
	if err != nil {
		panic(err)
	}
	var disk replica.Folder
	var mine [][]byte
	on, pruned := map[rom.Ref]bool{}, map[rom.Ref]bool{}
	damaged := false
	err = ph.disk.Open().Each(context.Background(), func(r journal.Row) error {
		disk.Add(r.Line)
		pruned[r.Key()] = string(r.Line) == replica.BarrierLine
		on[r.Key()] = !pruned[r.Key()]
		damaged = damaged || w.flipped[r.Key()]
		switch {
		case have[wire.HashOf(r.Line)]:
			mine = append(mine, r.Line)
		case string(r.Line) == replica.BarrierLine, w.flipped[r.Key()]:
		case r.Author.FromClinic():
			if !w.diverged(ph.patient, r.Key()) {
				w.fail("I13", "%s holds %v, which the server lost and never got back", ph.name, r.Key())
			}
		case !w.excused(r):
			w.fail("I5", "%s holds %v, which the server has not", ph.name, r.Key())
		}
		return nil
	})
	if err != nil {
		panic(err)
	}
	// One that the server lost for good, a phone may still have.
	if told := disk.NeedsUpdate(); !damaged && (w.hasNewer(p.log) && !told || told && !w.hasNewer(ph.entries())) {
		w.fail("I14", "the clinic wrote a plan that this app does not read: %v, and %s says %v", w.hasNewer(p.log), ph.name, told)
	}
	if damaged {
		return
	}
	for _, e := range p.log {
		if on[e.ref] {
			continue
		}
		if v := w.server.verified; v != nil && v.patients[ph.patient].hashes[e.ref] != "" && pruned[e.ref] {
			mine = append(mine, e.line) // under a name it had when it was pruned
			continue
		}
		if e.ref.Author != st.Author || e.ref.N >= first && e.ref.N <= tail.N+1 {
			w.fail("I5", "%s has not %v", ph.name, e.ref)
		}
		mine = append(mine, e.line) // dropped here by rule 4
	}
	want := w.fold(p.lines())
	for _, lines := range [][][]byte{mine, w.shuffled(p.lines())} {
		if got := w.fold(lines); !reflect.DeepEqual(got, want) {
			w.fail("I5", "%s and the server fold the same log differently", ph.name)
		}
	}
}

// hasNewer reports whether there is a plan in a version not known here.
func (w *world) hasNewer(log []entry) bool {
	for _, e := range log {
		if rec, err := wire.Decode(e.line); err == nil && rec.Kind == wire.KindPlan && rec.V == newerPlan {
			return true
		}
	}
	return false
}

// entries are the rows on the phone's disk.
func (ph *phone) entries() (out []entry) {
	_ = ph.disk.Open().Each(context.Background(), func(r journal.Row) error {
		out = append(out, entry{ref: r.Key(), line: r.Line})
		return nil
	})
	return out
}

// excused reports whether a row of a phone may be missing at the server: it
// was kept apart there, or its phone was destroyed before it could be sent.
func (w *world) excused(r journal.Row) bool {
	rec, err := wire.Decode(r.Line)
	if err != nil {
		return true
	}
	if k := w.kept[rec.Salt]; k == nil || k.gone || w.revokedPhone(k.ph) {
		return true
	}
	for _, p := range w.server.now.patients {
		for _, q := range p.aside {
			if q.Hash == wire.HashOf(r.Line) {
				return true
			}
		}
		for _, e := range p.log { // repeated under another name
			if o, err := wire.Decode(e.line); err == nil && o.Salt == rec.Salt {
				return true
			}
		}
		if p.sealed[r.Key()] != nil {
			return true
		}
	}
	return false
}
