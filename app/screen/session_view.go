package screen

import (
	"unsling/app/words"
	"unsling/engine/rom"
	"unsling/engine/schedule"
	"unsling/engine/session"
)

// sessionView is one moment of the session, ready to be drawn.
type sessionView struct {
	Kind   sessionKind
	Lead   string // "Exercise 1 of 3"
	Title  string
	Danger string
	Dose   string
	Limit  string
	Steps  []string
	Feel   string
	Avoid  []string

	Figures []string // one picture, or start and end
	Replay  bool     // the movement can be shown again

	State    string // "Hold"
	Big      string // the number to read from two metres
	Unit     string
	Count    string // "Hold 2 of 5"
	Done     int    // thousandths of the running time that have passed
	Notice   string
	Caption  string // what is spoken
	Alert    bool
	Trouble  string
	Question string // of the pain scale or a sheet
	CapRule  string
	Rules    []string // what a score leads to

	Buttons []sessionButton // without Stop
	CanStop bool
	Measure bool
	ByTap   bool
	Options bool   // the choices of the first step
	Med     Answer // medicine before
	Helper  bool

	Texts   []string // of the end
	Did     []string // what was done, exercise by exercise
	Status  string
	Calls   bool
	Retry   bool
	MainEnd string
}

// sessionKind is a layout of the session.
type sessionKind string

const (
	kindNone  sessionKind = "none"
	kindPain  sessionKind = "pain"  // the pain scale
	kindReady sessionKind = "ready" // how to do it
	kindRun   sessionKind = "run"   // the timer
	kindSheet sessionKind = "sheet" // a question with reasons
	kindEnd   sessionKind = "end"
)

type sessionButton struct {
	Kind session.EventKind
	Text string
	Main bool
}

func (a *App) viewSession() sessionView {
	s := &a.session
	if s.m == nil {
		return sessionView{Kind: kindNone, Title: a.t(words.NothingToDo)}
	}
	v := a.sessionFrame()
	st := s.view.State
	switch {
	case final(st):
		a.viewEnd(&v)
		if s.practice {
			a.viewPracticeEnd(&v)
		}
	case s.sheet == stopSheet:
		v.Kind, v.Question = kindSheet, a.t(words.StopTitle)
	case s.sheet == skipSheet:
		v.Kind, v.Question = kindSheet, a.t(words.SkipTitle)
	case s.sheet == painSheet:
		v.Kind, v.Question = kindPain, a.t(words.PainNow)
		v.Rules = a.painRules(s.view.PainCap)
	case st == session.Asking:
		v.Kind, v.Question, v.CanStop = kindPain, a.t(words.PainAfterAsk), false
	case st == session.Ready && has(s.view.Buttons, session.PainBefore),
		has(s.view.Buttons, session.PainNow) && len(s.view.Buttons) > 0 && s.view.Buttons[0] == session.PainNow:
		v.Kind, v.Question = kindPain, a.t(words.PainNow)
		if s.view.State == session.Paused { // it was too much a moment ago
			v.Question = a.t(words.PainRested)
		}
		v.CapRule = a.f(words.PainCapRule, s.view.PainCap)
		if s.practice && st == session.Ready {
			v.CapRule = a.t(words.PracticePain)
		}
		v.Options = s.view.Item == 0 && st == session.Ready && !s.practice
	case st == session.Ready:
		v.Kind = kindReady
	default:
		v.Kind = kindRun
	}
	return v
}

// sessionFrame fills what every moment shares.
func (a *App) sessionFrame() sessionView {
	s := &a.session
	x := s.view
	g := words.Exercise(x.Exercise)
	d := s.m.Draft()
	v := sessionView{
		Lead:  a.f(words.ExerciseOf, x.Item+1, x.Items),
		Title: words.ExerciseName(a.lang(), x.Exercise), Danger: a.t(g.Lead), Feel: a.t(g.Feel),
		State: a.stateWord(x.State), Trouble: s.trouble, CanStop: true, Measure: a.canMeasureHold(),
		ByTap: x.ByTap, Helper: d.Helper, Med: answerOf(d.Medicine),
		Steps: a.texts(g.Steps[:]...), Avoid: a.texts(g.Avoid...),
	}
	if d.Item < len(d.Config.Items) {
		dose := d.Config.Items[d.Item].Dose
		v.Dose = a.f(words.DoseHolds, dose.Reps, dose.Hold)
		if dose.Hold == 0 {
			v.Dose = words.DoseRounds.In(a.lang(), dose.Reps)
		}
	}
	if x.Limit != nil {
		v.Limit = a.f(words.LimitHere, x.Limit.Floor())
		if x.Aim != nil && *x.Aim > 0 {
			v.Limit = a.f(words.AimHere, x.Aim.Floor())
		}
	}
	if x.Level != 0 {
		v.Limit = a.f(words.ToLevel, words.Capital(words.Motion(a.lang(), x.Motion)), words.Level(a.lang(), x.Level))
	}
	count := words.HoldOf
	if x.NoHold {
		count = words.RepOf
	}
	v.Count = a.f(count, x.Rep, x.Reps)
	if x.Total > 0 {
		v.Big, v.Unit = itoa(int((x.Left+999)/1000)), a.t(words.SecondsUnit)
		v.Done = int(x.Elapsed * 1000 / x.Total)
		if x.ByTap && x.State == session.Holding {
			v.Big = itoa(int(x.Elapsed / 1000))
		}
	} else if x.NoHold {
		v.Big = itoa(x.Rep)
	}
	if n := words.Guided(a.lang(), string(x.Notice), 0); n != "" && x.Notice != session.NoticePainFirst {
		v.Notice, v.Alert = n, x.Notice != session.NoticePaused && x.Notice != session.NoticeResumed
	}
	if s.dim && v.Notice == "" {
		v.Notice = a.t(words.ScreenOff)
	}
	if s.running() && s.caption != v.Notice && s.caption != v.State+"." {
		v.Caption = s.caption
	}
	v.Figures, v.Replay = a.sessionFigure()
	v.Buttons = a.sessionButtons()
	return v
}

