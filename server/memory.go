package main

import (
	"runtime"
	"runtime/debug"
	"time"
)

// The program's memory, in bytes. Go collects more often as it comes near the
// limit instead of growing, and gives back what it does not need; it is not a
// wall, so that it stands below the 256 MB that the program may take.
const (
	memoryLimit = 192 << 20
	memoryRest  = 48 << 20 // beyond it, what is free is given back when nothing goes on
)

// restEvery is how often that is looked at.
const restEvery = 15 * time.Second

// limitMemory sets the limit, unless the operator did by GOMEMLIMIT.
func limitMemory(getenv func(string) string) {
	if getenv("GOMEMLIMIT") == "" {
		debug.SetMemoryLimit(memoryLimit)
	}
}

// rest gives memory back after a load. Go does so by itself only slowly, and
// collects once in two minutes when nobody asks for memory.
type rest struct{ collections uint32 }

// look gives back if there was no collection since the look before: nothing
// goes on then. It reports whether it did.
func (r *rest) look() bool {
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	quiet := m.NumGC == r.collections && m.Sys-m.HeapReleased > memoryRest
	if quiet {
		debug.FreeOSMemory()
		runtime.ReadMemStats(&m)
	}
	r.collections = m.NumGC
	return quiet
}
