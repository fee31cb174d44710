// Package sim drives the real code of phone and server through a bad year in
// a fraction of a second: journal.Mem as the phone's disk, journal.Writer,
// client.Syncer and replica.Phone above it, and on the other side a plain
// model of the ledger that decides by replica.Accept, Resume and
// AcceptReturned. Only the network is invented, and the bytes that cross it
// are those of package wire.
//
// Everything that happens follows from one number, the seed. The windows of
// the phones are coroutines that hand over at every disk operation and every
// message, so that a run can be killed, or overtaken by another window,
// between any two of them.
//
// The faults: messages lost, doubled, late and out of order; the answer lost
// after the server stored; windows killed between any two operations; two
// windows racing; storage evicted, full, rolled back, copied to another
// phone, a bit flipped in it; clocks days off; the server killed before and
// after it stored; its log cut short; an old backup restored; records of
// kinds and versions that are not known here.
//
// The invariants, at every step and once more when the faults have stopped
// and everything has come to rest:
//
//	I1  every record called kept is in the server's log (or kept apart by a
//	    rule), unless the phone was destroyed before it could be sent
//	I2  a record has one place in the log, and every author's numbers are
//	    without gap
//	I3  the bytes are those that the phone wrote
//	I4  nothing is acknowledged that would not survive a crash
//	I5  who has the same log has the same history, whatever the order
//	I6  who has everything is sent nothing
//	I7  marks and cursors go back only with an alarm
//	I8  no record of another patient is ever sent
//	I9  a revoked phone gets no data, and what it sends is not lost
//	I10 plan revisions form a chain, and a narrower one is obeyed at once
//	I11 what is void stays void
//	I12 after the faults stop everything comes to rest in a bounded number of
//	    exchanges
//	I14 clinic records that a restored server lost come back from the phones
//
// Break names a rule of package replica; the run then goes against it, and
// has to fail. That shows that the invariants can tell.
package sim
