package main

import (
	"math"
	"runtime"
	"runtime/debug"
	"testing"
)

// The limit is the program's own, unless the operator sets one.
func TestMemoryLimit(t *testing.T) {
	defer debug.SetMemoryLimit(debug.SetMemoryLimit(math.MaxInt64))
	limitMemory(func(string) string { return "64MiB" })
	if got := debug.SetMemoryLimit(-1); got != math.MaxInt64 {
		t.Errorf("over the operator's: %d", got)
	}
	limitMemory(func(string) string { return "" })
	if got := debug.SetMemoryLimit(-1); got != memoryLimit {
		t.Errorf("limit is %d", got)
	}
}

// What a load took is given back once nothing goes on.
func TestMemoryIsGivenBack(t *testing.T) {
	held := func() int64 {
		var m runtime.MemStats
		runtime.ReadMemStats(&m)
		return int64(m.Sys - m.HeapReleased)
	}
	load := make([]byte, 200<<20)
	for i := 0; i < len(load); i += 4096 {
		load[i] = 1
	}
	before := held()
	runtime.KeepAlive(load)
	var r rest
	for range 100 { // a collection beside it may come in between
		if r.look() {
			break
		}
	}
	if after := held(); before-after < 150<<20 {
		t.Errorf("%d MB before, %d MB after", before>>20, after>>20)
	}
}
