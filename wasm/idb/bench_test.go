//go:build js && wasm

package idb

import (
	"bytes"
	"context"
	"slices"
	"testing"
	"time"

	"unsling/sync/journal"
)

// BenchmarkAppend measures an append against a bare strict put of the same
// bytes: medians of several rounds in one run, taken in turn, so that a busy
// machine slows both. server/browsertest runs it in Chromium and holds it to
// its budget.
func BenchmarkAppend(b *testing.B) {
	ctx := context.Background()
	db, _ := fresh(b)
	j := journalOf(b, db)
	line := bytes.Repeat([]byte("x"), 900) // a session of five holds
	const rounds, each = 9, 40
	n := int64(0)
	timed := func(f func(n int64) error) time.Duration {
		begin := time.Now()
		for range each {
			n++
			if err := f(n); err != nil {
				b.Fatal(err)
			}
		}
		return time.Since(begin) / each
	}
	var bare, kept []time.Duration
	for b.Loop() {
		for range rounds {
			bare = append(bare, timed(func(n int64) error { return db.Write(ctx, nil, Add(Log, Line("bare", n), line)) }))
			kept = append(kept, timed(func(n int64) error {
				return j.Commit(ctx, journal.Batch{Add: []journal.Row{{Author: "kept", N: n, Line: line}}})
			}))
		}
	}
	slices.Sort(bare)
	slices.Sort(kept)
	put, add := bare[len(bare)/2], kept[len(kept)/2]
	b.ReportMetric(float64(add)/float64(put), "times-a-put")
	b.ReportMetric(float64(put.Microseconds()), "us-put")
	b.ReportMetric(float64(add.Microseconds()), "us-append")
}
