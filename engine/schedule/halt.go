package schedule

import (
	"unsling/engine/protocol"
	"unsling/engine/rom"
)

// Halts lists the reports that stop everything on the phone and that no
// revision answers yet, in the order of the history: signs whose rule says
// so, then sessions stopped because something was wrong.
func Halts(h rom.History, ep rom.EpisodeID) []Halt {
	var out []Halt
	add := func(m rom.Meta, sign rom.SignID) {
		if !answered(h, ep, m.Ref) {
			out = append(out, Halt{Record: m.Ref, On: m.Day(), Sign: sign})
		}
	}
	for i := range h.Signs {
		s := &h.Signs[i]
		// A sign told before the phone knew its episode stops every one.
		if (s.Body.Episode == ep || s.Body.Episode == "") && protocol.SignByID(s.Body.Sign).Stops {
			add(s.Meta, s.Body.Sign)
		}
	}
	for i := range h.Sessions {
		s := &h.Sessions[i]
		if s.Body.Episode == ep && s.Body.Stop == rom.StopWrong {
			add(s.Meta, "")
		}
	}
	return out
}

// answered reports whether any revision of the plan names the record.
func answered(h rom.History, ep rom.EpisodeID, r rom.Ref) bool {
	for i := range h.Plans {
		if h.Plans[i].Body.Episode != ep {
			continue
		}
		for _, a := range h.Plans[i].Body.Answers {
			if a == r {
				return true
			}
		}
	}
	return false
}

// Narrow returns what a session that began under one day's terms obeys once
// newer terms arrived: whatever the newer ones narrow, close or stop holds at
// once; what they widen waits for the next session.
func Narrow(during, newest Day) Day {
	out := during
	if newest.State != Running {
		out.State, out.Why, out.Problem, out.Halt = newest.State, newest.Why, newest.Problem, newest.Halt
	}
	out.Motions = make([]Allowance, len(during.Motions))
	for i, a := range during.Motions {
		out.Motions[i] = a.narrower(newest.Motion(a.Motion))
	}
	out.Exercises = make([]Allowed, len(during.Exercises))
	for i, a := range during.Exercises {
		if b := newest.Exercise(a.Exercise.ID); b.Locked && !a.Locked {
			b.Prescribed = a.Prescribed
			a = b
		}
		out.Exercises[i] = a
	}
	out.PainCap = min(during.PainCap, newest.PainCap)
	out.Forbidden = append([]string(nil), during.Forbidden...)
	for _, f := range newest.Forbidden {
		seen := false
		for _, g := range during.Forbidden {
			seen = seen || f == g
		}
		if !seen {
			out.Forbidden = append(out.Forbidden, f)
		}
	}
	out.Due = make([]Due, len(during.Due))
	for i, x := range during.Due {
		var keep []rom.Prescription
		for _, rx := range x.Prescriptions {
			if !out.Exercise(rx.Exercise).Locked && (rx.Motion == "" || !out.Motion(rx.Motion).Locked) {
				keep = append(keep, rx)
			}
		}
		x.Prescriptions = keep
		out.Due[i] = x
	}
	return out
}

// narrower returns the stricter of two allowances of one motion.
func (a Allowance) narrower(b Allowance) Allowance {
	switch {
	case a.Locked:
		return a
	case b.Locked:
		return b
	}
	a.Limit = a.Limit.Stricter(b.Limit)
	a.Error = max(a.Error, b.Error)
	if a.HasAim = !a.Limit.Open && !a.Motion.ByLevel(); a.HasAim {
		a.Aim = a.Limit.Ceiling - a.Error
	}
	return a
}
