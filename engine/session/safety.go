package session

import (
	"slices"

	"unsling/engine/rom"
	"unsling/engine/verdict"
)

// pain takes a score. The phase's cap is the only rule: at or below it the
// session goes on; above it the hold ends and nothing goes on before a lower
// score was given; the second time above it, in the session proper, the
// session ends.
func (m *Machine) pain(e Event) bool {
	if e.Score < 0 || e.Score > 10 || m.d.State == Asking {
		return false
	}
	if e.Kind == PainBefore && m.d.Started {
		return false
	}
	m.worst(e.Score)
	high := e.Score > m.d.Config.PainCap
	m.d.PainHigh = high
	if !m.d.Started && m.d.State == Ready {
		m.d.Before = &e.Score
		m.notice = NoNotice
		if high {
			m.notice = NoticePainBefore
		}
		return true
	}
	if !high {
		if m.notice == NoticePain || m.notice == NoticePainBefore {
			m.notice = NoNotice
		}
		return true
	}
	m.d.PainOver++
	if m.d.PainOver >= 2 {
		m.stop(rom.StopPain)
		return true
	}
	m.out.Tone, m.out.Vibrate = ToneAlert, []int{500, 200, 500}
	m.say(string(NoticePain), 0)
	if m.running() {
		m.breakOff(NoticePain)
		return true
	}
	m.notice = NoticePain
	return true
}

func (m *Machine) worst(score int) {
	if m.d.Worst == nil || *m.d.Worst < score {
		m.d.Worst = &score
	}
}

// measured takes an angle of the present hold, or else of the last one.
func (m *Machine) measured(e Event) bool {
	at := m.measuredAt(e)
	if !at.ok {
		return false
	}
	it := m.d.Config.Items[at.item]
	switch {
	case it.Motion == "" || it.Dose.Hold == 0:
		return false
	case it.Motion.ByLevel():
		if e.Level < rom.LevelT1 || e.Level > rom.LevelThigh {
			return false
		}
	default:
		if e.Angle < rom.Deg(-60) || e.Angle > it.Motion.AnatomicalMax() {
			return false
		}
		switch {
		case m.goesOn(at):
			m.angle = &e.Angle
		case at.hold != notKept:
			m.d.Items[at.item].Holds[at.hold].Angle = &e.Angle
		}
	}
	switch m.out.Tier = e.Tier; e.Tier {
	case verdict.Near:
		m.notice = NoticeClose
		m.say(string(NoticeClose), 0)
	case verdict.Likely:
		m.over(at, it.Motion, NoticeLikely)
	case verdict.Passed:
		m.out.Call, m.d.Ring = CallToday, true
		m.over(at, it.Motion, NoticeOver)
	}
	return true
}

// measuredAt is the hold of a measurement. One that was taken in no hold has
// its exercise only.
func (m *Machine) measuredAt(e Event) spot {
	switch n := len(m.holds); {
	case e.Hold > 0 && e.Hold <= n:
		return m.holds[e.Hold-1]
	case e.Hold > 0:
		return spot{}
	case e.Hold < 0:
		for i, it := range m.d.Config.Items {
			if it.Motion == e.Motion && it.Dose.Hold > 0 {
				return spot{i, notKept, true}
			}
		}
		return spot{}
	case n > 0 && m.d.State == Holding:
		return m.holds[n-1]
	}
	return m.held
}

// goesOn reports whether at is the hold that goes on.
func (m *Machine) goesOn(at spot) bool {
	n := len(m.holds)
	return m.d.State == Holding && n > 0 && at == m.holds[n-1]
}

// over ends every stretch of a motion that was found past its limit, or likely
// past it, also one that goes on. The hold that was measured does not count.
func (m *Machine) over(at spot, motion rom.Motion, n Notice) {
	for i := range m.d.Items {
		if x := &m.d.Items[i]; x.Motion == motion && x.Skipped == "" && x.Tries < m.d.Config.Items[i].Dose.Reps {
			x.Skipped = rom.SkipOver
		}
	}
	if at.hold != notKept {
		m.d.Items[at.item].Holds[at.hold].Counted = false
	}
	if m.d.State == Holding && m.item().Motion == motion {
		h := m.stay()
		h.Counted = false
		d := m.done()
		d.Holds = append(d.Holds, h)
		m.recorded(len(d.Holds) - 1)
	}
	m.out.Tone, m.out.Vibrate = ToneAlert, []int{500, 200, 500}
	m.say(string(n), 0)
	if m.d.Items[m.d.Item].Skipped != "" {
		m.nextItem(n)
		return
	}
	m.notice = n
}

// change applies what a new revision, or a limit that was passed, narrows.
// Nothing widens.
func (m *Machine) change(c Change) bool {
	if c.Halted {
		m.partial()
		m.d.Stop = rom.StopOther
		m.out.Call, m.out.Tone, m.out.Vibrate = CallNow, ToneAlert, []int{500, 200, 500}
		m.end(Stopped, rom.StoppedByMe, NoticeCallNow)
		return true
	}
	if c.Stopped {
		m.partial()
		m.end(Stopped, rom.ByClinic, NoticeByClinic)
		m.out.Tone, m.out.Vibrate = ToneAlert, []int{500, 200, 500}
		return true
	}
	narrowed, here, closed, over := false, false, false, NoNotice
	if c.PainCap >= 0 && c.PainCap < m.d.Config.PainCap {
		m.d.Config.PainCap = c.PainCap
		narrowed = true
	}
	for i := range m.d.Items {
		it, x := &m.d.Config.Items[i], &m.d.Items[i]
		if x.Skipped != "" || x.Tries >= it.Dose.Reps {
			continue
		}
		row := rowFor(c.Limits, it.Motion).For(it.Class)
		switch {
		case it.Motion != "" && (slices.Contains(c.Over, it.Motion) || slices.Contains(c.Likely, it.Motion)):
			n := NoticeLikely
			if slices.Contains(c.Over, it.Motion) {
				n, m.d.Ring = NoticeOver, true
			}
			if i == m.d.Item {
				m.partial()
				over = n
			}
			x.Skipped = rom.SkipOver
			narrowed = true
		case slices.Contains(c.Closed, it.Exercise), it.Motion != "" && (row.Class < it.Class || row.Validate() != nil):
			if i == m.d.Item {
				m.partial()
				closed = true
			}
			x.Skipped = rom.SkipNarrowed
			narrowed = true
		case it.Motion != "" && row.NarrowerThan(it.Limit):
			it.Limit = it.Limit.Stricter(row)
			here = here || i == m.d.Item
			narrowed = true
		}
	}
	switch {
	case over != NoNotice && m.d.State != Asking:
		m.out.Tone, m.out.Vibrate = ToneAlert, []int{500, 200, 500}
		m.say(string(over), 0)
		m.nextItem(over)
	case closed && m.d.State != Asking:
		m.say(string(NoticeClosed), 0)
		m.nextItem(NoticeClosed)
	case here && m.running():
		m.say(string(NoticeNarrowed), 0)
		m.breakOff(NoticeNarrowed)
	case narrowed:
		m.notice = NoticeNarrowed
	}
	return narrowed
}

// rowFor returns the row of a motion; the zero, locked row if there is none.
func rowFor(rows []rom.Limit, m rom.Motion) rom.Limit {
	for _, l := range rows {
		if l.Motion == m {
			return l
		}
	}
	return rom.Limit{Motion: m}
}
