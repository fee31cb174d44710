package sim

import (
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
