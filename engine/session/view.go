package session

import (
	"unsling/engine/gonio"
	"unsling/engine/rom"
)

func (m *Machine) view() View {
	it, x := m.d.Config.Items[m.d.Item], m.d.Items[m.d.Item]
	v := View{
		State: m.d.State, Notice: m.notice,
		Item: m.d.Item, Items: len(m.d.Items), Exercise: it.Exercise, Motion: it.Motion,
		Rep: min(x.Tries+1, it.Dose.Reps), Reps: it.Dose.Reps,
		ByTap: m.d.ByTap, NoHold: it.Dose.Hold == 0,
		PainCap: m.d.Config.PainCap, Buttons: m.buttons(),
	}
	if m.running() {
		v.Elapsed, v.Total = max(0, m.elapsed()), m.length
		v.Left = max(0, v.Total-v.Elapsed)
	}
	if m.d.State == Holding {
		v.Hold = len(m.holds)
	}
	for i, p := range m.d.Items {
		v.Asked += m.d.Config.Items[i].Dose.Reps
		for _, h := range p.Holds {
			if h.Counted {
				v.Counted++
			}
		}
	}
	if it.Motion != "" && !it.Limit.Open {
		v.Level = it.Limit.Highest
		if aim, ok := gonio.AimLine(it.Limit, it.error()); ok {
			limit := it.Limit.Ceiling
			v.Limit, v.Aim = &limit, &aim
		}
	}
	return v
}

// error returns the standard error behind the aim line.
func (it Item) error() rom.Degrees {
	if it.Error > 0 {
		return it.Error
	}
	s, _ := gonio.SEMFor(rom.Photo, it.Motion, gonio.Self)
	return s.SEM
}

// buttons lists what a tap may do now, the main one first.
func (m *Machine) buttons() []EventKind {
	noHold := m.item().Dose.Hold == 0
	switch m.d.State {
	case Ready:
		switch {
		case m.d.Before == nil:
			return []EventKind{PainBefore, Stop}
		case m.d.PainHigh && !m.d.Started:
			return []EventKind{PainBefore, Stop}
		case m.d.PainHigh:
			return []EventKind{PainNow, Skip, Stop}
		}
		return []EventKind{Start, Skip, PainNow, Stop}
	case GetReady:
		if noHold {
			return []EventKind{Pause, Skip, PainNow, Stop}
		}
		return []EventKind{There, Pause, Skip, PainNow, Stop}
	case Moving:
		if noHold {
			return []EventKind{Done, Pause, Skip, PainNow, Stop}
		}
		return []EventKind{There, Pause, Skip, PainNow, Stop}
	case Holding:
		return []EventKind{Done, Pause, Skip, PainNow, Stop}
	case Resting:
		return []EventKind{Next, Longer, Pause, Skip, PainNow, Stop}
	case Paused:
		if m.d.PainHigh {
			return []EventKind{PainNow, Skip, Stop}
		}
		return []EventKind{Continue, Skip, PainNow, Stop}
	case Asking:
		return []EventKind{PainAfter, NoAnswer, Stop}
	}
	return nil
}
