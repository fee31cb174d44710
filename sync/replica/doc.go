// Package replica is the agreement of phone and server about one patient's
// log: what is sent, what is accepted, what is believed, what is adopted, and
// what all the records together say. It is pure: no clock, no chance, no disk
// and no network. The same code runs on the phone, on the server and in the
// simulation (package sim).
//
// The server calls Accept, Resume and AcceptReturned inside one transaction
// per request and stores what they say; it answers after its disk did.
// The phone drives a Phone: Step takes an event and returns effects, and the
// driver carries the effects out in their order and steps again.
//
// # Rules
//
//  1. A record is added under (author, n), strictly durable, before anybody
//     is told that it is kept; who comes second builds its line again.
//  2. One transaction per request; the sequence number is given inside it;
//     the answer follows the disk.
//  3. The same number with the same bytes is ignored; with other bytes it is
//     a fork: quarantined, nothing later of that request stored. A number
//     beyond the next is a gap, answered with the mark.
//  4. An acknowledgement counts only with the phone's own hash. Nothing above
//     the number in a verified backup is pruned, nor anything of 90 days.
//  5. A new epoch, or a mark that went backwards, makes the phone send again
//     from what the server has; a cursor that is not of the server's log makes
//     it pull from the start, without giving up what it holds.
//  6. Framing faults refuse a whole request. A framed line that is no record,
//     or does not follow its predecessor, is quarantined and acknowledged.
//  7. The cursor moves in the transaction of the records it covers.
//  8. A revoked phone sends and is acknowledged, and gets no data.
//  9. The patient is that of the token's author.
//  10. Plan revisions form a chain; the newest is followed, within a running
//     session only if it is narrower.
//  11. Amendments and voids resolve alike whatever the order of arrival.
//  12. Who is answered fork becomes a device of its own and appends its tail
//     again; readers drop what they have.
//  13. State is the fold of the set of records: any order, any repetition.
//  14. After a server lost records, phones return the clinic's sealed lines.
//
// # Decisions
//
//   - What a phone claims of a loss begins a new epoch of its own patient's log alone: nobody can make other
//     patients' phones begin again. A clinic line sealed in the store's present life that comes back and was not there
//     proves a loss, and renews the epoch of the whole store.
//   - A phone speaks for its holder only. What it wrote that names a member of staff, and any record of a kind that is
//     the clinic's, is kept and listed as one that does not count (Counts).
//   - A phone that the server does not know any more (State.Unknown) may be enrolled anew under another name and
//     moves all its records there, as a copy does; to another patient only after the person said that the records
//     are theirs. A record that moves again goes on naming what it was first, since the names in between may be
//     lost at the server.
package replica
