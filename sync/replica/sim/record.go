package sim

import (
	"context"
	"encoding/json"
	"fmt"

	"unsling/engine/rom"
	"unsling/sync/journal"
	"unsling/sync/wire"
)

// record is what the patient does with the app.
func (win *window) record(what int) {
	w, ep := win.w, episode(win.ph.patient)
	if win.adopt {
		if _, ok := win.append(wire.KindAdopted, rom.Adopted{Episode: ep, Rev: win.obeys.Rev}); ok {
			win.adopt = false
		}
		return
	}
	own := win.ph.author()
	h := win.folder.History()
	switch what {
	case 0:
		win.append(wire.KindSession, rom.Session{
			Episode: ep, ID: rom.SessionID(fmt.Sprintf("s-%d", w.chance.below(40))), Ended: rom.Finished,
			Items: []rom.SessionItem{{Exercise: rom.Pendulum, Dose: rom.Dose{Reps: 3, PerDay: 1}, Holds: make([]rom.Hold, w.chance.below(4))}},
		})
	case 1:
		win.append(wire.KindQuestion, rom.Question{Episode: ep, Text: fmt.Sprintf("question %d", w.step)})
	case 2:
		win.future(own)
	case 3, 4:
		if w.off["correct"] {
			return
		}
		for _, e := range h.Pains {
			if e.Ref.Author != own || !w.chance.one(3) {
				continue
			}
			if what == 3 {
				target := win.saltAt(e.Ref)
				if salt, ok := win.append(wire.KindVoid, rom.Void{Target: e.Ref, Reason: "typed wrong"}); ok && target != "" {
					w.voided[target] = salt
				}
			} else {
				win.append(wire.KindAmend, rom.Amend{Target: e.Ref, Body: painBody(e.Body, w.chance.below(11)), Reason: "typed wrong"})
			}
			return
		}
	default:
		win.append(wire.KindPain, rom.Pain{Episode: ep, Score: w.chance.below(11), When: rom.PainAtRest})
	}
}

// saltAt is the salt of a row on the disk, "" if there is none.
func (win *window) saltAt(ref rom.Ref) string {
	rows, err := win.ph.disk.Open().Rows(context.Background(), ref.Author, ref.N, 1)
	if err != nil || len(rows) != 1 || rows[0].N != ref.N {
		return ""
	}
	rec, err := wire.Decode(rows[0].Line)
	if err != nil {
		return ""
	}
	return rec.Salt
}

// append writes a record and, once the writer says so, calls it kept. It
// returns the record's salt, by which it is known under any name.
func (win *window) append(k wire.Kind, body any) (salt string, ok bool) {
	if win.w.broken(1, "early") {
		early := win.writer.Salt
		var salt [16]byte
		win.writer.Salt = func() [16]byte { salt = early(); win.keep(rom.Ref{}, wire.Salt(salt)); return salt }
		defer func() { win.writer.Salt = early }()
	}
	a, err := win.writer.Append(context.Background(), k, body)
	if err != nil {
		return "", false
	}
	return win.called(a.Ref, a.Line), true
}

// called notes that the screen said "kept".
func (win *window) called(ref rom.Ref, line []byte) (salt string) {
	rec, err := wire.Decode(line)
	if err != nil {
		panic(err)
	}
	win.keep(ref, rec.Salt)
	win.w.event("%s kept %v, a %s", win.ph.name, ref, rec.Kind)
	win.take(line)
	return rec.Salt
}

func (win *window) keep(ref rom.Ref, salt string) {
	w := win.w
	if w.kept[salt] == nil {
		w.order = append(w.order, salt)
	}
	w.kept[salt] = &keptRecord{ph: win.ph, ref: ref, index: win.ph.kept}
	win.ph.kept++
}

// future is a record of a newer app: a kind or a version that is not known
// here.
func (win *window) future(a rom.Author) {
	ctx := context.Background()
	tail, err := journal.Tail(ctx, win.store, a)
	if err != nil || a == "" {
		return
	}
	r := wire.Record{
		Author: a, N: tail.N + 1, Prev: tail.Prev(), Salt: wire.Salt(win.w.chance.salt()), Kind: "stumble", V: 1,
		Run: "newer", At: win.w.clock, TZ: "UTC", Body: json.RawMessage(`{"knee":true}`),
	}
	if win.w.chance.one(2) {
		r.Kind, r.V = wire.KindPain, 9
	}
	line, err := wire.Encode(r)
	if err != nil {
		panic(err)
	}
	row := journal.Row{Author: a, N: r.N, Line: line}
	if last, ok, err := win.store.Last(ctx, a); err != nil || ok && last.N != tail.N {
		return
	}
	if win.store.Commit(ctx, journal.Batch{Add: []journal.Row{row}}) == nil {
		win.called(r.Ref(), line)
	}
}