// sessionButtons words the machine's buttons; Stop has its own place.
func (a *App) sessionButtons() []sessionButton {
	var out []sessionButton
	for _, k := range a.session.view.Buttons {
		var t words.Text
		switch k {
		case session.Start:
			t = words.StartSession
		case session.There:
			t = words.ButtonThere
		case session.Done:
			t = words.ButtonDone
			if a.session.view.NoHold {
				t = words.ButtonRep
			}
		case session.Next:
			t = words.ButtonNext
		case session.Longer:
			t = words.ButtonLonger
		case session.Pause:
			t = words.ButtonPause
		case session.Continue:
			t = words.ButtonGoOn
		case session.Skip:
			t = words.ButtonSkip
		case session.PainNow:
			t = words.ButtonPain
		default:
			continue
		}
		out = append(out, sessionButton{Kind: k, Text: a.t(t), Main: len(out) == 0})
	}
	return out
}

func (a *App) stateWord(s session.State) string {
	switch s {
	case session.GetReady, session.Ready:
		return a.t(words.StateReady)
	case session.Moving:
		return a.t(words.StateMove)
	case session.Holding:
		return a.t(words.StateHold)
	case session.Resting:
		return a.t(words.StateRest)
	case session.Paused:
		return a.t(words.StatePaused)
	}
	return a.t(words.EndTitle)
}

// viewEnd is the last page: done, stopped, or stop and call.
func (a *App) viewEnd(v *sessionView) {
	s := &a.session
	v.Kind, v.CanStop, v.Notice, v.Alert = kindEnd, false, "", false
	v.Status, v.MainEnd = a.t(words.Loading), a.t(words.EndHome)
	switch s.state {
	case kept:
		v.Status = a.t(words.KeptNow)
	case keptNot:
		v.Status, v.Retry, v.MainEnd = s.trouble, true, a.t(words.TryAgain)
	}
	r := s.record
	switch {
	case s.call == session.CallNow:
		v.Title, v.Alert, v.Calls = a.t(words.WrongTitle), true, true
		v.Texts = a.texts(words.WrongDo, words.NobodyWatch)
		return
	case s.call == session.CallToday:
		v.Title, v.Alert, v.Calls = a.t(words.CallTodayDo), true, true
		v.Texts = a.texts(words.FeelGood, words.NobodyWatch)
		return
	case r != nil && r.Ended == rom.ByClinic:
		v.Title, v.Alert, v.Calls = words.Guided(a.lang(), string(session.NoticeByClinic), 0), true, true
		return
	case r != nil && r.Stop == rom.StopPain:
		v.Title = a.t(words.StopRestTitle)
		v.Texts = a.texts(words.StopRestDo, words.EndPainTip)
		v.Calls = true
		return
	}
	v.Title = a.t(words.EndTitle)
	if r != nil && r.Ended == rom.StoppedByMe {
		v.Title = a.t(words.EndStopped)
	}
	v.Did = a.didWhat()
	if s.view.Counted > 0 && s.view.Counted >= s.view.Asked { // of less, what was done is said, not what is missing
		v.Texts = []string{a.f(words.EndCount, s.view.Counted, s.view.Asked)}
	}
	switch {
	case s.view.Notice == session.NoticePainAfter:
		v.Texts = []string{words.Guided(a.lang(), string(session.NoticePainAfter), 0), a.t(words.EndPainTip)}
	case s.view.Counted < s.view.Asked:
		v.Texts = append(v.Texts, a.t(words.EndPart))
	case a.day.Phase.Stretching:
		v.Texts = append(v.Texts, a.t(words.EndFor))
	default:
		v.Texts = append(v.Texts, a.t(words.EndForHand))
	}
	if next := a.nextSession(); s.state == kept && next != "" {
		v.Texts = append(v.Texts, next)
	}
}

// nextSession says when the next one of today is, or that today is done; "" where its hour has come or the schedule asks nothing.
func (a *App) nextSession() string {
	due, ok := a.day.NextDue()
	from := max(due.From, due.NotBefore)
	switch rest := a.day.PainRest; {
	case rest != nil:
		return a.restUntil(rest)
	case ok && due.Status == schedule.Partly && due.Open:
		return a.f(words.RestCanBe, clockOf(due.To))
	case ok && from > a.day.Minute:
		return a.t(words.NextSession) + ": " + a.f(words.FromHour, clockOf(from))
	case !ok && a.day.DoneForToday:
		return a.t(words.DoneToday)
	}
	return ""
}

func answerOf(b *bool) Answer {
	switch {
	case b == nil:
		return NotKnown
	case *b:
		return Yes
	}
	return No
}

// didWhat lists the exercises of the finished session with what counts.
func (a *App) didWhat() []string {
	r := a.session.record
	if r == nil || r.Counted() == 0 {
		return nil
	}
	var out []string
	for _, x := range r.Items {
		n := 0
		for _, h := range x.Holds {
			if h.Counted {
				n++
			}
		}
		if n > 0 { // what was left out is no list of faults
			out = append(out, a.f(words.DidLine, words.ExerciseName(a.lang(), x.Exercise), n, x.Dose.Reps))
		}
	}
	return out
}
