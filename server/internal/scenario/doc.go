// Package scenario makes the invented clinic of the demo: people, operations
// and months of records. The clinic's acts go through the ledger as the desk's
// do; everything of a phone goes the phone's own way, through its journal, its
// side of the agreement and the HTTP client, on an invented clock. No record
// of a phone is written past the exchange.
//
// Every name, number and course here is invented. Nothing in this package is
// a reference for real recovery.
//
// # Decisions
//
//   - The demo makes its records again on a new day, unless somebody added patients or phones of their own.
package scenario
