package replica

import "unsling/engine/rom"

// FoldVersion changes whenever the same records fold into another History.
// Facts that are stored carry it and are made again when it changed.
const FoldVersion = 1

// Fold returns what the records say together (rules 11 and 13). The result
// depends on the set of lines only: neither on their order nor on repetition.
// Lines that are no records are left out.
func Fold(lines ...[]byte) rom.History {
	var f Folder
	for _, l := range lines {
		f.Add(l)
	}
	return f.History()
}

// Folder folds step by step: adding a line costs what that line costs, and
// History what putting in order costs. The zero Folder is empty.
type Folder struct {
	records map[rom.Ref]*folded
}

// Add takes a line in, and reports whether it was news.
func (f *Folder) Add(line []byte) bool { return false }

// Len returns how many records were taken in.
func (f *Folder) Len() int { return len(f.records) }

// History returns the fold of all lines taken in. It shares memory with the
// Folder and must not be changed.
func (f *Folder) History() rom.History { return rom.History{} }

type folded struct{}
