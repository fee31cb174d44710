package screen

import (
	"encoding/json"
	"errors"
	"strings"
	"time"

	"unsling/app/words"
	"unsling/engine/rom"
	"unsling/engine/schedule"
	"unsling/engine/session"
	"unsling/engine/verdict"
)

const draftName = "session"

// sheet is a question that covers the session.
type sheet string

const (
	noSheet   sheet = ""
	stopSheet sheet = "stop"
	skipSheet sheet = "skip"
	painSheet sheet = "pain"
)

// keeping says how far the finished record has come.
type keeping int

const (
	notKeeping keeping = iota
	beingKept
	kept
	keptNot
)

// sessionState is the session at hand: a machine that runs, or a draft that
// waits from before.
type sessionState struct {
	m       *session.Machine
	view    session.View
	waiting *savedDraft // read at start-up, not resumed yet
	sheet   sheet
	call    session.Urgency
	record  *rom.Session
	ref     rom.Ref
	state   keeping
	dim     bool  // the phone refused to keep the screen lit
	preview int64 // Clock.Mono at which the preview of the figure began, 0 for none
	trouble string
	touched time.Time // wall time of the last act, to tell a session of yesterday
	caption string    // what was spoken last, for who does not hear it

	practice bool // nothing of it is a session
	stopping bool // the score that is asked for ends it

	asked int64 // Clock.Mono at which the last question was shown
}

// savedDraft is a draft with the wall time at which it was kept.
type savedDraft struct {
	At    time.Time       `json:"at"`
	Draft json.RawMessage `json:"draft"`
	draft session.Draft
}

// waits reports whether a session was begun and can go on.
func (s *sessionState) waits() bool {
	return s.waiting != nil || s.m != nil && !final(s.view.State)
}

func final(s session.State) bool { return s == session.Finished || s == session.Stopped }

// exercise is the one at hand.
func (s *sessionState) exercise() rom.ExerciseID {
	if s.m != nil {
		return s.view.Exercise
	}
	if w := s.waiting; w != nil && w.draft.Item < len(w.draft.Config.Items) {
		return w.draft.Config.Items[w.draft.Item].Exercise
	}
	return ""
}

// running reports whether a time runs that needs ticks.
func (s *sessionState) running() bool {
	if s.m == nil {
		return false
	}
	switch s.view.State {
	case session.GetReady, session.Moving, session.Holding, session.Resting:
		return true
	}
	return false
}

// newSession begins the due session.
func (a *App) newSession(due schedule.Due) {
	c := session.Config{
		Episode: a.episode, ID: rom.SessionID(a.d.NewID()), Due: a.day.Date, Slot: due.Slot,
		Phase: a.day.Phase.Key, PainCap: a.day.PainCap, ByTap: a.prefs.ByTap,
	}
	for _, p := range a.still(due.Prescriptions) {
		if it, ok := a.item(p); ok {
			c.Items = append(c.Items, it)
		}
	}
	m, out, err := session.New(c, a.mono())
	if err != nil {
		a.say(a.t(words.CannotStart), true)
		if errors.Is(err, session.ErrNothing) {
			a.say(a.t(words.NothingToDo), false)
		}
		return
	}
	if s := &a.session; s.record != nil && s.state == keptNot && !s.practice {
		a.unkept = append(a.unkept, unwritten{"session", *s.record})
	}
	a.session = sessionState{m: m, view: out.View, preview: a.d.Clock.Mono(), touched: a.d.Clock.Now()}
	a.goTo(PlaceSession)
}

// item is a prescription with what limits it today; not ok when it is locked.
func (a *App) item(p rom.Prescription) (session.Item, bool) {
	x := a.day.Exercise(p.Exercise)
	if x.Locked {
		return session.Item{}, false
	}
	it := session.Item{Prescription: p, Class: x.Exercise.Class}
	if p.Motion == "" {
		return it, true
	}
	row, _, _ := a.day.LimitFor(p)
	if row.Class == rom.Locked {
		return session.Item{}, false
	}
	it.Limit, it.Error = row, errorOf(p.Motion)
	return it, true
}

// resumeSession takes up the draft that waits.
func (a *App) resumeSession() {
	w := a.session.waiting
	if w == nil {
		return
	}
	away := int(a.now.Sub(w.At).Seconds())
	m, out, err := session.Resume(w.draft, a.mono(), away)
	if err != nil {
		a.session = sessionState{}
		a.dropDraft()
		a.say(a.t(words.CannotStart), true)
		return
	}
	a.session = sessionState{m: m, view: out.View, preview: a.d.Clock.Mono(), touched: a.now}
	a.take(out)
	a.applyPlan()
}

