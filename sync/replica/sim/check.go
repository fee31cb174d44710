package sim

import (
	"context"
	"reflect"

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

// settle stops the faults and lets everything come to rest.
func (w *world) settle() {
	w.quiet = true
	w.server.crash = noCrash
	w.server.flush()
	for _, ph := range w.phones {
		ph.disk.Limit(0)
		for i, win := range ph.windows {
			win.finish()
			ph.windows[i] = win.kill() // the app is started again
		}
	}
	const most = 60
	for round := 1; ; round++ {
		if len(w.late) > 0 { // one forgotten message a round
			w.late[0]()
			w.late = w.late[1:]
		}
		before, calm := w.size(), len(w.late) == 0
		for _, ph := range w.phones {
			win := ph.windows[round%2]
			win.begin(win.sync)
			win.finish()
			if win.adopt {
				win.begin(func() { win.record(0) })
				win.finish()
				calm = false
			}
			calm = calm && w.atRest(ph, win)
		}
		if calm && w.size() == before && round > 2 {
			return
		}
		if round == most {
			for _, ph := range w.phones {
				if win := ph.windows[round%2]; !w.atRest(ph, win) {
					w.fail("I12", "%s has no rest after %d rounds: code %q, %v, state %+v", ph.name, round, win.last.Code, win.lastErr, ph.state())
				}
			}
			w.fail("I12", "no rest after %d rounds", round)
		}
	}
}

// atRest reports whether the window has nothing left to do. A copy of a
// revoked phone cannot become another device and one whose disk lost its end
// cannot get it back; they stay as they are.
func (w *world) atRest(ph *phone, win *window) bool {
	return win.lastErr == nil && (win.last.Done || w.revokedPhone(ph))
}

func (w *world) size() int {
	n := 0
	for _, p := range w.server.now.patients {
		n += len(p.log) + len(p.aside) + len(p.sealed)
	}
	return n
}

// checkRest holds the rest when everything has come to rest.
func (w *world) checkRest() {
	w.checkServer()
	w.checkKept()
	for _, ph := range w.phones {
		if !w.revokedPhone(ph) {
			w.checkReplica(ph)
		}
	}
	for _, id := range w.ids {
		w.checkChain(id)
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

// checkKept holds I1, and the second half of I9.
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
		w.fail("I1", "%v of %s was called kept and is not at the server", k.ref, k.ph.name)
	}
}

// checkReplica holds I5, I7 and I14 for one phone.
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
	var mine [][]byte
	on, pruned := map[rom.Ref]bool{}, map[rom.Ref]bool{}
	damaged := false
	err = ph.disk.Open().Each(context.Background(), func(r journal.Row) error {
		pruned[r.Key()] = string(r.Line) == replica.BarrierLine
		on[r.Key()] = !pruned[r.Key()]
		damaged = damaged || w.flipped[r.Key()]
		switch {
		case have[wire.HashOf(r.Line)]:
			mine = append(mine, r.Line)
		case string(r.Line) == replica.BarrierLine, w.flipped[r.Key()]:
		case r.Author.FromClinic():
			if !w.diverged(ph.patient, r.Key()) {
				w.fail("I14", "%s holds %v, which the server lost and never got back", ph.name, r.Key())
			}
		case !w.excused(r):
			w.fail("I5", "%s holds %v, which the server has not", ph.name, r.Key())
		}
		return nil
	})
	if err != nil {
		panic(err)
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

// checkChain holds I10: at its time every revision was made from the newest
// that the store had, and has a number above it. What came back from a phone
// after a loss has its place in another time.
func (w *world) checkChain(id rom.PatientID) {
	newest := 0
	for _, e := range w.server.now.patients[id].log {
		rec, err := wire.Decode(e.line)
		if err != nil || rec.Kind != wire.KindPlan {
			continue
		}
		b, err := wire.DecodeBody(rec.Kind, rec.V, rec.Body)
		if err != nil {
			w.fail("I10", "%v is no plan: %v", e.ref, err)
		}
		p := b.(rom.Plan)
		if !e.back && (p.Base != newest || p.Rev <= newest) {
			w.fail("I10", "revision %d was made from %d while %d was the newest", p.Rev, p.Base, newest)
		}
		newest = max(newest, p.Rev)
	}
}

// checkVoids holds I11, by the log and not by the fold.
func (w *world) checkVoids(id rom.PatientID) {
	p := w.server.now.patients[id]
	shown := map[rom.Ref]bool{}
	for _, e := range replica.Fold(p.lines()...).Pains {
		shown[e.Ref] = true
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
