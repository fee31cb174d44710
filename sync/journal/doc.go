// Package journal is the phone's log: what was recorded is here before
// anybody is told that it is kept.
//
// A Store is the disk. It is small, so that IndexedDB can be one: every
// change is one Batch, which is written as one transaction with strict
// durability and no reads in between, or not at all. Mem is a Store in memory
// with the faults of a real one; package journaltest holds every
// implementation to the same contract.
//
// A Writer builds record lines and appends them. The duties of its user:
//
//  1. Say "kept" only after Append returned without an error.
//  2. Give every start of the app its own Run and a Mono that never goes
//     back within it.
//  3. After ErrFull keep what the person typed on the screen, prune, and try
//     again.
//  4. After ErrClosed open the store again and retry once.
//
// Two windows may write at the same time. They find out by ErrExists, since
// rows are added under (author, n): whoever is second reads the tail again
// and builds the line again. A Web Lock around it saves work but nothing
// depends on it.
//
// # Decisions
//
//   - A session has one record, written when it ends. Until then a draft is kept strictly in the journal's meta
//     store after every hold; a kill resumes at the same hold. One bounded record is easier to amend than thirty.
package journal
