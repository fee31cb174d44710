// Package wire defines what phone and server say to each other: the record
// line, the kinds of records, the messages of /v1, the error codes and the
// limits. It does no input or output beyond the reader it is given.
//
// # A record line
//
// A record is one line of compact JSON with its keys in a fixed order:
//
//	{"author","n","prev","salt","kind","v","run","mono","at","tz","rev","body"}
//
// followed, where they apply, by "was" (the record this one repeats under
// another author) and "mac" (the clinic's seal on its own lines). The bytes
// of the line are the record: they are hashed (SHA-256, base64url without
// padding, without the line feed), stored and sent exactly as they were first
// written. Decode accepts only what Encode writes, so that decoding and
// encoding again gives the same bytes.
//
// # Promise of compatibility
//
// A phone may be offline for months and its records must still arrive.
//
//  1. A server accepts pushes of every protocol version ever shipped, from
//     ProtoMin on. ProtoMin is never raised.
//  2. The line and its key order never change. New facts go into new kinds or
//     into bodies of a higher version.
//  3. A body keeps its version while fields are only added; readers skip
//     fields they do not know. A changed meaning needs a higher version.
//  4. Unknown kinds and higher versions are stored, sequenced and passed on;
//     whoever does not understand them yet skips them when folding.
//  5. Messages may gain fields; readers skip what they do not know.
//  6. Codes are never renamed, reordered or given another status.
//
// # Decisions
//
//   - Bodies of the frequent kinds are read by hand in the very form that we write (sync/wire/quick*.go); anything
//     else goes to encoding/json, which stays the twin of the tests. A diligent year (2,637 records) folds and is
//     judged in about 30 ms, 110 ms under js/wasm; half went into reflection.
package wire
