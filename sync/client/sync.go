package client

import (
	"context"
	"time"

	"unsling/engine/rom"
	"unsling/sync/journal"
	"unsling/sync/replica"
	"unsling/sync/wire"
)

// Server is the other side of an exchange as the Syncer needs it; a Client
// is one.
type Server interface {
	// Exchange sends and returns the answer. Errors are *wire.Error for a
	// refusal and ErrNoAnswer.
	Exchange(context.Context, wire.Request) (wire.Reply, []wire.LogLine, error)
	// Register makes a new installation under the name of old, and returns
	// its id.
	Register(ctx context.Context, old rom.Author) (rom.Author, error)
}

// Syncer brings the phone's journal and the server together.
type Syncer struct {
	Store     journal.Store
	Server    Server
	App       string           // version of this program
	Following func() int       // plan revision obeyed, 0 for none
	Now       func() time.Time // wall time, only to prune
	// Learned is given lines that are new on the disk; Notice what a person
	// may want to know. Either may be nil.
	Learned func(lines [][]byte)
	Notice  func(replica.Notable)
}

// Result is where things stand after a run.
type Result struct {
	State  replica.State
	Unsent int64     // own records that the server does not have
	Done   bool      // nothing is left to be exchanged
	Code   wire.Code // the refusal that ended the run, if one did
}

// Sync runs exchanges until nothing is left or something stands in the way.
// The error is ErrNoAnswer, one of the journal's, or that of ctx; a refusal
// of the server is no error but Result.Code. Unless the error is the
// journal's, Result is valid beside it.
func (s *Syncer) Sync(ctx context.Context) (Result, error) {
	return Result{}, ErrNoAnswer
}
