package screen

import (
	"errors"

	"unsling/app/words"
	"unsling/engine/rom"
)

type settingsState struct {
	exported string
}

// settingsView is every choice and how things stand on this phone.
type settingsView struct {
	Unsent, Contact, Status, Storage, Version, Plan string
	Failed                                          string
	Busy                                            bool
	Installed, CanAsk                               bool
	Exported                                        string
	Updating                                        bool
	Unreviewed                                      string
	People                                          words.Text
}

func (a *App) viewSettings() settingsView {
	s := a.facts.Sending
	v := settingsView{
		People: words.WhoShare,
		Unsent: a.unsentLine(), Contact: a.contactLine(), Status: a.statusLine(), Busy: s.Busy,
		Storage:   a.keepAnswer(a.about.Persisted),
		Version:   a.f(words.SetVersion, a.about.Version, words.Version),
		Installed: a.about.Installed, CanAsk: a.about.Installable, Exported: a.set.exported, Updating: a.about.Updating,
	}
	if rev := a.day.Plan.Rev; rev > 0 {
		v.Plan = a.f(words.SetPlanRev, rev)
	}
	if a.shared() {
		v.People = words.WhoChange
	}
	switch s.Failed {
	case FailedOffline:
		v.Failed = a.t(words.NoConnection)
	case FailedServer:
		v.Failed = a.t(words.ServerSilent)
	case FailedRefused:
		v.Failed = a.t(words.ServerNo)
	}
	if !words.Reviewed(a.lang()) {
		v.Unreviewed = a.t(words.Unreviewed)
	}
	return v
}

func (a *App) setHand(s rom.Side)  { a.prefs.FreeHand = s; a.savePrefs() }
func (a *App) setSound(on bool)    { a.prefs.Mute = !on; a.savePrefs() }
func (a *App) setVoice(on bool)    { a.prefs.NoVoice = !on; a.savePrefs() }
func (a *App) setPictures(on bool) { a.prefs.Still = !on; a.savePrefs() }
func (a *App) setSize(n int)       { a.prefs.Size = max(0, min(n, 2)); a.savePrefs() }

// sendNow tries to reach the clinic at once.
func (a *App) sendNow() {
	a.run(func() { _ = a.d.Sender.Exchange() }, func() {
		a.look()
		a.aloud = a.statusLine()
	})
}

// export hands the records over as lines of JSON, one record each, as they are
// stored.
func (a *App) export() {
	a.handOver(func(lines []byte) (name, mime string, data []byte) {
		return "my-record-" + rom.DateOf(a.now).String() + ".ndjson", "application/x-ndjson", lines
	})
}

// update lets a new version in; never while a session runs.
func (a *App) update() {
	if a.session.waits() {
		a.say(a.t(words.UpdateLater), false)
		return
	}
	err := errBroken
	a.run(func() { err = a.d.Platform.Update() }, func() {
		switch {
		case errors.Is(err, ErrBusy):
			a.say(a.t(words.UpdateLater), false)
		case err != nil:
			a.say(a.t(words.UpdateBad), false)
		}
	})
}
