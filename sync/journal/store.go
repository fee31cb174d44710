package journal

import (
	"context"
	"errors"

	"unsling/engine/rom"
)

// The errors of a Store that a caller can act on.
var (
	// ErrExists means that a row to be added is there already; nothing of
	// the batch was written.
	ErrExists = errors.New("another window has written this record number")
	// ErrFull means that the device refused for lack of space; nothing of
	// the batch was written.
	ErrFull = errors.New("no space left on this device")
	// ErrClosed means that the connection to the store was lost; it is not
	// known whether the batch was written. Open it again.
	ErrClosed = errors.New("the connection to the store was lost")
)

// Row is one record line under its key (author, n).
type Row struct {
	Author rom.Author
	N      int64
	Line   []byte
	// Pull says where in the server's log the row was last seen, from 0 to
	// 1<<53-1; 0 for one that was written here. See replica.Read.Seen.
	Pull int64
}

// Key returns the row's key.
func (r Row) Key() rom.Ref { return rom.Ref{Author: r.Author, N: r.N} }

// Item is a named value; a nil Value deletes.
type Item struct {
	Name  string
	Value []byte
}

// Batch is one transaction: all of it or nothing. Within it deletes come
// first, then adds, then puts. A store issues these without reading anything
// in between.
type Batch struct {
	Delete []rom.Ref // rows; one that is not there is no error
	Add    []Row     // ErrExists if there is a row under the key
	Put    []Row     // written whether or not there is one
	Meta   []Item    // small values by name
	Blobs  []Item    // pictures by name
}

// Store is the disk of the phone. Calls block until done; they may be made
// from several goroutines, and by several windows over the same disk.
type Store interface {
	// Commit writes the batch with strict durability: it returns nil only
	// when the transaction completed on the disk. Errors are ErrExists,
	// ErrFull, ErrClosed or another failure; except with ErrClosed nothing
	// was written.
	Commit(context.Context, Batch) error
	// Last returns the author's row with the highest n; ok is false if there
	// is none.
	Last(context.Context, rom.Author) (row Row, ok bool, err error)
	// Rows returns up to most rows of an author from n on, in rising order.
	Rows(ctx context.Context, a rom.Author, from int64, most int) ([]Row, error)
	// Each calls f for every row, by author and then n, until f returns an
	// error, which Each then returns. f must not use the store.
	Each(ctx context.Context, f func(Row) error) error
	// Meta returns the value of a name; nil if there is none.
	Meta(ctx context.Context, name string) ([]byte, error)
	// Blob returns the picture of a name; nil if there is none.
	Blob(ctx context.Context, name string) ([]byte, error)
	// BlobNames lists the pictures in rising order.
	BlobNames(context.Context) ([]string, error)
	Close() error
}

// Names of values that this module keeps. Screens use names that begin with
// "app.", such as "app.draft".
const (
	MetaReplica = "replica" // agreement with the server, see LoadState and StateItems
	MetaDevice  = "device"  // the installation: who it is and where its server is
)
