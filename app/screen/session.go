package screen

import (
	"encoding/json"
	"errors"
	"time"

	"unsling/app/words"
	"unsling/engine/gonio"
	"unsling/engine/rom"
	"unsling/engine/schedule"
	"unsling/engine/session"
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
	if d.Config.Due != a.day.Date || d.Config.Episode != a.episode {
		a.abandon(d)
		return
	}
	a.session.waiting = &w
}

// forgotten is after how long without an act a session of another day is closed.
const forgotten = time.Hour

// letGo closes a session of another day that nobody goes on with. One that
// runs past midnight is none.
func (a *App) letGo() {
	s := &a.session
	if !a.started || !a.facts.Loaded || !s.waits() || s.running() {
		return
	}
	var d session.Draft
	at := s.touched
	if s.m != nil {
		d = s.m.Draft()
	} else {
		d, at = s.waiting.draft, s.waiting.At
	}
	idle := a.now.Sub(at)
	if d.Config.Due == a.day.Date || idle >= 0 && idle < forgotten {
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
	for _, r := range list {
		a.write("session", r, func(_ rom.Ref, err error) {
			if err != nil {
				a.unkept = append(a.unkept, r)
			}
		})
	}
	if s := &a.session; s.m != nil && final(s.view.State) && s.state == keptNot {
		a.keepRecord()
	}
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
		if err == nil {
			a.dropDraft()
		}
	})
}

func (a *App) dropDraft() {
	a.run(func() { _ = a.d.Journal.Keep(draftName, nil) }, func() {})
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
	if s := &a.session; s.record != nil && s.state == keptNot {
		a.unkept = append(a.unkept, *s.record)
	}
	a.session = sessionState{m: m, view: out.View, preview: a.d.Clock.Mono(), touched: a.d.Clock.Now()}
	a.goTo(PlaceSession)
}

// still leaves out the stretches that the patient was told today to stop.
func (a *App) still(list []rom.Prescription) []rom.Prescription {
	var out []rom.Prescription
	for _, p := range list {
		if !a.overToday(p.Motion) {
			out = append(out, p)
		}
	}
	return out
}

// overToday reports whether an own reading of today is past the limit of m.
func (a *App) overToday(m rom.Motion) bool {
	limit := a.day.Motion(m)
	if m == "" || limit.Locked {
		return false
	}
	overs := 0
	for _, r := range a.facts.History.Readings {
		if !a.counts(r, m) {
			continue
		}
		tier := judged(r.Body, limit.Limit, overs)
		if tier == gonio.Over && takenOn(r) == a.day.Date {
			return true
		}
		if tier != gonio.Within {
			overs++
		}
	}
	return false
}

// counts reports whether r is an own reading of m of the operated arm in the
// phase in force.
func (a *App) counts(r rom.Entry[rom.Reading], m rom.Motion) bool {
	b := r.Body
	return b.Episode == a.episode && b.Motion == m && b.Side == a.day.Episode.Side && b.Self() && takenOn(r) >= a.day.Since
}

// takenOn is the day of a reading.
func takenOn(r rom.Entry[rom.Reading]) rom.Date {
	if !r.Body.On.IsZero() {
		return r.Body.On
	}
	return r.Day()
}

// judged is the tier of one reading, the worst of its trials.
func judged(b rom.Reading, l rom.Limit, overs int) gonio.Tier {
	if b.Motion.ByLevel() {
		return gonio.JudgeLevel(b.Level, l, overs)
	}
	worst, _ := gonio.JudgeTrials(b.Trials, errorOf(b.Motion), l, overs)
	return gonio.Worst(worst, gonio.Judge(b.Angle, b.SE, l, overs))
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
	it.Limit, it.Error, it.Overs = row, errorOf(p.Motion), a.oversBefore(p.Motion, row)
	return it, true
}

// errorOf is the standard error of own readings of m.
func errorOf(m rom.Motion) rom.Degrees {
	s, ok := gonio.SEMFor(rom.Photo, m, gonio.Self)
	if !ok {
		return rom.Deg(7)
	}
	return s.SEM
}

// oversBefore counts own readings of m in the phase in force that were over
// the limit which this phone followed then, l where that is not known: what
// the clinic narrows later was no limit before.
func (a *App) oversBefore(m rom.Motion, l rom.Limit) int {
	n := 0
	for _, r := range a.facts.History.Readings {
		then := l
		if p, ok := a.facts.History.PlanAt(a.episode, r.Rev); ok {
			if ph, ok := p.Phase(a.day.Phase.Key); ok {
				then = ph.Limit(m).For(r.Body.Class)
			}
		}
		if a.counts(r, m) && judged(r.Body, then, 0) != gonio.Within {
			n++
		}
	}
	return n
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
	if was.State != s.view.State || was.Item != s.view.Item {
		s.preview = 0
		if s.view.State == session.Ready {
			s.preview = a.d.Clock.Mono()
		}
		a.aloud = a.stateWord(s.view.State)
	}
	a.cue(out)
	if out.Keep != nil {
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
	if a.prefs.NoVoice {
		return
	}
	for _, x := range out.Say {
		if text := words.Guided(a.lang(), x.Key, x.N); text != "" {
			a.d.Cues.Speak(text, string(a.lang()))
		}
	}
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
	a.run(func() { err = a.d.Journal.Keep(draftName, data) }, func() {
		a.session.trouble = ""
		if err != nil {
			a.session.trouble = a.storageSays(err)
		}
	})
}

// keepRecord appends the finished session and only then deletes its draft.
func (a *App) keepRecord() {
	s := &a.session
	if s.record == nil || s.state == beingKept || s.state == kept {
		return
	}
	s.state = beingKept
	a.endAwake()
	m, record := s.m, *s.record
	a.write("session", record, func(ref rom.Ref, err error) {
		here := a.session.m == m // else another session has begun, or the patient has left
		wrong := record.Stop == rom.StopWrong
		switch {
		case err != nil && here:
			s.state, s.trouble = keptNot, a.storageSays(err)
		case err != nil:
			a.unkept = append(a.unkept, record)
		case here:
			s.state, s.ref = kept, ref
			a.aloud = a.t(words.KeptNow)
		}
		switch {
		case err != nil && wrong:
			a.halt("")
		case err == nil && wrong:
			a.told = nil
			a.look()
		}
		if err == nil && (here || a.session.m == nil) {
			a.dropDraft()
		}
	})
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
	if a.session.running() {
		a.feed(session.Event{Kind: session.Hidden})
	}
	a.d.Cues.Hush()
}

// Back is called when the app is on the screen again.
func (a *App) Back() {
	a.hidden = false
	a.Changed()
}

func (a *App) mono() session.Millis { return session.Millis(a.d.Clock.Mono()) }

// wake keeps the screen lit while a session runs.
func (a *App) wake() {
	var err error
	a.run(func() { err = a.d.Cues.KeepAwake(true) }, func() { a.session.dim = err != nil })
}

func (a *App) endAwake() {
	a.run(func() { _ = a.d.Cues.KeepAwake(false) }, func() {})
}
