//go:build js && wasm

package idb

import (
	"context"
	"slices"
	"testing"

	"unsling/sync/journal"
)

// TestPresentNamesWhatIsThere: of the names asked for, those that have a database, and asking makes none.
func TestPresentNamesWhatIsThere(t *testing.T) {
	ctx := context.Background()
	_, name := fresh(t)
	for range 2 {
		if got, err := Present(ctx, name, name+"-2"); err != nil || !slices.Equal(got, []string{name}) {
			t.Errorf("there are %q, %v", got, err)
		}
	}
}

// TestDatabasesAreApart: what one person writes, the same author and number included, is not in another's database, whose key does
// not open it; emptying one leaves the other.
func TestDatabasesAreApart(t *testing.T) {
	ctx := context.Background()
	type one struct {
		db   *DB
		j    *Journal
		name string
	}
	var both [2]one
	for i := range both {
		db, name := fresh(t)
		both[i] = one{db, journalOf(t, db), name}
		row := journal.Row{Author: "p-same", N: 1, Line: []byte(name)}
		err := both[i].j.Commit(ctx, journal.Batch{Add: []journal.Row{row}, Meta: []journal.Item{{Name: "app.session", Value: []byte(name)}}})
		if err != nil {
			t.Fatal(err)
		}
	}
	check := func(o one) {
		t.Helper()
		row, ok, err := o.j.Last(ctx, "p-same")
		draft, err2 := o.j.Meta(ctx, "app.session")
		if err != nil || err2 != nil || !ok || string(row.Line) != o.name || string(draft) != o.name {
			t.Errorf("%s has %q and the draft %q: %v %v", o.name, row.Line, draft, err, err2)
		}
	}
	a, b := both[0], both[1]
	check(a)
	check(b)
	sealed, err := a.db.Get(ctx, Meta, Name("app.session"))
	if err != nil || len(sealed) == 0 {
		t.Fatal(err)
	}
	if text, err := b.j.cipher.decryptItem(ctx, Meta, "app.session", sealed); err == nil && string(text) == a.name {
		t.Error("the key of one opens what the other wrote")
	}
	if err := Empty(ctx, a.name); err != nil {
		t.Fatal(err)
	}
	check(b)
}
