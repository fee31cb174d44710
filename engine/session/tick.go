package session

// tick lets the running time do what is due.
func (m *Machine) tick() {
	if !m.running() {
		return
	}
	if m.d.State == Holding && m.d.ByTap {
		if most := 2*m.length + 30_000; m.elapsed() >= most {
			m.breakOff(NoticeStillThere)
			m.keep()
		}
		return
	}
	if m.length == 0 && m.d.State == Moving && m.item().Dose.Hold == 0 {
		return
	}
	if m.elapsed() < m.length {
		m.count()
		return
	}
	switch m.d.State {
	case GetReady, Resting:
		m.move()
	case Moving:
		m.hold()
	case Holding:
		m.endHold(m.stay())
	}
}

// count says what the clock has come to since it last spoke.
func (m *Machine) count() {
	left := int((m.length - m.elapsed() + 999) / 1000)
	if left == m.spoken {
		return
	}
	first := m.spoken == 0
	m.spoken = left
	seconds := int(m.length / 1000)
	switch {
	case first:
	case m.d.State == Holding && seconds >= 20 && left == seconds/2:
		m.say(SayHalf, 0)
	case m.d.State == Holding && seconds >= 10 && left == 5:
		m.say(SayLeft, left)
	case left <= 3 && m.d.State == Holding:
		m.out.Tone = ToneTick
	case left <= 3:
		m.say(SayCount, left)
		m.out.Tone = ToneTick
	}
}
