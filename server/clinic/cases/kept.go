package cases

import (
	"time"

	lru "github.com/hashicorp/golang-lru/v2"

	"unsling/engine/rom"
	"unsling/server/ledger"
)

// Kept holds something made of each patient's case for as long as it would be made alike: until the log, the phones or
// what was set aside change, the day ends, or a minute comes at which time alone may change it. It holds no histories,
// which would fill the memory of a small machine, and forgets whoever was not asked for longest. It is safe for use by
// several goroutines.
type Kept[T any] struct {
	rows *lru.Cache[rom.PatientID, row[T]]
}

type row[T any] struct {
	made  print
	day   rom.Date
	span  Span
	value T
}

// Span says for how long a value holds besides.
type Span struct {
	From, Until int  // minutes of the day: from the first on, before the second
	Always      bool // no day changes it: nobody watches any more
}

// AllDay is the span of what no minute changes.
var AllDay = Span{Until: 24 * 60}

// NewKept holds at most that many patients.
func NewKept[T any](most int) *Kept[T] {
	rows, err := lru.New[rom.PatientID, row[T]](most)
	if err != nil {
		panic(err) // most is below one
	}
	return &Kept[T]{rows}
}

// Get returns what is kept of a patient if it still holds.
func (k *Kept[T]) Get(a AsOf, p ledger.PanelRow) (value T, ok bool) {
	had, ok := k.rows.Get(p.Patient.ID)
	if !ok || had.made != printOf(p) || !had.span.Always && (had.day != a.Today || a.Minute < had.span.From || a.Minute >= had.span.Until) {
		return value, false
	}
	return had.value, true
}

// Put keeps what was made of a patient as of a, of that row and of no newer one.
func (k *Kept[T]) Put(a AsOf, p ledger.PanelRow, value T, span Span) {
	k.rows.Add(p.Patient.ID, row[T]{printOf(p), a.Today, span, value})
}

// Forget drops everything, after a change of what is judged besides the logs.
func (k *Kept[T]) Forget() { k.rows.Purge() }

// print changes whenever something does of which a case is made, besides the clinic's own settings.
type print struct {
	seq    int64
	held   int // lines set aside
	phones string
}

func printOf(p ledger.PanelRow) print {
	b := make([]byte, 0, 64*len(p.Phones))
	for _, x := range p.Phones {
		b = append(b, x.ID...)
		b = append(b, x.State...)
		b = x.LastSeen.AppendFormat(b, time.RFC3339)
		b = x.FollowingSince.AppendFormat(b, time.RFC3339)
	}
	return print{p.Facts.Seq, p.Quarantined, string(b)}
}
