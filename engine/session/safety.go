package session

import (
	"slices"

	"unsling/engine/gonio"
	"unsling/engine/rom"
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
	at := spot{item: m.d.Item, ok: m.d.State == Holding}
	if !at.ok {
		at = m.held
	}
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
		m.out.Tier = gonio.JudgeLevel(e.Level, it.Limit, m.d.Overs[it.Motion])
	default:
		if e.Angle < rom.Deg(-60) || e.Angle > it.Motion.AnatomicalMax() || e.SE < 0 || e.SE > rom.Deg(90) {
			return false
		}
		m.out.Tier = gonio.Judge(e.Angle, e.SE, it.Limit, m.d.Overs[it.Motion])
		if m.d.State == Holding {
			m.angle = &e.Angle
		} else {
			m.d.Items[at.item].Holds[at.hold].Angle = &e.Angle
		}
	}
	switch m.out.Tier {
	case gonio.Close:
		m.d.Overs[it.Motion]++
		m.notice = NoticeClose
		m.say(string(NoticeClose), 0)
	case gonio.Over:
		m.d.Overs[it.Motion]++
		m.over(at, it.Motion)
	}
	return true
}

// over ends every stretch of a motion that was found past its limit. The hold
// that was measured does not count.
func (m *Machine) over(at spot, motion rom.Motion) {
	for i := range m.d.Items {
		if x := &m.d.Items[i]; x.Motion == motion && x.Skipped == "" && x.Tries < m.d.Config.Items[i].Dose.Reps {
			x.Skipped = rom.SkipOver
		}
	}
	if m.d.State == Holding {
		h := m.stay()
		h.Counted = false
		m.done().Holds = append(m.done().Holds, h)
	} else {
		m.d.Items[at.item].Holds[at.hold].Counted = false
	}
	m.out.Call, m.out.Tone, m.out.Vibrate = CallToday, ToneAlert, []int{500, 200, 500}
	m.say(string(NoticeOver), 0)
	m.d.Ring = true
	if m.d.Items[m.d.Item].Skipped != "" {
		m.nextItem(NoticeOver)
		return
	}
	m.notice = NoticeOver
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
	narrowed, here, closed, over := false, false, false, false
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
		case it.Motion != "" && slices.Contains(c.Over, it.Motion):
			if i == m.d.Item {
				m.partial()
				over = true
			}
			x.Skipped = rom.SkipOver
			narrowed, m.d.Ring = true, true
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
	case over && m.d.State != Asking:
		m.out.Tone, m.out.Vibrate = ToneAlert, []int{500, 200, 500}
		m.say(string(NoticeOver), 0)
		m.nextItem(NoticeOver)
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
