package screen

import (
	"encoding/json"
	"time"

	"unsling/app/words"
	"unsling/engine/rom"
	"unsling/engine/session"
)

// recoverDraft takes up what an earlier run of the app left. A session whose
// record is in the journal is over; one of another day is closed as it stands.
func (a *App) recoverDraft(data []byte) {
	if len(data) == 0 {
		return
	}
	var w savedDraft
	if json.Unmarshal(data, &w) != nil {
		a.dropDraft()
		return
	}
	d, err := session.DecodeDraft(w.Draft)
	if err != nil || a.recorded(d.Config.ID) {
		a.dropDraft()
		return
	}
	w.draft = d
	if d.Config.Episode != a.episode || a.lapsed(d.Config.Due, w.At) {
		a.abandon(d)
		return
	}
	a.session.waiting = &w
}

// forgotten is after how long without an act a session of another day is closed.
const forgotten = time.Hour

// lapsed reports whether a session that was due on a day and last touched at an
// instant is not gone on with any more. One that runs past midnight is.
func (a *App) lapsed(due rom.Date, touched time.Time) bool {
	idle := a.now.Sub(touched)
	return due != a.day.Date && (idle < 0 || idle >= forgotten)
}

// letGo closes a session of another day that nobody goes on with. One that
// runs past midnight is none.
func (a *App) letGo() {
	s := &a.session
	if !a.started || !a.facts.Loaded || !s.waits() || s.running() || s.practice {
		return
	}
	var d session.Draft
	at := s.touched
	if s.m != nil {
		d = s.m.Draft()
	} else {
		d, at = s.waiting.draft, s.waiting.At
	}
	if !a.lapsed(d.Config.Due, at) {
		return
	}
	a.session = sessionState{}
	a.abandon(d)
	if a.place == PlaceSession {
		a.goTo(PlaceNow)
	}
}

// keepLate keeps records that found no room before.
func (a *App) keepLate() {
	list := a.unkept
	a.unkept = nil
	for _, u := range list {
		a.write(u.kind, u.body, func(_ rom.Ref, err error) {
			if err != nil {
				a.unkept = append(a.unkept, u)
				return
			}
			if r, ok := u.body.(rom.Session); ok && r.Stop == rom.StopWrong {
				a.told = nil
				a.look()
			}
		})
	}
	if s := &a.session; s.m != nil && final(s.view.State) && s.state == keptNot {
		a.keepRecord()
	}
	a.retryReading()
}

func (a *App) recorded(id rom.SessionID) bool {
	for _, s := range a.facts.History.Sessions {
		if s.Body.ID == id {
			return true
		}
	}
	return false
}

// abandon records a session that is not taken up again.
func (a *App) abandon(d session.Draft) {
	body, err := session.Abandon(d)
	if err != nil || body.Counted() == 0 && body.Before == nil {
		a.dropDraft()
		return
	}
	a.write("session", body, func(_ rom.Ref, err error) {
		if err != nil {
			a.unkept = append(a.unkept, unwritten{"session", body})
			return
		}
		a.dropDraft()
	})
}

func (a *App) dropDraft() {
	a.keepInOrder(draftName, nil, func(error) {})
}

func (a *App) keepDraft(d session.Draft) {
	body, err := d.Encode()
	if err != nil {
		return
	}
	data, err := json.Marshal(savedDraft{At: a.d.Clock.Now(), Draft: body})
	if err != nil {
		return
	}
	m := a.session.m
	a.keepInOrder(draftName, data, func(err error) {
		if a.session.m != m || a.session.state != notKeeping {
			return // the record says how far it has come
		}
		a.session.trouble = ""
		if err != nil {
			a.session.trouble = a.storageSays(err)
		}
	})
}

// keepRecord appends the finished session and only then deletes its draft.
func (a *App) keepRecord() {
	s := &a.session
	if s.practice {
		a.keepPractice()
		return
	}
	if s.record == nil || s.state == beingKept || s.state == kept {
		return
	}
	s.state = beingKept
	a.endAwake()
	m, record := s.m, *s.record
	wrong := record.Stop == rom.StopWrong
	if wrong {
		a.halt("") // a disk that hangs must not leave the exercises open
	}
	a.write("session", record, func(ref rom.Ref, err error) {
		here := a.session.m == m // else another session has begun, or the patient has left
		switch {
		case err != nil && here:
			s.state, s.trouble = keptNot, a.storageSays(err)
		case err != nil:
			a.unkept = append(a.unkept, unwritten{"session", record})
		case here:
			s.state, s.ref = kept, ref
			a.aloud = a.t(words.KeptNow)
		}
		if err == nil && wrong {
			a.told = nil // the record says it
			a.look()
		}
		if err == nil && (here || a.session.m == nil) {
			a.dropDraft()
		}
	})
}

// onItsWay is a small value on its way to the disk, and the one that follows it.
type onItsWay struct {
	next *keep // nil for none
}

type keep struct {
	data []byte
	then func(error)
}

// keepInOrder writes a small value after the one of that name that is being
// written. Of several that wait the newest is written, and tells all.
func (a *App) keepInOrder(name string, data []byte, then func(error)) {
	if k := a.keeps[name]; k != nil {
		if was := k.next; was != nil {
			mine := then
			then = func(err error) { was.then(err); mine(err) }
		}
		k.next = &keep{data, then}
		return
	}
	if a.keeps == nil {
		a.keeps = map[string]*onItsWay{}
	}
	a.keeps[name] = &onItsWay{}
	err := errBroken
	a.run(func() { err = a.d.Journal.Keep(name, data) }, func() {
		k := a.keeps[name]
		delete(a.keeps, name)
		if k.next != nil { // before anybody is told, who may have more to keep
			a.keepInOrder(name, k.next.data, k.next.then)
		}
		then(err)
	})
}
