package main

import (
	"unsling/server/access"
	"unsling/server/ledger"
)

// signHead signs where the audit log stands and writes that into the log
// itself, from where it comes into every backup, into the server's own log,
// and onto a page to be printed. Nothing is signed twice.
func (h *house) signHead() error {
	key := h.ring.AuditKey()
	health, err := h.store.Health()
	if err != nil || health.Audit == 0 {
		return err
	}
	end, err := h.store.Audit(health.Audit, 1)
	if err != nil || len(end) == 0 || end[0].Act == access.HeadAct {
		return err
	}
	prev, err := lastHead(h.store, health.Audit)
	if err != nil {
		return err
	}
	head := access.AuditHead{Clinic: h.public, Seq: end[0].Seq, Hash: end[0].Hash, Prev: prev, At: h.now()}
	text, err := access.SignHead(key, head)
	if err != nil {
		return err
	}
	if err := h.store.Note(ledger.Entry{At: head.At.UTC(), Actor: "server", Act: access.HeadAct, Resource: text}); err != nil {
		return err
	}
	h.log.Info("audit head signed", "head", text)
	return nil
}

// lastHead is the entry of the signed head before, 0 for none.
func lastHead(store ledger.Audits, end int64) (int64, error) {
	const chunk = 1000
	for before := end + 1; before > 1; {
		from := max(1, before-chunk)
		page, err := store.Audit(from, int(before-from))
		if err != nil {
			return 0, err
		}
		for i := len(page) - 1; i >= 0; i-- {
			if page[i].Act == access.HeadAct {
				return page[i].Seq, nil
			}
		}
		before = from
	}
	return 0, nil
}
