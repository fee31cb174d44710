package sim

import (
	"bytes"
	"context"

	"unsling/engine/rom"
	"unsling/sync/journal"
	"unsling/sync/replica"
	"unsling/sync/wire"
)

// faulty is the disk as a window sees it: it pauses before and after each
// operation, and loses the connection at times.
type faulty struct {
	*journal.Mem
	win *window
}

// lost reports whether the connection is lost at this moment.
func (f *faulty) lost() bool { return !f.win.w.quiet && f.win.w.chance.one(60) }

func (f *faulty) before() error {
	if err := f.win.pause(); err != nil {
		return err
	}
	if f.lost() {
		return journal.ErrClosed
	}
	return nil
}

func (f *faulty) Commit(ctx context.Context, b journal.Batch) error {
	if err := f.before(); err != nil {
		return err
	}
	w, asked := f.win.w, b
	if w.broken(1, "put") {
		b.Add, b.Put = nil, append(b.Put, b.Add...)
	}
	if w.broken(7) && len(b.Put) > 0 {
		if err := f.Mem.Commit(ctx, journal.Batch{Meta: b.Meta}); err != nil {
			return err
		}
		if err := f.win.pause(); err != nil {
			return err
		}
		b.Meta = nil
	}
	dropped := w.checkPruned(f.win.ph, asked)
	if err := f.Mem.Commit(ctx, b); err != nil {
		return err
	}
	if dropped != "" {
		w.fail("I1", "%s", dropped)
	}
	for _, r := range append(b.Add, b.Put...) {
		w.written[wire.HashOf(r.Line)] = true
	}
	if err := f.win.pause(); err != nil {
		return err
	}
	if f.lost() {
		return journal.ErrClosed
	}
	return nil
}

func (f *faulty) Last(ctx context.Context, a rom.Author) (journal.Row, bool, error) {
	if err := f.before(); err != nil {
		return journal.Row{}, false, err
	}
	return f.Mem.Last(ctx, a)
}

func (f *faulty) Rows(ctx context.Context, a rom.Author, from int64, most int) ([]journal.Row, error) {
	if err := f.before(); err != nil {
		return nil, err
	}
	rows, err := f.Mem.Rows(ctx, a, from, most)
	if f.win.w.broken(4, "believe") && most == 1 && len(rows) == 1 {
		// As if an acknowledgement counted without the own hash: the line
		// that is compared with it is the server's.
		if e, ok := f.win.w.serverLine(f.win.ph.patient, rom.Ref{Author: a, N: from}); ok {
			rows[0].Line = e
		}
	}
	return rows, err
}

func (f *faulty) Each(ctx context.Context, do func(journal.Row) error) error {
	if err := f.before(); err != nil {
		return err
	}
	return f.Mem.Each(ctx, do)
}

func (f *faulty) Meta(ctx context.Context, name string) ([]byte, error) {
	if err := f.before(); err != nil {
		return nil, err
	}
	return f.Mem.Meta(ctx, name)
}

// flip damages one bit of one of the phone's own rows.
func (ph *phone) flip() {
	w, a := ph.w, ph.author()
	mem := ph.disk.Open()
	rows, err := mem.Rows(context.Background(), a, 1, 1<<20)
	if err != nil || len(rows) == 0 {
		return
	}
	r := rows[len(rows)-1-w.chance.below(min(3, len(rows)))]
	if r.N == replica.Barrier {
		return
	}
	if rec, err := wire.Decode(r.Line); err == nil {
		w.hurt[rec.Salt] = true
		if w.kept[rec.Salt] != nil {
			w.kept[rec.Salt].gone = true
		}
	}
	r.Line = append([]byte(nil), r.Line...)
	i := w.chance.below(len(r.Line))
	if at := bytes.Index(r.Line, []byte(`"n":`)); at >= 0 && w.chance.one(3) {
		i = at + 4 // the number that the line claims
	}
	r.Line[i] ^= 1 << w.chance.below(8)
	if r.Line[i] == '\n' {
		return // such a line would not be one line
	}
	if mem.Commit(context.Background(), journal.Batch{Put: []journal.Row{r}}) != nil {
		return // full
	}
	w.written[wire.HashOf(r.Line)] = true
	w.flipped[r.Key()] = true
	if rec, err := wire.Decode(r.Line); err == nil {
		w.hurt[rec.Salt] = true // it may pass for another record now
	}
	w.event("%s: a bit of %v flipped", ph.name, r.Key())
}
