package clinic

import (
	"fmt"
	"net/http"
	"slices"
	"strconv"

	"unsling/engine/rom"
	"unsling/server/access"
	"unsling/server/ledger"
	"unsling/sync/wire"
)

// benchRow is one motion on the form of readings, built for speed: two values,
// and for the operated arm how the end felt and how much it hurt.
type benchRow struct {
	Motion    rom.Motion
	Operated  string // field names
	Other     string
	Limit     string // what the phase permits, "" before there is one
	Locked    bool
	Last      string // the newest clinic value of the operated arm
	LastOther string
	MaySound  bool // the other arm can be a reference for it
	Sound     bool
	ByLevel   bool
}

// benchRows are the motions measured at a visit.
func benchRows(f file, c care) []benchRow {
	var out []benchRow
	for _, m := range shoulderMotions {
		r := benchRow{
			Motion: m, Operated: string(m) + "-" + string(c.Episode.Side), Other: string(m) + "-" + string(c.Episode.Side.Other()),
			MaySound: slices.Contains(referenceMotions, m), Sound: slices.Contains(c.Episode.OtherArm, m), ByLevel: m.ByLevel(),
		}
		if c.Day.InPhase {
			a := c.Day.Motion(m)
			r.Locked, r.Limit = a.Locked, limitText(a.Limit)
		}
		for _, e := range f.History.Readings {
			b := e.Body
			if b.Episode != c.Episode.ID || b.Motion != m || b.Class != rom.Passive || b.Anaesthetic || b.Glenohumeral || b.Self() {
				continue
			}
			text := valueText(b) + ", " + readOn(e).Time().Format("2 Jan")
			if b.Side == c.Episode.Side {
				r.Last = text
			} else {
				r.LastOther = text
			}
		}
		out = append(out, r)
	}
	return out
}

// soundArm is the episode with the other arm marked as a usable reference for
// the motions that were ticked; ok is false when nothing changes.
func (v *visit) soundArm(c care) (e rom.Episode, ok bool) {
	if v.form("sound") != "shown" || c.Episode.State.Ended() {
		return e, false
	}
	e = c.Episode
	e.OtherArm = nil
	for _, m := range referenceMotions {
		if slices.Contains(v.r.PostForm["sound-arm"], string(m)) {
			e.OtherArm = append(e.OtherArm, m)
		}
	}
	if sameSet(e.OtherArm, c.Episode.OtherArm) {
		return e, false
	}
	e.Version, e.By, e.Reason = e.Version+1, v.staff.ID, "other arm as reference"
	return e, true
}

// felt reads how the end of a motion felt and how much it hurt.
func (v *visit) felt(m rom.Motion, r *rom.Reading) error {
	r.EndFeel = rom.EndFeel(v.form(string(m) + "-feel"))
	if r.EndFeel != "" && !slices.Contains(rom.EndFeels, r.EndFeel) {
		return refuse(http.StatusUnprocessableEntity, "Please choose the end feel from the list.")
	}
	pain, err := v.painField(string(m) + "-pain")
	r.Pain = pain
	return err
}

// paperDay is one day of a log kept on paper.
type paperDay struct {
	Day     rom.Date
	Due     int
	Entered int // sessions that stand there already
	Field   string
	Pain    string
	Why     string // why nothing can be entered
}

// Earlier is the last day of the form before.
func (p entryPage) Earlier() rom.Date { return p.Until.Add(-paperSpan) }

// paperSpan is how many days one form of a paper log shows.
const paperSpan = 14

// paperDays are the days before and on until, the newest first.
func (v *visit) paperDays(f file, c care, until rom.Date) []paperDay {
	var out []paperDay
	done := map[rom.Date]int{}
	for _, e := range f.History.Sessions {
		if e.Body.Episode == c.Episode.ID {
			done[e.Body.Due]++
		}
	}
	for _, d := range slices.Backward(dayRange(f, c, until.Add(1-paperSpan), until)) {
		p := paperDay{Day: d.Date, Due: len(d.Due), Entered: done[d.Date], Field: "d." + d.Date.String(), Pain: "p." + d.Date.String()}
		switch {
		case p.Entered > 0:
			p.Why = plural(p.Entered, "session is", "sessions are") + " entered"
		case p.Due == 0:
			p.Why = "nothing was asked"
		}
		out = append(out, p)
	}
	return out
}

// paperLog writes sessions of a paper log down: as many of the day's as the
// patient ticked, with every hold asked and no angle. A day without a number
// stays unknown, which is not the same as none.
func (v *visit) paperLog(f file, c care) ([]ledger.Draft, error) {
	if err := v.may(access.AddTherapy); err != nil {
		return nil, err
	}
	until, err := v.pastDay("until")
	if err != nil {
		return nil, err
	}
	var drafts []ledger.Draft
	rows := v.paperDays(f, c, until)
	for i, d := range slices.Backward(dayRange(f, c, until.Add(1-paperSpan), until)) {
		row := rows[len(rows)-1-i]
		s := v.form(row.Field)
		if s == "" {
			continue
		}
		n, err := strconv.Atoi(s)
		if err != nil || n < 0 || n > row.Due || row.Why != "" {
			return nil, refuse(http.StatusUnprocessableEntity, fmt.Sprintf("%s: %q is not a number of sessions from 0 to %d, or the day has some already.", day(d.Date), s, row.Due))
		}
		worst, err := v.painField(row.Pain)
		if err != nil {
			return nil, err
		}
		for k := range n {
			body := rom.Session{Episode: c.Episode.ID, ID: rom.SessionID(v.desk.id()), Due: d.Date, Slot: d.Due[k].Slot, Phase: d.Phase.Key, Ended: rom.Finished, Worst: worst, By: v.staff.ID}
			for _, x := range d.Due[k].Prescriptions {
				it := rom.SessionItem{Exercise: x.Exercise, Motion: x.Motion, Dose: x.Dose}
				for range min(x.Dose.Reps, 100) {
					it.Holds = append(it.Holds, rom.Hold{Tenths: 10 * x.Dose.Hold, Counted: true, Tapped: true})
				}
				body.Seconds += x.Dose.Reps * (x.Dose.Hold + x.Dose.Rest)
				body.Items = append(body.Items, it)
			}
			dr, err := v.draft(wire.KindSession, body)
			if err != nil {
				return nil, err
			}
			dr.Rev = d.Plan.Rev
			drafts = append(drafts, dr)
		}
	}
	return drafts, nil
}
