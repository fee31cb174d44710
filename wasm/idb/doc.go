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
// [Journal] keeps the records in it, and encrypts everything that it writes, under a key that lies beside them and that no
// program can read out; only author, number and place in the server's log of a row, and the names of small values, stay in
// clear. What an older program has left in clear is read as it is and taken over by [Journal.EncryptOld]. Records whose key
// is gone are [ErrKeyLost], and nothing is written beside them.
//
// Never call it from a JavaScript callback or on the screen's own goroutine: every call waits for the browser.
//
// # Decisions
//
//   - Records on the phone are encrypted in wasm/idb, below the journal: the same conformance suite holds, and
//     nothing above knows. The head of a row has a fourth part, so that a program of before stops instead of
//     sending ciphertext as a record. A row that does not decrypt is a damaged line (set aside, acknowledged),
//     never an error that holds up the queue, unless the browser cannot decrypt at all.
//   - On pagehide with persisted every transaction is aborted and the connection closed (wasm/idb/open.go, freeze).
//     WebKitGTK 2.50.6 keeps the transactions of a page in its back/forward cache open for ever: after a reload no
//     page could write any more. What was under way is tried again when the page is back; nothing was called kept
//     before.
package idb
