// Package sim drives the real code of phone and server through a bad year in
// a fraction of a second: journal.Mem as the phone's disk, journal.Writer,
// client.Syncer and replica.Phone above it, and on the other side a plain
// model of the ledger that decides by replica.Accept, Resume and
// AcceptReturned. Only the network is invented, and the bytes that cross it
// are those of package wire.
//
// Everything that happens follows from one number, the seed. The windows of
// the phones are coroutines that hand over at every disk operation and every
// message, so that a run can be killed, frozen, or overtaken by another
// window, between any two of them.
//
// The faults: messages lost, doubled, late and out of order; the answer lost
// after the server stored; windows killed between any two operations; two
// windows racing; storage evicted, full, rolled back, copied to another
// phone, a bit flipped in it; the connection to it lost; clocks days off; the
// server killed before and after it stored; its log cut short; an old backup
// restored, also one that does not know the phone yet, which is then enrolled
// anew; an older server for a while; records of kinds and versions that are
// not known here, from phones and from the clinic; lines of the clinic that
// the clinic never wrote.
//
// # Invariants
//
// Each is checked at every step unless it says otherwise, and once more when
// the faults have stopped and everything has come to rest. Beside it stands
// where, and a mutant of the source (mutantlist_test.go) or a Break that it
// catches. "make sim-mutants" plays them all and prints who caught whom.
//
//	I1   every record called kept is in the server's log, or kept apart by a rule,
//	     unless the phone was destroyed before it could be sent; nothing is dropped
//	     from a phone that no verified backup has or that is younger than 90 days
//	     checkKept (at rest), checkPruned      "1 early", "what no verified backup has is pruned"
//	I2   a record has one place in the log, follows its predecessor, an author's
//	     numbers have no gap, and nothing counts twice
//	     checkEntry, checkServer, checkVoids    "readers count what was moved twice"
//	I3   the bytes are those that the phone wrote; what was written well is never set aside
//	     checkEntry, accept                     "what is kept apart is not acknowledged", "the last line is pruned"
//	I4   nothing is acknowledged that would not survive a crash
//	     checkServer                            "2 late"
//	I5   who has the same log has the same history, whatever the order and repetition
//	     checkOrder (each 100 steps), checkReplica (at rest)   "13 twice", "the order of records of one instant"
//	I6   who has something is not sent it again
//	     checkAnswer, checkRest                 "a line that the phone has no use for moves no cursor"
//	I7   marks, logs, cursors and what is backed up go back only with an alarm
//	     checkServer, checkAnswer, checkReplica "5 server", "a cursor with another hash is taken for good"
//	I8   no record of another patient is sent or stored, and none that the clinic did not write
//	     checkEntry, checkAnswer                "9 patient", "a forged record of the clinic is taken"
//	I9   a revoked phone gets no data, knows it, and what it sends is sealed and not lost
//	     checkEntry, exchange, checkRest        "8 data", "a revoked copy asks nothing"
//	I10  plan revisions form a chain, none below what a phone follows, and a narrower one is obeyed at once
//	     checkRevision, revise, follow          "10 base", "10 wide", "a number is given again"
//	I11  what is void stays void, under whatever name it was moved to
//	     checkVoids (each 100 steps)            "a void is undone by a later amendment"
//	I12  after the faults stop everything comes to rest in a bounded number of exchanges
//	     settle                                 "12 stay", "6 refuse"
//	I13  I1 again after a restore of any past backup, and the clinic's records come back from the phones
//	     checkKept, checkReplica (at rest)      "14 keep", "neither a pass nor a start gives anything back"
//	I14  an older server loses nothing, records of newer kinds are kept, and a phone that
//	     cannot read the clinic's plan says so
//	     checkReplica (at rest)                 "a plan that this app does not read is passed over in silence"
//
// Break names a rule of package replica; the run then goes against it, and
// has to fail. Breaks are those of the model: the server's transaction and
// what a disk or a window does. The mutants change the source of the product
// itself.
//
// # Decisions
//
//   - Mutants of the agreement are changes of the source, built with go build -overlay, beside those of the model:
//     what is caught is what runs.
package sim
