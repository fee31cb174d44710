package sim

import "unsling/sync/wire"

// settle stops the faults and lets everything come to rest.
func (w *world) settle() {
	w.quiet = true
	w.server.crash = noCrash
	w.server.flush()
	for _, ph := range w.phones {
		ph.disk.Limit(0)
		for i, win := range ph.windows {
			win.finish()
			ph.windows[i] = win.kill() // the app is started again
		}
	}
	const most = 60
	for round := 1; ; round++ {
		if len(w.late) > 0 { // one forgotten message a round
			w.late[0]()
			w.late = w.late[1:]
		}
		before, calm := w.size(), len(w.late) == 0
		for _, ph := range w.phones {
			win := ph.windows[round%2]
			win.begin(win.sync)
			win.finish()
			if win.last.Code == wire.UnknownDevice {
				win.begin(win.rejoin)
				win.finish()
				calm = false
			}
			if win.adopt {
				win.begin(func() { win.record(0) })
				win.finish()
				calm = false
			}
			calm = calm && w.atRest(ph, win)
		}
		if calm && w.size() == before && round > 2 {
			return
		}
		if round == most {
			for _, ph := range w.phones {
				if win := ph.windows[round%2]; !w.atRest(ph, win) {
					w.fail("I12", "%s has no rest after %d rounds: code %q, %v, state %+v", ph.name, round, win.last.Code, win.lastErr, ph.state())
				}
			}
			w.fail("I12", "no rest after %d rounds", round)
		}
	}
}

// atRest reports whether the window has nothing left to do. A copy of a
// revoked phone cannot become another device and one whose disk lost its end
// cannot get it back; they stay as they are.
func (w *world) atRest(ph *phone, win *window) bool {
	return win.lastErr == nil && (win.last.Done || w.revokedPhone(ph))
}

func (w *world) size() int {
	n := 0
	for _, p := range w.server.now.patients {
		n += len(p.log) + len(p.aside) + len(p.sealed)
	}
	return n
}
