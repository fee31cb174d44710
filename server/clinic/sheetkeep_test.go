package clinic

import (
	"fmt"
	"testing"
	"time"
)

// A thousand sheets that nobody has printed yet: the oldest makes room, and nobody's newest is thrown away.
func TestOldestSheetMakesRoom(t *testing.T) {
	d := &Desk{}
	at := time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC)
	for i := range sheetsKept + 50 {
		made := at.Add(time.Duration(i) * time.Second)
		d.keepSheet(fmt.Sprint(i), sheet{Made: made, Until: made.Add(24 * time.Hour)}, made)
	}
	if len(d.sheets) != sheetsKept {
		t.Fatalf("%d sheets", len(d.sheets))
	}
	for i := range sheetsKept + 50 {
		if _, ok := d.sheets[fmt.Sprint(i)]; ok != (i >= 50) {
			t.Fatalf("sheet %d is kept: %t", i, ok)
		}
	}
	// What has run out goes first, whatever its age.
	late := at.Add(48 * time.Hour)
	d.keepSheet("new", sheet{Made: late, Until: late.Add(time.Hour)}, late)
	if len(d.sheets) != 1 {
		t.Errorf("%d sheets, all but one have run out", len(d.sheets))
	}
}
