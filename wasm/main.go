// Command wasm is the phone's program. It wires the screens to the journal in IndexedDB, to the device and to the clinic's
// server, and runs in a browser as WebAssembly; server/internal/buildweb builds it. Clock and chance enter here and nowhere
// below.
package main

func main() { run() }
