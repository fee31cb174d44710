package schedule

import (
	"unsling/engine/protocol"
	"unsling/engine/rom"
)

// PainRest says that the arm rests because of pain: no session and no measuring begins before it is over. It is one
// state for every page, so that no page offers what another has just stopped.
type PainRest struct {
	Why PainWhy
	// Until is the minute after midnight from which pain is asked again; 24*60 for not today.
	Until int
}

// Today reports whether nothing begins for the rest of the day.
func (r *PainRest) Today() bool { return r.Until >= 24*60 }

// PainWhy is what made the arm rest. The list is closed.
type PainWhy string

// The reasons.
const (
	AfterBadNight PainWhy = "night"   // strong pain over the night: the day is for rest
	AfterPainStop PainWhy = "session" // a session was stopped for pain
	AfterScore    PainWhy = "score"   // pain above the cap before a session
)

// Times of rest, in minutes. Both are design choices of this project (derived): no published rule for a rest after a
// painful session at home was found. A clinic's least gap between sessions counts where it is longer.
const (
	scoreRest = 15 // after a score above the cap: an answer a second later is no other pain
	stopRest  = 60 // after a session that was stopped for pain
)

// painRest finds the rest that lasts longest, nil for none.
func painRest(h rom.History, with With, d *Day) *PainRest {
	today := d.Date
	if !with.Clock.IsZero() {
		today = with.Clock
	}
	var out *PainRest
	add := func(why PainWhy, until int) {
		if until = min(until, 24*60); until > d.Minute && (out == nil || until > out.Until) {
			out = &PainRest{why, until}
		}
	}
	score := func(p *rom.Entry[rom.Pain]) {
		if p.Body.Episode != d.Episode.ID || p.Day() != today {
			return
		}
		switch act, _, _ := protocol.Pain(d.PainCap, p.Body.Score); {
		case p.Body.When == rom.PainNextDay && act == protocol.PainStop:
			add(AfterBadNight, 24*60)
		case p.Body.When == rom.PainAtRest && act != protocol.PainFine:
			add(AfterScore, minuteOf(p.Meta)+scoreRest)
		}
	}
	for i := range h.Pains {
		score(&h.Pains[i])
	}
	for i := range with.Pains {
		score(&with.Pains[i])
	}
	for i := range h.Sessions {
		s := &h.Sessions[i]
		if s.Body.Episode == d.Episode.ID && s.Body.Stop == rom.StopPain && !s.Body.Therapist && s.Day() == today {
			add(AfterPainStop, minuteOf(s.Meta)+max(stopRest, d.Plan.LeastGap))
		}
	}
	return out
}

// minuteOf is the minute of the day at which a record was written, by the writer's clock.
func minuteOf(m rom.Meta) int { return m.At.Hour()*60 + m.At.Minute() }

// rest closes what is due until the rest is over.
func (d *Day) rest() {
	if d.PainRest == nil {
		return
	}
	for i := range d.Due {
		x := &d.Due[i]
		if x.Status == Done || x.Status == Missed {
			continue
		}
		x.Open = false
		x.NotBefore = max(x.NotBefore, d.PainRest.Until)
	}
	for i := range d.Measures {
		d.Measures[i].May, d.Measures[i].Due = false, false // measuring loads the joint
	}
}
