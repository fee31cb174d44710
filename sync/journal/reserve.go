package journal

import (
	"context"
	"crypto/sha256"
	"fmt"

	"unsling/engine/rom"
	"unsling/sync/wire"
)

// MetaReserve is the name of room held back on the disk for the few records
// that must be kept when nothing else can be: see urgent.
const MetaReserve = "reserve"

// reserveSize is room for the largest record several times over, with what
// the store needs around it.
const reserveSize = 4 * wire.MaxLine

// urgent reports whether a record stops the programme: a warning sign, or a
// session that ended because something was wrong. A stop that is only in
// memory would be forgotten with the next start of the app.
func urgent(k wire.Kind, body any) bool {
	s, ok := body.(rom.Session)
	return k == wire.KindSign || ok && s.Stop == rom.StopWrong
}

// keepReserve sees to it that the room is held back. That there is none to be
// had is no error: then there is none.
func (w *Writer) keepReserve(ctx context.Context) {
	if have, err := w.Store.Meta(ctx, MetaReserve); err != nil || len(have) == reserveSize {
		return
	}
	room := make([]byte, 0, reserveSize)
	for i := 0; len(room) < reserveSize; i++ { // a store that packs must not make it small
		sum := sha256.Sum256(fmt.Appendf(nil, "%s %d", w.Run, i))
		room = append(room, sum[:]...)
	}
	_ = w.Store.Commit(ctx, Batch{Meta: []Item{{Name: MetaReserve, Value: room[:reserveSize]}}})
}

// giveReserve frees the room, and reports whether there was any. The next
// start of the app holds it back again.
func (w *Writer) giveReserve(ctx context.Context) bool {
	have, err := w.Store.Meta(ctx, MetaReserve)
	if err != nil || have == nil {
		return false
	}
	return w.Store.Commit(ctx, Batch{Meta: []Item{{Name: MetaReserve}}}) == nil
}
