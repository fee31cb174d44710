package screen

import (
	"errors"
	"time"

	"unsling/engine/rom"
)

// Journal is the phone's own log, as the screens need it.
type Journal interface {
	// Facts returns what is known now. It does not block.
	Facts() Facts
	// Subscribe calls f, from any goroutine, after each change of Facts.
	Subscribe(f func()) (cancel func())
	// Append writes one record; kind is one of the phone kinds of sync/wire
	// and body its noun of engine/rom. It blocks until the record is durable
	// and returns its name. ErrFull and ErrStorage mean that it is not kept.
	Append(kind string, body any) (rom.Ref, error)
	// Keep replaces a small value of this phone that is never sent: drafts
	// and settings. It blocks until durable; nil deletes.
	Keep(name string, data []byte) error
	// Kept returns such a value, nil if there is none. It may block.
	Kept(name string) ([]byte, error)
	// Export returns everything as a readable file. It blocks.
	Export() ([]byte, error)
}

// What the phone's storage may answer.
var (
	ErrFull    = errors.New("the storage of this phone is full")
	ErrStorage = errors.New("the storage of this phone does not answer")
)

// Facts is everything the phone knows, as one unchangeable snapshot.
type Facts struct {
	// Loaded is false until the journal was read once.
	Loaded bool
	// Trouble says what is wrong with the storage; TroubleNone if nothing.
	Trouble Trouble
	Account Account
	// History is the fold of the log.
	History rom.History
	// Following is the plan revision that the phone obeys, 0 for none.
	Following int
	// NeedsUpdate says that the clinic wrote a plan, an episode or a clearance
	// that this version of the app cannot read: what is followed is older.
	NeedsUpdate bool
	Sending     Sending
}

// Account is what enrolling gave.
type Account struct {
	State  AccountState
	Check  string // two digits to compare with the clinic's screen while pending
	Clinic string // the clinic's name
	Phone  string // the clinic's number
	Zone   string // IANA zone of the clinic
	// Forgotten says that the clinic's server does not know this phone any
	// more: all records are kept and wait until a new code was used.
	Forgotten bool
}

// AccountState says whether the clinic knows this phone.
type AccountState string

// The states of an account.
const (
	Unknown AccountState = ""        // not enrolled
	Pending AccountState = "pending" // staff must confirm the number on both screens
	Active  AccountState = "active"
	Revoked AccountState = "revoked" // the clinic has ended this phone's access
)

// Trouble is something wrong with the phone's storage.
type Trouble string

// The troubles.
const (
	TroubleNone    Trouble = ""
	TroubleRefused Trouble = "refused" // no storage, such as in a private window
	TroubleFull    Trouble = "full"
	TroubleLost    Trouble = "lost" // the browser removed the data; the clinic's copy is fetched
	// TroubleKeyLost: the browser removed a part, and what is left cannot be
	// decrypted. Nothing is read or written until the phone is wiped.
	TroubleKeyLost Trouble = "key-lost"
)

// Sending is how far the records of this phone have come.
type Sending struct {
	Written int64 // highest number of an own record, 0 for none
	Acked   int64 // highest number that the clinic has
	// Unsent names what waits, the oldest first.
	Unsent []Waiting
	// Contact is when the clinic's server answered last; zero for never.
	Contact time.Time
	// Confirmed is when the clinic last confirmed the plan that is followed.
	Confirmed time.Time
	// Ahead is how far this phone's clock was ahead of the server's then; 0
	// when it was right to half a day.
	Ahead time.Duration
	Busy  bool
	// Failed is why the last attempt failed; FailedNot if it did not.
	Failed Failure
	// Author is the id of this installation.
	Author rom.Author
}

// Waiting is one record that the clinic does not have yet.
type Waiting struct {
	Kind string // as Journal.Append
	At   time.Time
}

// Failure is why sending failed, as far as a patient can use it.
type Failure string

// The failures.
const (
	FailedNot     Failure = ""
	FailedOffline Failure = "offline" // no connection
	FailedServer  Failure = "server"  // the clinic's server does not answer or has a fault
	FailedRefused Failure = "refused" // it answers and refuses; the clinic must be called
)

// Sender reaches the clinic's server. Every method blocks.
type Sender interface {
	// Enrol uses an invitation: the secret of a link, or the typed code. pin
	// is the number said aloud with a take-home letter, else empty. On
	// success Facts.Account has changed. mine says that the person has
	// confirmed that this phone's records are theirs although the code is for
	// another record. A refusal is a *Refusal; OtherRecord asks for mine.
	Enrol(code, pin string, mine bool) error
	// Exchange sends and fetches once.
	Exchange() error
	// Vouch uses a further code of the clinic up, which shows that the clinic
	// knows who holds this phone. A refusal is a *Refusal.
	Vouch(code, pin string) error
	// Leave tells the clinic that this phone is emptied; an error means that
	// the clinic does not know it.
	Leave() error
}

// Refusal is the answer of a server that does not enrol.
type Refusal struct {
	Code string // one of the codes of sync/wire; words knows what to say
}

func (r *Refusal) Error() string { return "not enrolled: " + r.Code }
