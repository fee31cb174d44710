// Package dose counts what was done against what was due: sessions and
// repetitions, end-range time, and adherence with an honest denominator. A
// day of which the clinic has not heard yet is unknown, not zero.
//
// Total end-range time (TERT) of a day and motion is the sum of the seconds of
// counted holds at the patient's own gentle end point, capped by the limit.
// Only phases that stretch count. A hold without an angle is done, its angle
// unknown; it counts as time.
package dose

import "unsling/engine/rom"

// Day is the dose of one day.
type Day struct {
	Date  rom.Date
	Phase string
	// Known is false while the phone has not exchanged since the day, or the
	// day was before the programme or after it.
	Known bool
	// Asked is false on days on which nothing was asked: before the
	// programme, paused, stopped, a rest day.
	Asked               bool
	Therapy             bool // therapy took place
	Due                 int  // sessions due, lowered by attended therapy
	Done, Partly        int
	Missed, Extra       int
	CountedDue, Counted int // repetitions asked and counted, extra sessions included in Counted
	EndRange            []Time
}

// Time is the end-range time of one motion on one day.
type Time struct {
	Motion  rom.Motion
	Seconds int
	Holds   int
	// Unknown are holds without an angle; Over those held past the ceiling,
	// whose time does not count.
	Unknown, Over int
}

// Days returns the dose of every day from one date to another. knownThrough
// is the last day of which the phone has told: today on the phone, the day of
// the last exchange at the clinic.
func Days(h rom.History, ep rom.EpisodeID, from, to, knownThrough rom.Date) []Day { return nil }

// Adherence is done against due over days that are known and asked something.
type Adherence struct {
	Days, Unknown int // days counted, and days left out because unknown
	Due, Done     int // sessions; one done in part counts by its repetitions
	Percent       int // of repetitions, 0 to 100; meaningless unless OK
	OK            bool
}

// Adhere sums days. OK is false when nothing known was due.
func Adhere(days []Day) Adherence { return Adherence{} }

// Seconds returns the end-range seconds of m on d.
func (d Day) Seconds(m rom.Motion) int {
	for _, t := range d.EndRange {
		if t.Motion == m {
			return t.Seconds
		}
	}
	return 0
}
