package ledger

import (
	"time"

	"unsling/engine/rom"
)

// Look is what one person had seen of the watch list at an instant, so that
// the next look can tell what is new. It holds hashes only.
type Look struct {
	Staff rom.StaffID `json:"staff"`
	At    time.Time   `json:"at"`
	Seen  []byte      `json:"seen"` // what stood open then, 8 bytes each, sorted
}
