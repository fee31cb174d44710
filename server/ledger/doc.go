// Package ledger defines the clinic's store as its users need it: the rows,
// the errors, and one method per transaction. It stores nothing itself;
// badgerstore does, and ledgertest holds every implementation to the contract.
//
// # Words
//
// Log: everything that happened to one patient, as lines, in the order in
// which the store accepted them. A line is the very bytes its author wrote.
//
// Seq: the place of a line in one patient's log, 1, 2, 3... without gaps,
// given inside the transaction that stores the line.
//
// Mark: how far the store has one author's lines of one patient (the highest
// n without a gap below it, and that line's hash).
//
// Facts: what a fold made of a log. They carry the fold's version and can be
// thrown away and made again; the log cannot.
//
// Sealed: lines of a revoked phone. They are acknowledged and kept apart
// until staff release them.
//
// Quarantine: lines that contradict the log (fork) or cannot be read
// (malformed). They are kept for people to look at and are never folded.
//
// Epoch: 128 random bits that name one life of the store. It changes when
// the store is created, restored or proven to have lost its tail by a sealed
// line of this life that comes back; never when it is merely opened again.
// What a phone only says, by a cursor or an acknowledgement that the store
// does not have, begins an epoch of that patient's log alone, at most every
// ten minutes; the store's next epoch takes its place.
//
// # Duties of an implementation
//
//  1. A method that writes is one transaction. When it returns nil everything
//     it wrote survives the loss of power; when it returns an error nothing
//     was written, the audit entry included.
//  2. Sequence numbers are given inside that transaction.
//  3. Lines are stored byte for byte, encrypted under the patient's own
//     content key; author, n, hash and seq stay readable without it.
//  4. Nothing in the space of the logs is ever deleted or overwritten.
//  5. Every write carries an audit entry, chained by hash, in the same
//     transaction.
//  6. Neither the clock nor chance is read: instants and ids are arguments,
//     and the source of chance is handed to Open.
//
// # Decisions
//
//   - Passkeys, app and codes stand in the staff row (ledger.Factors), changed by ChangeStaff in one transaction:
//     they are in every backup, and an older layout reads as "none".
//   - "New since I last looked" is what a person marked as seen, kept as hashes of findings (ledger.Look), not an
//     instant: a phone that was offline for days sends old records that are new to the clinic. The mark holds just
//     what the list showed; a restore forgets it, and then all is new once.
//   - A phone is replaced by an invitation that names the old one; it ends in the transaction that lets the new one
//     in, so that nobody is without a phone in between. A further code used up by a phone that is in takes its app
//     lock off: the clinic vouches for who holds it.
//   - Facts in the ledger are the log's lines; amendments and voids are resolved when they are read, because they
//     can reach back to any line. They are kept at most a quarter behind the head, so keeping them stays in
//     proportion.
package ledger
