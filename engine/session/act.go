package session

import "unsling/engine/rom"

// apply takes e at m.now and reports whether it fits the state.
func (m *Machine) apply(e Event) bool {
	switch e.Kind {
	case Tick:
		m.tick()
		return true
	case Stop:
		return m.stop(e.Stop)
	case Changed:
		return e.To != nil && m.change(*e.To)
	case Measured:
		return m.measured(e)
	case PainBefore, PainNow:
		return m.pain(e)
	case PainAfter, NoAnswer:
		return m.finish(e)
	case Medicine:
		m.d.Medicine = &e.Flag
		return true
	case Helper:
		m.d.Helper = e.Flag
		return true
	case ByTap:
		return m.byTap(e.Flag)
	case Hidden:
		if !m.running() {
			return false
		}
		m.breakOff(NoticeSuspended)
		return true
	case Skip:
		return m.skip(e.Why)
	}
	return m.tap(e.Kind)
}

// tap takes the plain buttons.
func (m *Machine) tap(k EventKind) bool {
	noHold := m.item().Dose.Hold == 0
	switch s := m.d.State; {
	case k == Start && s == Ready && m.d.Before != nil && !m.d.PainHigh,
		k == Continue && s == Paused && !m.d.PainHigh:
		m.getReady()
	case k == There && (s == GetReady || s == Moving) && !noHold:
		m.hold()
	case k == Done && s == Moving && noHold && m.elapsed() >= leastRep:
		m.endHold(rom.Hold{Counted: true, Tapped: true})
	case k == Done && s == Holding && m.elapsed() >= leastHold:
		m.endHold(m.stay())
	case k == Longer && s == Resting:
		m.length = min(m.length+Millis(m.d.Config.Timing.Longer)*1000, mostRest)
		m.spoken = 0
	case k == Next && s == Resting:
		m.move()
	case k == Pause && m.running():
		m.breakOff(NoticePaused)
	default:
		return false
	}
	return true
}

// enter begins a state with a running time of the given seconds.
func (m *Machine) enter(s State, seconds int) {
	m.d.State, m.notice, m.begun, m.spoken = s, NoNotice, m.now, 0
	m.length = Millis(seconds) * 1000
}

func (m *Machine) say(key string, n int) { m.out.Say = append(m.out.Say, Say{key, n}) }

func (m *Machine) getReady() {
	m.d.Started = true
	m.enter(GetReady, m.d.Config.Timing.GetReady)
	m.say(SayGetReady, 0)
}

func (m *Machine) move() {
	seconds := m.d.Config.Timing.Move
	if m.item().Dose.Hold == 0 {
		seconds = 0 // the patient's own pace, one tap for each
	}
	m.enter(Moving, seconds)
	m.say(SayMove, 0)
}

func (m *Machine) hold() {
	h := m.item().Dose.Hold
	m.angle = nil
	m.holds = append(m.holds, spot{m.d.Item, notKept, true})
	m.enter(Holding, h)
	m.say(SayHold, h)
	m.out.Tone, m.out.Vibrate = ToneBegin, []int{200}
}

// stay returns the present hold as far as it went.
func (m *Machine) stay() rom.Hold {
	h := m.item().Dose.Hold
	t := int(m.elapsed() / 100)
	if !m.d.ByTap {
		t = min(t, h*10) // the arm comes back on the tone, not on our tick
	}
	t = max(0, min(t, mostTenths))
	return rom.Hold{Tenths: t, Counted: t >= CountsFrom(h), Angle: m.angle, Tapped: m.d.ByTap}
}

const mostTenths = 36000

// endHold records a repetition that is over and goes on.
func (m *Machine) endHold(h rom.Hold) {
	d := m.done()
	d.Holds = append(d.Holds, h)
	d.Tries++
	m.recorded(len(d.Holds) - 1)
	m.angle = nil
	m.out.Tone, m.out.Vibrate = ToneEnd, []int{200, 100, 200}
	switch rest := m.item().Dose.Rest; {
	case d.Tries >= m.item().Dose.Reps:
		m.nextItem(NoNotice)
	case rest > 0:
		m.enter(Resting, rest)
		m.say(SayBack, 0)
		m.say(SayRest, rest)
	default:
		m.say(SayBack, 0)
		m.move()
	}
	m.keep()
}

