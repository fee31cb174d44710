package replica

import (
	"errors"
	"time"

	"unsling/engine/rom"
	"unsling/sync/wire"
)

// FoldVersion changes whenever the same records fold into another History.
// Facts that are stored carry it and are made again when it changed.
const FoldVersion = 3

// Fold returns what the records say together (rules 11 and 13). The result
// depends on the set of lines only: neither on their order nor on repetition.
// Lines that are no records are left out.
func Fold(lines ...[]byte) rom.History {
	f := Folder{records: make(map[rom.Ref]*folded, len(lines)), list: make([]*folded, 0, len(lines))}
	for _, l := range lines {
		f.Add(l)
	}
	return f.History()
}

// Folder folds step by step: adding a line costs what that line costs, and
// History what putting in order costs. The zero Folder is empty.
type Folder struct {
	records map[rom.Ref]*folded
	list    []*folded // the records as they came, each once; nothing may depend on their order
	moved   bool      // some record repeats another under a new author
}

// folded is what a record says, with what its body came to.
type folded struct {
	rom.Ref
	Kind    wire.Kind
	At      time.Time
	Rev     int
	Salt    string
	Run     string // which start of the app wrote it first
	Was     rom.Ref
	hash    wire.Hash
	body    any  // the rom type of the kind; nil unless understood and sound
	unknown bool // kind or version is not known here
}

// Add takes a line in, and reports whether it was news. Should two lines ever
// claim one name, the one with the greater hash stays.
func (f *Folder) Add(line []byte) bool {
	rec, err := wire.DecodeStored(line)
	if err != nil {
		return false
	}
	hash := wire.HashOf(line)
	old := f.records[rec.Ref()]
	if old != nil && old.hash >= hash {
		return false
	}
	r := &folded{Ref: rec.Ref(), Kind: rec.Kind, At: rec.At, Rev: rec.Rev, Salt: rec.Salt, Run: rec.Run, Was: rec.Was, hash: hash}
	r.read(rec)
	if old != nil {
		*old = *r
	} else {
		if f.records == nil {
			f.records = map[rom.Ref]*folded{}
		}
		f.records[r.Ref] = r
		f.list = append(f.list, r)
	}
	f.moved = f.moved || !rec.Was.IsZero()
	return true
}

// read takes in what the record's body says. A body on which this program breaks is a damaged one: a phone would meet it again
// at every start.
func (r *folded) read(rec wire.Record) {
	defer func() {
		if recover() != nil {
			r.body, r.unknown = nil, false
		}
	}()
	body, err := decodeBody(rec.Kind, rec.V, rec.Body)
	switch {
	case errors.Is(err, wire.ErrNotUnderstood):
		r.unknown = true
	case err == nil && Counts(r.Author, r.Kind, body):
		r.body = body
	}
}

// decodeBody is a variable for the tests.
var decodeBody = wire.DecodeBody

// permitted reports whether the author may write the kind at all: a phone
// writes no plans.
func (r *folded) permitted() bool {
	info, known := wire.Info(r.Kind)
	return known && info.MayWrite(r.Author)
}

// Len returns how many records were taken in.
func (f *Folder) Len() int { return len(f.list) }

// compare is the order of a History: wall time, then author, then number.
func (r *folded) compare(o *folded) int {
	if c := r.At.Compare(o.At); c != 0 {
		return c
	}
	return compareRefs(r.Ref, o.Ref)
}

// Before reports whether a comes before b in the order of author and number;
// the zero Ref comes before all.
func Before(a, b rom.Ref) bool { return compareRefs(a, b) < 0 }

func compareRefs(a, b rom.Ref) int {
	switch {
	case a.Author < b.Author:
		return -1
	case a.Author > b.Author:
		return 1
	case a.N < b.N:
		return -1
	case a.N > b.N:
		return 1
	}
	return 0
}
