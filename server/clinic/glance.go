package clinic

import (
	"fmt"
	"slices"
	"strings"

	"unsling/engine/rom"
	"unsling/engine/schedule"
	"unsling/engine/trend"
)

// glanceRow is one motion in one line: what it reaches, what it may, what it
// is measured against.
type glanceRow struct {
	Motion    rom.Motion
	Has       bool   // there is a reading since the operation
	Now       string // newest value
	How       string // how and when it was measured
	Level     string // smoothed, with its interval
	Week      string // change in a week, with its interval
	Allowed   schedule.Allowance
	Limit     string
	Aim       string
	Source    rom.Source
	Reference string
	Missing   string
	Real      bool // beyond the error of measurement
	Caveat    string
	Chart     bool // there is a chart of it below
	Baseline  bool // the newest reading was taken before surgery
}

// tile is one motion with its number large.
type tile struct {
	glanceRow
	Small string
}

// tilesOf picks the motions that say most about how it is going: elevation
// and external rotation at the side, then those that are really behind.
func tilesOf(rows []glanceRow) []tile {
	rank := func(r glanceRow) int {
		switch {
		case r.Motion == rom.ForwardFlexion:
			return 0
		case r.Motion == rom.ERSide:
			return 1
		case r.Real:
			return 2
		}
		return 3
	}
	var out []tile
	for _, r := range rows {
		if !r.Has {
			continue
		}
		t := tile{glanceRow: r}
		switch {
		case r.Baseline:
			t.Small = "baseline before surgery"
		case r.Real:
			t.Small = strings.Replace(r.Missing, "against", "missing against", 1)
		case r.Missing != "" && !strings.HasPrefix(r.Missing, "nothing"):
			t.Small = strings.Replace(r.Missing, "against", "less than", 1) + ", within error"
		case r.Missing != "":
			t.Small = "nothing missing"
		}
		out = append(out, t)
	}
	slices.SortStableFunc(out, func(a, b tile) int { return rank(a.glanceRow) - rank(b.glanceRow) })
	return out[:min(len(out), 4)]
}

func (v *visit) glance(f file, c care, course *trend.Course) []glanceRow {
	var out []glanceRow
	for _, m := range rom.Motions {
		allowed := c.Day.Motion(m)
		row := glanceRow{Motion: m, Allowed: allowed, Source: allowed.Limit.From, Limit: limitToday(c, allowed)}
		if allowed.HasAim {
			row.Aim = fmt.Sprintf("%d°", allowed.Aim.Whole())
		}
		var newest, other *rom.Entry[rom.Reading]
		for i, e := range f.History.Readings {
			r := e.Body
			if r.Episode != c.Episode.ID || r.Motion != m || r.Class != rom.Passive || r.Anaesthetic || r.Glenohumeral {
				continue
			}
			if r.Side != c.Episode.Side {
				other = &f.History.Readings[i]
			} else if !r.Baseline || !c.Episode.State.Operated() {
				newest = &f.History.Readings[i]
			}
			row.Chart = row.Chart || r.Method != rom.Eye
		}
		if newest != nil {
			row.Has, row.Now = true, valueText(newest.Body)
			row.How = methodText(newest.Body) + ", " + shortDay(readOn(*newest), v.today)
			if newest.Body.Baseline {
				row.How, row.Baseline = row.How+", baseline before surgery", true
			}
		}
		if other != nil {
			row.Reference = valueText(other.Body)
		}
		if s := course.Summary(course.Passive(m)); s.Known && m.ByLevel() {
			row.Level = levelName(rom.Level(s.Now.Mid.Whole()))
		} else if s.Known {
			row.Level = rangeText(s.Now, "°")
			if s.RateKnown {
				row.Week = rangeText(s.PerWeek, "°")
			}
		}
		if d := course.Deficit(m); d.Known() {
			row.Caveat, row.Real = d.Caveat, d.Real
			switch {
			case m.ByLevel():
				row.Missing = plural(d.LevelMissing, "level", "levels") + " against " + string(d.Against)
			case d.Missing <= 0:
				row.Missing = "nothing against " + string(d.Against)
			default:
				row.Missing = fmt.Sprintf("%d° against %s", d.Missing.Whole(), d.Against)
			}
		}
		distal := m == rom.ElbowFlexion || m == rom.ElbowExtension || m == rom.ForearmRotation
		if row.Has || row.Reference != "" || !allowed.Locked && !distal {
			out = append(out, row)
		}
	}
	return out
}

// limitToday is what the phase permits of a motion.
func limitToday(c care, a schedule.Allowance) string {
	if a.Locked {
		return "locked"
	}
	return a.Limit.Class.String() + ", " + limitText(a.Limit)
}

func valueText(r rom.Reading) string {
	if r.Motion.ByLevel() {
		return levelName(r.Level)
	}
	return fmt.Sprintf("%d°", r.Angle.Whole())
}

func methodText(r rom.Reading) string {
	s := string(r.Method)
	if r.Method == rom.LevelMethod {
		s = "level"
	}
	if r.Self() {
		return "own " + s
	}
	return s
}

func rangeText(r trend.Range, unit string) string {
	return fmt.Sprintf("%d%s (%d to %d)", r.Mid.Whole(), unit, r.Low.Whole(), r.High.Whole())
}

func plural(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

// nextStep is the phase after the one in force and whether it may begin.
type nextStep struct {
	schedule.Next
	Says      string   // in one sentence
	Criterion string   // the criterion for review and how far the motion is
	Ask       bool     // a clearance is what is missing now
	Shows     *preview // what the phone shows once it is cleared
}

func nextStepOf(c care, course *trend.Course) *nextStep {
	if c.Day.Next == nil {
		return nil
	}
	n := &nextStep{Next: *c.Day.Next}
	key := n.Phase.Key
	switch n.Waits {
	case schedule.ForDate:
		n.Says = fmt.Sprintf("“%s” opens by itself on %s.", key, day(n.Earliest))
	case schedule.ForClearance:
		n.Says, n.Ask = fmt.Sprintf("The day of “%s” has come (%s). It waits for a surgeon's clearance.", key, day(n.Earliest)), true
	default:
		n.Says = fmt.Sprintf("“%s” opens on %s at the earliest, and needs a surgeon's clearance.", key, day(n.Earliest))
	}
	if r := n.Review; r != nil {
		n.Criterion = fmt.Sprintf("To look at first: %s at least %s° (%s)", name(motionNames, r.Motion), r.AtLeast, r.From)
		if s := course.Summary(course.Passive(r.Motion)); s.Known {
			n.Criterion += fmt.Sprintf("; it stands at %s", rangeText(s.Now, "°"))
		}
		n.Criterion += "."
	}
	return n
}