// recorded notes where the hold that has just ended stands in the draft.
func (m *Machine) recorded(hold int) {
	m.held = spot{m.d.Item, hold, true}
	if n := len(m.holds); n > 0 && m.d.State == Holding {
		m.holds[n-1] = m.held
	}
}

// breakOff pauses at the repetition at hand. What was held so far is recorded
// and does not count; the same repetition comes again.
func (m *Machine) breakOff(why Notice) {
	m.partial()
	m.enter(Paused, 0)
	m.notice = why
	if why == NoticePaused || why == NoticeSuspended || why == NoticeStillThere {
		m.say(string(why), 0)
	}
}

// partial records a hold that was broken, if it is worth it and the record
// has room beside what is still to come.
func (m *Machine) partial() {
	if m.d.State != Holding || m.elapsed() < leastHold {
		return
	}
	h := m.stay()
	h.Counted = false
	d := m.done()
	if len(d.Holds)+m.item().Dose.Reps-d.Tries >= 100 || m.d.room()+holdRoom > recordRoom {
		return
	}
	d.Holds = append(d.Holds, h)
	m.recorded(len(d.Holds) - 1)
	m.angle = nil
}

// nextItem goes to the next exercise that is still to be done, or asks for
// pain when there is none.
func (m *Machine) nextItem(n Notice) {
	for i := range m.d.Items {
		if it := m.d.Items[i]; it.Skipped == "" && it.Tries < m.d.Config.Items[i].Dose.Reps {
			m.d.Item = i
			m.enter(Ready, 0)
			if n == NoNotice {
				m.say(SayNext, 0)
			}
			m.notice = n
			return
		}
	}
	m.enter(Asking, 0)
	m.notice = n
	m.say(SayAskPain, 0)
}

func (m *Machine) skip(why rom.SkipReason) bool {
	switch why {
	case rom.SkipPain, rom.SkipTired, rom.SkipNoTime, rom.SkipNoHelper, rom.SkipAfraid, rom.SkipNoPlace:
	default:
		return false
	}
	if m.d.State == Asking {
		return false
	}
	m.partial()
	m.done().Skipped = why
	m.nextItem(NoNotice)
	return true
}

func (m *Machine) byTap(on bool) bool {
	if m.d.ByTap == on {
		return false
	}
	m.d.ByTap = on
	m.tick() // a hold that is already long enough ends now
	return true
}

// stop ends the session at once; it works in every state.
func (m *Machine) stop(why rom.StopReason) bool {
	m.partial()
	n := NoticeDone
	switch why {
	case rom.StopWrong:
		n = NoticeCallNow
		m.out.Call, m.out.Tone, m.out.Vibrate = CallNow, ToneAlert, []int{500, 200, 500}
	case rom.StopPain:
		n = NoticePainStop
	case rom.StopTired, rom.StopNoTime, rom.StopOther:
	default:
		why = rom.StopOther
	}
	m.d.Stop = why
	m.end(Stopped, rom.StoppedByMe, n)
	return true
}

// finish takes the answer to the last question.
func (m *Machine) finish(e Event) bool {
	if m.d.State != Asking {
		return false
	}
	n := NoticeDone
	if e.Kind == PainAfter {
		if e.Score < 0 || e.Score > 10 {
			return false
		}
		m.d.After = &e.Score
		m.worst(e.Score)
		if e.Score > m.d.Config.PainCap {
			n = NoticePainAfter
		}
	}
	m.end(Finished, rom.Finished, n)
	return true
}

// end makes the record.
func (m *Machine) end(s State, how rom.Ending, n Notice) {
	m.enter(s, 0)
	if m.d.Ring && m.out.Call == NoCall {
		n, m.out.Call = NoticeOver, CallToday
	}
	m.notice = n
	m.d.Ended = how
	body := m.d.body()
	m.out.Record = &body
	m.say(string(n), 0)
}
