// Command wasm is the phone's program. It wires the screens to the journal in IndexedDB, to the device and to the clinic's
// server, and runs in a browser as WebAssembly; server/internal/buildweb builds it. Clock and chance enter here and nowhere
// below.
//
// # Decisions
//
//   - A phone holds up to four people, each in a database of their own (unsling, unsling-2 ...; the first keeps its
//     name). Who is there stands in localStorage, letters and names of databases only; a list that is lost or odd
//     is made again from the databases, after the start, and then it is asked who is there. A window belongs to one
//     person; another's is the page loaded anew, so that nothing of the first goes on. A shared phone asks again
//     after half an hour out of sight. Only who is there sends.
package main

func main() { run() }
