package review

import (
	"testing"
	"time"

	"pgregory.net/rapid"

	"unsling/engine/rom"
)

func workingWeek() (h Hours) {
	for d := time.Monday; d <= time.Friday; d++ {
		h.Week[d] = Span{8 * 60, 17 * 60}
	}
	return h
}

// Common practice, no source: what waits is counted in the clinic's own hours,
// goes to the deputy, then to everybody.
func TestEscalate(t *testing.T) {
	monday, err := rom.ParseDate("2026-03-02")
	if err != nil || monday.Weekday() != time.Monday {
		t.Fatal(monday, err)
	}
	h := workingWeek()
	h.Closed = []rom.Date{monday.Add(8)}
	x := Finding{Overdue: true, By: Deadline{On: monday.Add(4), Minute: 15 * 60}} // Friday at three
	for _, c := range []struct {
		on     rom.Date
		minute int
		late   int
		want   Reach
	}{
		{monday.Add(4), 14 * 60, 0, ToOwner},
		{monday.Add(4), 16 * 60, 60, ToOwner},
		{monday.Add(4), 23 * 60, 120, ToOwner}, // the clinic closes at five
		{monday.Add(6), 12 * 60, 120, ToOwner}, // Sunday
		{monday.Add(7), 9*60 + 59, 239, ToOwner},
		{monday.Add(7), 10 * 60, 240, ToDeputy},
		{monday.Add(7), 14 * 60, 480, ToTeam},
		{monday.Add(8), 12 * 60, 660, ToTeam}, // a holiday adds nothing
		{monday.Add(9), 8*60 + 30, 690, ToTeam},
	} {
		r, late := Escalate(x, h, c.on, c.minute, 0)
		if r != c.want || late != c.late {
			t.Errorf("%s %d: %d after %d minutes, want %d after %d", c.on, c.minute, r, late, c.want, c.late)
		}
	}
	if r, _ := Escalate(x, h, monday.Add(4), 16*60, 1); r != ToDeputy {
		t.Error("the clinic's own number of hours is not taken")
	}
	answered := x
	answered.Quiet = true
	if r, _ := Escalate(answered, h, monday.Add(30), 0, 0); r != ToOwner {
		t.Error("an answered finding is handed on")
	}
}

// Counting minute by minute gives the same.
func TestBetweenTwin(t *testing.T) {
	h := workingWeek()
	h.Week[time.Saturday] = Span{9 * 60, 12 * 60}
	rapid.Check(t, func(r *rapid.T) {
		from := Deadline{On: rom.Date(rapid.IntRange(20500, 20510).Draw(r, "day")), Minute: rapid.IntRange(0, 1440).Draw(r, "minute")}
		on, minute := from.On.Add(rapid.IntRange(-1, 9).Draw(r, "days")), rapid.IntRange(0, 1439).Draw(r, "now")
		want := 0
		for at := int(from.On)*1440 + from.Minute; at < int(on)*1440+minute; at++ {
			if s, ok := h.on(rom.Date(at / 1440)); ok && at%1440 >= s.From && at%1440 < s.To {
				want++
			}
		}
		if got := h.Between(from, on, minute); got != want {
			r.Fatalf("%d minutes, want %d", got, want)
		}
	})
}
