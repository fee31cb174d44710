package replica

import (
	"unsling/engine/rom"
	"unsling/sync/wire"
)

// Counts reports whether what a wrote counts: a phone writes no record of a
// kind that is the clinic's, and none that names a member of staff, since
// that is the word of whoever holds the phone. Such a record is kept and
// listed (History.Damaged), and says nothing.
func Counts(a rom.Author, k wire.Kind, body any) bool {
	info, known := wire.Info(k)
	return known && info.MayWrite(a) && (a.FromClinic() || !namesStaff(body))
}

// namesStaff reports whether a body of a kind that both may write says that a
// member of staff wrote it.
func namesStaff(body any) bool {
	switch b := body.(type) {
	case rom.Session:
		return b.By != ""
	case rom.Reading:
		return b.By != ""
	case rom.Seen:
		return b.By != "" || b.Signed != rom.Signature{}
	}
	return false
}
