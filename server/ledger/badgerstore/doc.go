// Package badgerstore keeps the ledger in badger, an embedded key-value
// store. It is the only package that knows badger.
//
// # What is done about badger's known faults
//
// Measured with v4.9.6: it can lose the tail of its log on a flipped bit
// without a word, return a wrong value, or panic. So writes are synchronous;
// every row carries a checksum and every line its hash and an authenticated
// encryption; a panic while reading becomes ErrDamaged; nothing in the space
// of the logs is ever deleted; and Verify walks everything. What a lost tail
// takes with it, phones bring back after a new epoch.
//
// # Writers
//
// One transaction at a time writes. The audit log is one chain, so writers
// would wait for each other in any case; this way none is ever thrown back.
// The head of a log is read inside the transaction that moves it.
//
// # Keys
//
// Two letters and a slash name the space; parts are divided by slashes, and
// numbers are eight bytes, big-endian:
//
//	lg/patient/seq         a line: author, n, hash in clear, the rest encrypted
//	ix/patient/author/n    seq and hash of a line; seq 0 for one set aside
//	hd/patient             head of the log, newest plan revisions, size of the quarantine
//	mk/patient/author      mark of an author
//	fa/patient             facts as of some seq; the lines after it are folded when read
//	qu/patient/author/n/h  a line set aside
//	se/author/n            a sealed line
//	ck/patient             the content key, wrapped
//	pa, tm, ts, gl, gs     patients, care teams both ways, emergency access both ways
//	au, ap, kt             authors, by patient, by key
//	iv, is, ip             invitations, by secret, by patient
//	st, sl, ss, sp         staff, by login, sessions, by person
//	ad                     adoptions
//	ae, ah                 audit entries, head of the chain
//	er/patient             question for an erasure, or its receipt
//	bu/author, bx/patient  what is inside a verified backup
//	im                     only while a restore is under way
//	00                     about, clinic, backup, and whether a restore did not finish
//
// # Decisions
//
//   - A store of an older layout is not changed by starting the server: unsling migrate does it, because it goes
//     forward only and an operator should choose the moment. The number of the layout to come is written first, so
//     that an older program refuses a store that is half way.
//   - A change of content.key wraps the patients' keys anew and no line: lines never see that key. What staff sign
//     in with is sealed under the key that never changes.
//   - The store's files are looked at before badger opens them (badgerstore/precheck.go): it dies of a table
//     without its end, in a goroutine that nobody can guard, and removes tables that a shortened MANIFEST does not
//     list.
package badgerstore