// applyPlan lets a running session obey what is narrower now: by a newer plan,
// a clearance that was withdrawn, or a report that stopped everything.
func (a *App) applyPlan() {
	s := &a.session
	if s.practice {
		a.practiceObeys()
		return
	}
	if s.m == nil || final(s.view.State) {
		return
	}
	change := session.Change{
		Stopped: a.day.State != schedule.Running, Halted: a.day.State == schedule.Halted, Limits: a.day.Limits(), Closed: a.day.Closed(), PainCap: a.day.PainCap,
	}
	for _, x := range a.day.Exercises {
		if !x.Prescribed && !x.Locked {
			change.Closed = append(change.Closed, x.Exercise.ID)
		}
	}
	for _, m := range rom.Motions {
		switch a.tierToday(m) {
		case verdict.Passed:
			change.Over = append(change.Over, m)
		case verdict.Likely:
			change.Likely = append(change.Likely, m)
		}
	}
	a.feed(session.Event{Kind: session.Changed, To: &change})
}

// planChanged is called when the phone follows another revision.
func (a *App) planChanged() {
	if a.session.m != nil && !final(a.session.view.State) {
		return // the session says it
	}
	if a.day.State == schedule.Running && (a.place == PlaceNow || a.place == PlaceLimits) {
		a.say(a.t(words.PlanChanged), false)
	}
}

// feed gives the machine one event at this moment.
func (a *App) feed(e session.Event) {
	if a.session.m == nil {
		return
	}
	e.At = a.mono()
	if e.Kind != session.Tick && e.Kind != session.Changed {
		a.session.touched = a.d.Clock.Now()
	}
	a.take(a.session.m.Step(e))
}

// take shows, sounds, speaks and keeps what the machine answered.
func (a *App) take(out session.Output) {
	s := &a.session
	was := s.view
	s.view = out.View
	if out.Call > s.call {
		s.call = out.Call
	}
	if was.State != s.view.State && s.view.State == session.Asking {
		s.asked = a.d.Clock.Mono()
	}
	if was.State != s.view.State || was.Item != s.view.Item {
		s.preview = 0
		if s.view.State == session.Ready {
			s.preview = a.d.Clock.Mono()
		}
		a.aloud = a.stateWord(s.view.State)
	}
	if was.Item != s.view.Item && s.sheet == skipSheet {
		s.sheet = noSheet // the exercise that it asks about is over
	}
	a.cue(out)
	if out.Keep != nil && !s.practice {
		a.keepDraft(*out.Keep)
	}
	if out.Record != nil {
		s.record = out.Record
		a.keepRecord()
	}
}

// cue sounds, speaks and vibrates.
func (a *App) cue(out session.Output) {
	if out.Tone != session.Silent && !a.prefs.Mute {
		a.d.Cues.Tone(string(out.Tone))
	}
	if len(out.Vibrate) > 0 {
		a.d.Cues.Vibrate(out.Vibrate)
	}
	var said []string
	for _, x := range out.Say {
		text := words.Guided(a.lang(), x.Key, x.N)
		if text == "" {
			continue
		}
		if x.Key != session.SayCount && x.Key != session.SayLeft { // the number stands there anyway, and goes on
			said = append(said, text)
		}
		if !a.prefs.NoVoice {
			a.d.Cues.Speak(text, string(a.lang()))
		}
	}
	if len(said) > 0 {
		a.session.caption = strings.Join(said, " ")
	}
}

// pauseSession holds a running session when its screen is left, but for the
// measurement of a hold.
func (a *App) pauseSession() {
	if a.place == PlaceMeasure && a.measure.inHold {
		return
	}
	if a.session.running() {
		a.feed(session.Event{Kind: session.Pause})
	}
	a.d.Cues.Hush()
	a.endAwake()
	if a.session.m != nil && final(a.session.view.State) && a.session.state == kept {
		a.session = sessionState{}
	}
}

// Hidden is called when the app leaves the screen.
func (a *App) Hidden() {
	a.hidden = true
	a.away()
	if a.session.running() {
		a.feed(session.Event{Kind: session.Hidden})
	}
	a.measure.photo.due = 0 // nobody is photographed on coming back
	a.d.Cues.Hush()
}

// Back is called when the app is on the screen again.
func (a *App) Back() {
	a.hidden = false
	a.askAgain()
	a.lockIfLong()
	a.Changed()
}

func (a *App) mono() session.Millis { return session.Millis(a.d.Clock.Mono()) }

// wake keeps the screen lit while a session runs.
func (a *App) wake() {
	err := errBroken
	a.run(func() { err = a.d.Cues.KeepAwake(true) }, func() { a.session.dim = err != nil })
}

func (a *App) endAwake() {
	a.run(func() { _ = a.d.Cues.KeepAwake(false) }, func() {})
}
