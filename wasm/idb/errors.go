package idb

import "errors"

// What the browser's storage may answer.
var (
	// ErrExists: a key to add is already there; another window was first.
	ErrExists = errors.New("idb: the key is taken")
	// ErrChanged: a value that the write depends on is not what the caller believes.
	ErrChanged = errors.New("idb: the data has changed meanwhile")
	// ErrFull: the browser gives no more space.
	ErrFull = errors.New("idb: no space left")
	// ErrRefused: the browser gives this page no storage, as in some private windows.
	ErrRefused = errors.New("idb: the browser refuses storage")
	// ErrBusy: the database could not be opened in time.
	ErrBusy = errors.New("idb: the database does not open")
	// ErrLost: the connection was lost, twice.
	ErrLost = errors.New("idb: the connection to the database is lost")
	// ErrGone: the browser has removed the data while it was in use. It stays so until the database is opened anew, so that
	// nobody goes on counting in an empty log.
	ErrGone = errors.New("idb: the browser has removed the data")
	// ErrKeyLost: records are there and the key that opens them is not, as when a browser has removed a part.
	ErrKeyLost = errors.New("idb: the key to the records is gone")
)
