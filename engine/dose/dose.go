// Package dose counts what was done against what was due: sessions and
// repetitions, end-range time, and adherence with an honest denominator. A
// day of which the clinic has not heard yet is unknown, not zero.
//
// Total end-range time (TERT) of a day and motion is the sum of the seconds that
// were held at the patient's own gentle end point, of broken holds too: 17 of 20
// seconds are 17. Complete holds are counted beside it. A hold past the ceiling
// keeps its time, since the tissue was stretched, and is no complete one; a
// motion that is locked has neither. Only phases that stretch count, and only
// exercises held at an end range. A hold without an angle is done, its angle
// unknown.
package dose

import (
	"unsling/engine/protocol"
	"unsling/engine/rom"
	"unsling/engine/schedule"
)

// Day is the dose of one day.
type Day struct {
	Date  rom.Date
	Phase string
	// Known says that the phone has told of the day.
	Known bool
	// Partial says that the day was still going on when the phone told of
	// it: what was not done yet is not missed.
	Partial bool
	// Asked is false on days on which nothing was asked: before the
	// programme, paused, stopped, a rest day, a phase without exercises.
	Asked        bool
	Therapy      bool // therapy took place
	Due          int  // sessions due, lowered by attended therapy
	Done, Partly int
	Missed       int
	Extra        int // sessions beyond those due
	// CountedDue are the repetitions asked in the sessions due, Credited those
	// of them that were done, Counted all that were done, extra ones included.
	CountedDue, Credited, Counted int
	EndRange                      []Time
}

// Time is the end-range time of one motion on one day.
type Time struct {
	Motion  rom.Motion
	Seconds int // as held
	Holds   int // complete, and not past the ceiling
	// Unknown are those of Holds without an angle; Over are holds of any
	// length past the ceiling, or of a motion that is locked.
	Unknown, Over int
}

// Told is the span of days of which anything can be known. Before it nobody
// wrote anything down, after it nobody has told yet: both are unknown, which is
// not the same as nothing done.
type Told struct {
	From rom.Date // day of the first phone or paper log; zero for every day
	// Through is the last day of which the phone has told, perhaps in part:
	// today on the phone, the day of the last exchange at the clinic; zero for
	// no day.
	Through rom.Date
}

// Days returns the dose of every day from one date to another. A range that is
// empty or longer than twenty years gives none.
func Days(h rom.History, ep rom.EpisodeID, from, to rom.Date, told Told) []Day {
	days := schedule.Range(h, ep, from, to, schedule.With{})
	out := make([]Day, len(days))
	byDay := sessionsByDay(h, ep)
	for i := range days {
		out[i] = count(&days[i], byDay[days[i].Date], told)
	}
	return out
}

func sessionsByDay(h rom.History, ep rom.EpisodeID) map[rom.Date][]*rom.Session {
	out := map[rom.Date][]*rom.Session{}
	for i := range h.Sessions {
		if s := &h.Sessions[i].Body; s.Episode == ep {
			out[s.Due] = append(out[s.Due], s)
		}
	}
	return out
}

func count(d *schedule.Day, sessions []*rom.Session, told Told) Day {
	out := Day{Date: d.Date, Therapy: d.Attended, Known: d.Date >= told.From && d.Date <= told.Through, Partial: d.Date == told.Through, Extra: d.Extra}
	if d.InPhase {
		out.Phase = d.Phase.Key
		out.EndRange = endRange(d.Phase, sessions)
	}
	for _, s := range sessions {
		if !s.Therapist {
			out.Counted += s.Counted()
		}
	}
	for _, x := range d.Due {
		if x.Status == schedule.Spare || (x.Status == schedule.Missed && out.Partial) {
			continue
		}
		out.Due++
		out.CountedDue += x.Asked
		out.Credited += min(x.Counted, x.Asked)
		switch x.Status {
		case schedule.Done:
			out.Done++
		case schedule.Partly:
			out.Partly++
		default:
			out.Missed++
		}
	}
	out.Asked = len(d.Due) > 0
	return out
}

// endRange sums the end-range time of sessions done under one phase.
func endRange(ph rom.Phase, sessions []*rom.Session) []Time {
	if !ph.Stretching {
		return nil
	}
	tenths := map[rom.Motion]int{}
	times := map[rom.Motion]*Time{}
	for _, s := range sessions {
		for i := range s.Items {
			it := &s.Items[i]
			e, ok := protocol.Lookup(it.Exercise)
			if !ok || !e.EndRange || it.Motion == "" {
				continue
			}
			row := ph.Limit(it.Motion).For(e.Class)
			for _, h := range it.Holds {
				if h.Tenths <= 0 {
					continue
				}
				t := times[it.Motion]
				if t == nil {
					t = &Time{Motion: it.Motion}
					times[it.Motion] = t
				}
				if row.Class == rom.Locked {
					t.Over++
					continue
				}
				tenths[it.Motion] += h.Tenths
				switch past := h.Angle != nil && !row.Open && !row.Motion.ByLevel() && *h.Angle > row.Ceiling; {
				case past:
					t.Over++
				case h.Counted:
					t.Holds++
					if h.Angle == nil {
						t.Unknown++
					}
				}
			}
		}
	}
	var out []Time
	for _, m := range rom.Motions {
		if t := times[m]; t != nil {
			t.Seconds = (tenths[m] + 5) / 10
			out = append(out, *t)
		}
	}
	return out
}

// Adherence is done against due over days that are known in full and asked
// something.
type Adherence struct {
	Days    int // days counted
	Unknown int // days that asked something and of which nothing is known yet
	Due     int // sessions
	Done    int // sessions done in full
	Percent int // of repetitions, 0 to 100; it means nothing unless OK
	OK      bool
}

// Adhere sums days. Extra sessions do not make up for missed ones. OK is
// false when nothing known was due.
func Adhere(days []Day) Adherence {
	var a Adherence
	asked, counted := 0, 0
	for _, d := range days {
		switch {
		case !d.Asked:
		case !d.Known:
			a.Unknown++
		case !d.Partial:
			a.Days++
			a.Due += d.Due
			a.Done += d.Done
			asked += d.CountedDue
			counted += d.Credited
		}
	}
	if a.OK = asked > 0; a.OK {
		a.Percent = (100*counted + asked/2) / asked
	}
	return a
}

// Seconds returns the end-range seconds of m on d.
func (d Day) Seconds(m rom.Motion) int {
	for _, t := range d.EndRange {
		if t.Motion == m {
			return t.Seconds
		}
	}
	return 0
}
