package clinic

import (
	"encoding/binary"
	"errors"
	"fmt"
	"hash/fnv"
	"net/http"
	"slices"
	"time"

	"unsling/engine/review"
	"unsling/engine/rom"
	"unsling/server/access"
	"unsling/server/ledger"
)

// mark names a finding as it stands: it is another one once its facts have
// changed.
func mark(x review.Finding) uint64 {
	h := fnv.New64a()
	fmt.Fprintf(h, "%s\x00%s\x00%s", x.Episode, x.Key, x.Fingerprint)
	return h.Sum64()
}

// look is the person's last look, and what stood open then; nil before the
// first.
func (v *visit) look() (ledger.Look, map[uint64]bool, error) {
	l, err := v.desk.Store.Look(v.staff.ID)
	if errors.Is(err, ledger.ErrUnknown) {
		return ledger.Look{}, nil, nil
	}
	if err != nil {
		return ledger.Look{}, nil, err
	}
	seen := make(map[uint64]bool, len(l.Seen)/8)
	for b := l.Seen; len(b) >= 8; b = b[8:] {
		seen[binary.BigEndian.Uint64(b)] = true
	}
	return l, seen, nil
}

// shown is what one session was shown last.
type shown struct {
	key  string
	seen []byte
	at   time.Time
}

// shownMost bounds how many sessions are remembered.
const shownMost = 200

// remember keeps what a list shows, so that a mark is set for just that, and
// returns the name under which it is kept.
func (v *visit) remember(rows []listRow) string {
	var marks []uint64
	for _, r := range rows {
		for _, x := range r.Findings {
			if !x.Quiet {
				marks = append(marks, mark(x))
			}
		}
	}
	slices.Sort(marks)
	s := shown{key: v.desk.id(), at: v.at, seen: make([]byte, 0, 8*len(marks))}
	for _, m := range slices.Compact(marks) {
		s.seen = binary.BigEndian.AppendUint64(s.seen, m)
	}
	d := v.desk
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.shown == nil {
		d.shown = map[string]shown{}
	}
	if len(d.shown) >= shownMost {
		oldest := ""
		for k, o := range d.shown {
			if oldest == "" || o.at.Before(d.shown[oldest].at) {
				oldest = k
			}
		}
		delete(d.shown, oldest)
	}
	d.shown[v.token.Session] = s
	return s.key
}

// looked marks what the person's list showed as seen. What came since is new
// on the next look.
func (d *Desk) looked(v *visit) error {
	if err := v.may(access.SeePanel); err != nil {
		return err
	}
	d.mu.Lock()
	s, ok := d.shown[v.token.Session]
	d.mu.Unlock()
	if !ok || s.key != v.form("shown") {
		return v.listShow(http.StatusConflict, filter{}, "The list has been shown again since. Nothing was marked; here it is as it stands now.")
	}
	if err := d.Store.SetLook(ledger.Look{Staff: v.staff.ID, At: v.at.UTC(), Seen: s.seen}, v.trail()); err != nil {
		return err
	}
	return v.back("/clinic/", "looked")
}

// sinceText is an instant as people say it.
func sinceText(at time.Time, today rom.Date) string {
	return shortDay(rom.DateOf(at), today) + ", " + at.Format("15:04")
}
