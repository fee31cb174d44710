package replica

import (
	"time"

	"unsling/engine/rom"
	"unsling/sync/wire"
)

// Event is what happened to the phone.
type Event interface{ event() }

// The events.
type (
	// Wake starts an exchange: something was written, or it is time.
	Wake struct {
		App       string
		Following int   // plan revision obeyed, 0 for none
		First     int64 // lowest own n on the disk, 0 for none
		// Check looks for rows that the last pass over the server's log did
		// not show, as two windows can leave them behind. Once at each start
		// of the app is enough.
		Check bool
	}
	// GotLines answers Read.
	GotLines struct {
		Own      [][]byte // own lines from Read.From on
		Returned [][]byte // clinic lines asked for by Read.Return
		Strays   [][]byte // lines of Read.Old, likewise
		Tail     wire.Mark
	}
	// Answered is the server's answer to Send. Mine is the hash of the own
	// line number Reply.Ack.N on the disk, "" if there is none; Tail the end
	// of the own chain on the disk. Clash are the rows on the disk under an
	// earlier name of this phone that Lines has with other bytes: after a loss
	// at the server another copy took the numbers. All are read after the
	// answer came.
	Answered struct {
		Reply wire.Reply
		Lines []wire.LogLine
		Mine  wire.Hash
		Tail  wire.Mark
		Clash [][]byte
	}
	// Refused is a refusal of Send or Register by the server, with Mine for
	// Err.Ack as above.
	Refused struct {
		Err  *wire.Error
		Mine wire.Hash
		Tail wire.Mark
	}
	// Failed means that no answer came: the server may or may not have
	// stored what was sent.
	Failed struct{}
	// Saved and NotSaved answer Save.
	Saved    struct{}
	NotSaved struct{}
	// Registered answers Register. Own are the own lines from Register.From
	// on, under the old author.
	Registered struct {
		Author rom.Author
		Own    [][]byte
	}
	// Rejoined tells that a person enrolled a phone anew that the server did
	// not know any more (State.Unknown). Own are all own lines on the disk,
	// which are sent under the new name, First, First+1 and so on.
	Rejoined struct {
		Author rom.Author
		Epoch  string // of the answer to the enrolment
		First  int64
		Own    [][]byte
	}
	// Prune asks to make room. Own are the oldest own lines, First, First+1
	// and so on.
	Prune struct {
		First int64
		Own   [][]byte
		Now   time.Time
	}
)

// Effect is what the driver must do. Of the effects of one Step the last may
// be a question (Read, Send, Save, Register): its answer is the next event.
// Without one the phone is at rest.
type Effect interface{ effect() }

// The effects.
type (
	// Read asks for own lines from number From on, at most Lines of them and
	// Bytes in all, line feeds included, and for the end of the own chain.
	// With Return it also asks for rows that the pass did not show (see Seen),
	// in the order of author and n, at most Lines of each sort: those of the
	// clinic after After, and those of Old that bear their own name.
	Read struct {
		From         int64
		Lines, Bytes int
		Return       bool
		Pull, Seq    int64
		After        rom.Ref
		Old          []rom.Author
	}
	// Send asks for one exchange.
	Send struct{ Request wire.Request }
	// Save asks for one transaction: the state under its author's name, the
	// rows added (an existing one fails the transaction) and put.
	// With Moved the state's author is this installation from then on; without
	// it the transaction must not touch who this installation is, since a
	// second window may have changed it.
	Save struct {
		State State
		Moved bool
		Add   []Row
		Put   []Row
	}
	// Register asks for a new id and key at the server (rule 12), and for the
	// own lines from From on.
	Register struct{ From int64 }
	// Learned gives lines that are new on the disk, to be folded.
	Learned struct{ Lines [][]byte }
	// Notice tells of something that a person or a log may want to know.
	Notice struct{ What Notable }
	// Rest ends an exchange.
	Rest struct {
		Done bool      // the server has everything and the phone has everything
		Code wire.Code // of the refusal that ended it, if one did
	}
)

// A row's Pull names the pass in its upper bits and the place in the log, up
// to seqMask, in the lower ones.
const (
	seqBits = 24
	seqMask = 1<<seqBits - 1
)

// Seen reports whether a row with this Pull was shown by the pass up to where
// the cursor stands. A row of the pass beyond the cursor was not: a second
// window can have taken the cursor back, and the server may have lost since
// what it showed then.
func (r Read) Seen(pull int64) bool {
	if pull == Barrier {
		return true
	}
	return pull&^seqMask == r.Pull && pull&seqMask <= min(r.Seq, seqMask)
}

// Barrier is the number of a row that ends an author's chain on this disk
// for ever; it is beyond any number of a record and still a whole number in
// JavaScript.
const Barrier = 1<<53 - 1

// BarrierLine stands where a second window might write although the number
// was given away: in the place of rows that were pruned, and, once this phone
// has become another author, under the old one wherever that chain could go
// on, and under Barrier. An append there fails and the window looks again. It
// is no record.
const BarrierLine = `{"moved":true}`

// Row is a line to be stored under (Author, N).
type Row struct {
	Author rom.Author
	N      int64
	Line   []byte
	Pull   int64
}

// Notable is something that happened and is no error.
type Notable string

// The notables.
const (
	NowRevoked    Notable = "revoked"        // lock sessions; keep warning signs, number and export
	ServerRewound Notable = "server-rewound" // the server lost records and gets them again
	NewEpoch      Notable = "new-epoch"
	TailRestored  Notable = "tail-restored" // own lines that the disk had lost came back
	NowOther      Notable = "now-other"     // this was a copy and is a device of its own now
	TooLate       Notable = "too-late"      // the server lost what was pruned here after a verified backup
	NotBelieved   Notable = "not-believed"  // an acknowledgement without the own hash
	LineDamaged   Notable = "line-damaged"  // the server sent a line that is no record
	OutOfOrder    Notable = "out-of-order"  // the server's answer does not fit the question
	NotKnown      Notable = "not-known"     // the server knows no such phone: ask the clinic for a new code
)

func (Wake) event()       {}
func (GotLines) event()   {}
func (Answered) event()   {}
func (Refused) event()    {}
func (Failed) event()     {}
func (Saved) event()      {}
func (NotSaved) event()   {}
func (Registered) event() {}
func (Prune) event()      {}
func (Rejoined) event()   {}

func (Read) effect()     {}
func (Send) effect()     {}
func (Save) effect()     {}
func (Register) effect() {}
func (Learned) effect()  {}
func (Notice) effect()   {}
func (Rest) effect()     {}
