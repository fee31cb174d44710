package client

import (
	"fmt"
	"testing"

	"unsling/engine/rom"
	"unsling/sync/journal"
	"unsling/sync/wire"
)

// A window is frozen, as browsers freeze tabs, before or after any single
// operation on the disk while it exchanges or appends: it holds whatever lock
// it held. Another window takes over without that lock: it writes, exchanges,
// and is killed or not. Then the first thaws and goes on with what it knew.
// Nothing is lost, nothing is twice.
func TestTakeoverFromAFrozenWindow(t *testing.T) {
	froze := 0
	for _, appending := range []bool{false, true} {
		for _, after := range []bool{false, true} {
			for at := 0; ; at++ {
				name := fmt.Sprintf("appending %v, after %v, operation %d", appending, after, at)
				if !takeover(t, name, appending, after, at) {
					break
				}
				froze++
			}
		}
	}
	if froze < 12 {
		t.Errorf("only %d places to freeze at", froze)
	}
	t.Logf("%d places", froze)
}

// takeover plays one place; false means that the window had ended before it.
func takeover(t *testing.T, name string, appending, after bool, at int) bool {
	t.Helper()
	c := newClinic(t)
	defer c.Close()
	disk := journal.NewDisk()
	first := newDevice(c, disk, "first")
	first.join(t, "ABCD2345")
	second := newDevice(c, disk, "second")
	second.Client.Keys, second.keys = first.keys, first.keys
	for i := range 3 {
		first.ask(t, fmt.Sprint("before ", i))
	}
	first.sync(t)
	for i := range 4 {
		first.ask(t, fmt.Sprint("waiting ", i))
	}
	want := 7

	frozen, thaw := make(chan bool), make(chan bool)
	count := 0
	hook := func(string) error {
		if count++; count-1 == at {
			frozen <- true
			<-thaw
		}
		return nil
	}
	if after {
		first.store.After = hook
	} else {
		first.store.Before = hook
	}
	ended := make(chan error, 1)
	kept := 0
	go func() {
		var err error
		if appending {
			if _, err = first.writer.Append(ctx, wire.KindQuestion, rom.Question{Episode: "e", Text: "of the frozen window"}); err == nil {
				kept++
			}
		} else {
			_, err = first.syncer.Sync(ctx)
		}
		ended <- err
	}()
	reached := true
	select {
	case <-frozen:
		for i := range 3 { // the takeover
			second.ask(t, fmt.Sprint("of the other window ", i))
			want++
			second.sync(t)
		}
		close(thaw)
		if err := <-ended; err != nil {
			t.Errorf("%s: %v", name, err)
		}
	case err := <-ended:
		reached = false
		if err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
	first.store.Before, first.store.After = nil, nil
	want += kept
	if appending && kept != 1 {
		t.Errorf("%s: the frozen window could not append", name)
	}
	for _, d := range []*device{second, first, second} {
		if r := d.sync(t); !r.Done || r.Unsent != 0 {
			t.Errorf("%s: in the end %+v", name, r)
		}
	}
	seen := map[string]bool{}
	for i, l := range c.log {
		rec, err := wire.Decode(l)
		if err != nil || rec.N != int64(i+1) || seen[rec.Salt] {
			t.Errorf("%s: line %d: %v %v", name, i+1, rec.Ref(), err)
		}
		seen[rec.Salt] = true
	}
	if len(c.log) != want {
		t.Errorf("%s: the clinic has %d records, %d were kept", name, len(c.log), want)
	}
	rows, err := first.store.Rows(ctx, author(t, first), 1, 100)
	if err != nil || len(rows) != want {
		t.Errorf("%s: the phone has %d records, %d were kept: %v", name, len(rows), want, err)
	}
	return reached
}

func author(t *testing.T, d *device) rom.Author {
	t.Helper()
	st, err := journal.LoadState(ctx, d.store)
	if err != nil {
		t.Fatal(err)
	}
	return st.Author
}
