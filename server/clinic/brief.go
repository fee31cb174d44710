package clinic

import (
	"fmt"
	"strings"

	"unsling/app/chart"
	"unsling/engine/review"
	"unsling/engine/rom"
	"unsling/engine/schedule"
)

// brief is what the watch list shows of one episode.
type brief struct {
	Episode  rom.Episode
	State    schedule.State
	Dated    bool
	Number   int // day after surgery
	Week     int
	Phase    string
	Findings []review.Finding
	Contact  rom.Date
	Phone    bool // one is enrolled
	Spark    string
	SparkOf  rom.Motion
}

func briefOf(f file, c care) brief {
	b := brief{
		Episode: c.Episode, State: c.Day.State, Dated: c.Day.Dated, Number: c.Day.Number, Week: c.Day.Week,
		Findings: c.Findings, Contact: f.Contact, Phone: len(f.Phones) > 0,
	}
	if c.Day.InPhase {
		b.Phase = c.Day.Phase.Key
	}
	top, _, _ := b.open()
	b.SparkOf = sparkMotion(top)
	if c.Live() { // what has ended is kept by the thousand
		b.Spark = spark(f.History, c, b.SparkOf)
	}
	return b
}

// open returns the finding that speaks for the episode, and how many more
// stand open.
func (b brief) open() (top review.Finding, more int, ok bool) {
	for _, x := range b.Findings {
		switch {
		case x.Quiet:
		case !ok:
			top, ok = x, true
		default:
			more++
		}
	}
	return top, more, ok
}

// quietly says how an episode stands that asks for nobody.
func quietly(b brief) string {
	switch b.State {
	case schedule.BeforeOp:
		return "Planned. The programme starts once the operation is confirmed."
	case schedule.NotConfirmed:
		return "The operation is not confirmed yet."
	case schedule.Postponed:
		return "Postponed, no new date yet."
	case schedule.Paused:
		return "Paused by the clinic."
	case schedule.Stopped:
		return "Stopped by the clinic."
	case schedule.Ended:
		return "The episode has ended."
	}
	if len(b.Findings) > 0 {
		return "All findings are answered."
	}
	return "Nothing open today."
}

// headline is the finding's sentence down to what a glance can hold: the
// numbers that matter, without how they were come by.
func headline(x review.Finding) string {
	s := x.Staff
	if x.Class == review.Stiffening {
		if rest, ok := strings.CutPrefix(s, "Stiff by "); ok {
			by, _, _ := strings.Cut(rest, " since ")
			if n := strings.Count(by, ",") + 1; n > 1 {
				return fmt.Sprintf("Stiff by %d published definitions.", n)
			}
		}
	}
	for _, end := range []string{"; ", ": ", " (", ", error ", ". "} {
		if i := strings.Index(s, end); i > 0 {
			s = s[:i]
		}
	}
	return strings.TrimSuffix(s, ".") + "."
}

// dueText says until when somebody must act.
func dueText(x review.Finding, today rom.Date) string {
	switch {
	case x.By.On.IsZero():
		return string(x.Due)
	case x.Overdue:
		return "was due " + shortDay(x.By.On, today)
	case x.By.Minute >= 24*60:
		return "due " + shortDay(x.By.On, today)
	}
	return fmt.Sprintf("due %s, %s", shortDay(x.By.On, today), clockTime(x.By.Minute))
}

// shortDay is a day as people say it.
func shortDay(d, today rom.Date) string {
	switch d.Sub(today) {
	case 0:
		return "today"
	case 1:
		return "tomorrow"
	case -1:
		return "yesterday"
	}
	if d.Time().Year() != today.Time().Year() {
		return d.Time().Format("2 Jan 2006")
	}
	return d.Time().Format("Mon 2 Jan")
}

// sparkMotion is the motion a small picture shows: that of the finding, else
// flexion.
func sparkMotion(top review.Finding) rom.Motion {
	switch {
	case top.Motion != "" && !top.Motion.ByLevel():
		return top.Motion
	case top.Class == review.RotationLag || top.Class == review.Stiffening:
		return rom.ERSide
	}
	return rom.ForwardFlexion
}

func spark(h rom.History, c care, m rom.Motion) string {
	var points []chart.Point
	for _, e := range h.Readings {
		r := e.Body
		if r.Episode == c.Episode.ID && r.Motion == m && r.Side == c.Episode.Side && r.Class == rom.Passive && !r.Anaesthetic && !r.Baseline && r.Method != rom.Eye {
			points = append(points, chart.Point{Day: readOn(e), Value: r.Angle, SE: r.SE})
		}
	}
	if len(points) < 2 {
		return ""
	}
	s := chart.Spark{Motion: m, Points: points, Words: chartWords(name(motionNames, m))}
	if l := c.Day.Motion(m); !l.Locked && !l.Limit.Open {
		s.Limit = l.Limit.Ceiling
	}
	return s.SVG()
}

// readOn is the civil date of a reading.
func readOn(e rom.Entry[rom.Reading]) rom.Date {
	if !e.Body.On.IsZero() {
		return e.Body.On
	}
	return e.Day()
}

// staffNames maps ids to names.
func (v *visit) staffNames() (map[rom.StaffID]string, error) {
	all, err := v.desk.Store.AllStaff()
	if err != nil {
		return nil, err
	}
	names := map[rom.StaffID]string{}
	for _, s := range all {
		names[s.ID] = s.Name
	}
	return names, nil
}
