// Package idb keeps the phone's records in the browser's IndexedDB.
//
// There is one database version for ever, with three stores: "log" (one record line at key [author, n]), "meta" (small
// values by name) and "blobs" (large ones). What is in them evolves inside the values, so no window can ever block another
// by an upgrade.
//
// What it promises:
//  1. [DB.Write] is one transaction with strict durability. It returns nil only after the transaction has completed; any
//     error means that nothing of it is kept.
//  2. [Add] never overwrites: a key that is there is [ErrExists].
//  3. Opening, reading and writing end within a time limit, with [ErrBusy] or [ErrLost], even where a browser falls silent.
//  4. A connection that the browser has dropped (after sleep, or when site data was cleared) is opened again once, and the
//     call repeated. A repeated write first looks whether its first try had come through.
//
// Never call it from a JavaScript callback or on the screen's own goroutine: every call waits for the browser.
package idb
