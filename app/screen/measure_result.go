package screen

import (
	"unsling/app/figure"
	"unsling/app/words"
	"unsling/engine/gonio"
	"unsling/engine/rom"
	"unsling/engine/schedule"
	"unsling/engine/verdict"
)

// addTrial takes one trial. The last one wanted makes the reading, and so
// does an angle past the limit: nobody is asked to go there again.
func (a *App) addTrial(m gonio.Measure, marks []rom.Point) {
	s := &a.measure
	s.trials = append(s.trials, m.Trial(marks))
	s.warnings = m.Warnings
	s.step = stepResult
	s.doubted = false
	limit, limited := a.limitFor(s.motion, s.side)
	past := limited && verdict.Over(rom.Reading{Angle: m.Angle}, limit)
	if past && s.first == nil {
		a.dropMarked() // the other picture of this hold may be wanted
	} else {
		a.dropPicture()
	}
	if len(s.trials) >= s.wanted && !past && a.differ() {
		s.wanted, s.extra = s.wanted+1, true
	}
	if len(s.trials) >= s.wanted || past {
		a.finishReading()
		return
	}
	a.aloud = a.f(words.ResultIs, m.Angle.Whole())
}

// differ reports whether the trials differ so much that one more helps. It is
// offered once, and never where the arm may be measured only once.
func (a *App) differ() bool {
	s := &a.measure
	if len(s.trials) < 2 || s.extra || a.only() {
		return false
	}
	r, err := gonio.Combine(s.motion, s.way.Method, gonio.Self, s.trials, 0)
	return err == nil && len(r.Ask) > 0
}

// limitFor is the limit that judges a reading; none for the other arm or
// before the operation.
func (a *App) limitFor(m rom.Motion, side rom.Side) (rom.Limit, bool) {
	if side != a.day.Episode.Side || a.day.State == schedule.BeforeOp {
		return rom.Limit{}, false
	}
	return a.day.Motion(m).Limit, true
}

// moreTrials goes back for another trial.
func (a *App) moreTrials() {
	a.measure.step, a.measure.trouble = stepSetUp, ""
	a.measure.tilt.trunk = nil
}

// chooseLevel takes how high the thumb reaches.
func (a *App) chooseLevel(l rom.Level) {
	body := a.readingBody()
	body.Method, body.Level = rom.LevelMethod, l
	a.judge(body)
	a.keepReading(body)
}

// finishReading combines the trials into the reading and keeps it.
func (a *App) finishReading() {
	s := &a.measure
	r, body, err := a.combined()
	if err != nil {
		s.trouble, s.step, s.trials = a.t(words.TiltBad), stepSetUp, nil
		return
	}
	s.ask = len(r.Ask) > 0
	a.judge(body)
	a.keepReading(body)
}

// combined is the reading that the trials so far make.
func (a *App) combined() (gonio.Result, rom.Reading, error) {
	s := &a.measure
	r, err := gonio.Combine(s.motion, s.way.Method, gonio.Self, s.trials, 0)
	if err != nil {
		return r, rom.Reading{}, err
	}
	body := a.readingBody()
	body.Angle, body.SE, body.Trials = r.Angle, r.SE, s.trials
	return r, body, nil
}

// keepTrials keeps what was measured by somebody who leaves before the last
// trial: the arm need not go there again for it. None of it was past the limit,
// that would have made the reading at once.
func (a *App) keepTrials() {
	s := &a.measure
	if s.reading != nil || len(s.trials) == 0 {
		return
	}
	_, body, err := a.combined()
	if err != nil {
		return
	}
	today := a.day.Date
	a.write("reading", body, func(_ rom.Ref, err error) {
		if err == nil {
			return
		}
		if body.On.IsZero() {
			body.On = today // it may be kept on another day
		}
		a.unkept = append(a.unkept, unwritten{"reading", body})
		a.say(a.storageSays(err), true)
	})
}

// judge compares a reading with the limit of this moment. The result shows it
// beside that limit, though another comes while it is read.
func (a *App) judge(body rom.Reading) {
	s := &a.measure
	s.limit, s.limited = a.limitFor(s.motion, s.side)
	s.tier, s.pending = verdict.Within, false
	if !s.limited {
		return
	}
	sets := []rom.Reading{body}
	if s.first != nil {
		sets = []rom.Reading{*s.first, body}
	}
	if list := a.sittings(s.motion, sets...); len(list) > 0 {
		s.tier = list[len(list)-1].Tier
	}
	s.pending = s.tier != verdict.Within && s.first == nil && a.maySecond()
}

func (a *App) readingBody() rom.Reading {
	s := &a.measure
	on := rom.Date(0)
	if a.clockAhead() {
		on = a.day.Date
	}
	return rom.Reading{
		On:      on,
		Episode: a.episode, Side: s.side, Motion: s.motion, Class: rom.Passive, Method: s.way.Method,
		Position: s.way.Position, Session: s.session, Baseline: a.day.State == schedule.BeforeOp,
	}
}

func (a *App) keepReading(body rom.Reading) {
	s := &a.measure
	if s.state == beingKept || s.state == kept {
		return
	}
	again := s.reading != nil
	s.reading, s.step, s.state = &body, stepResult, beingKept
	reading, today := s.reading, a.day.Date
	if s.inHold && !again {
		a.feedTier()
	}
	if !again {
		s.shown = a.d.Clock.Mono()
		a.voice(a.resultSpoken())
	}
	a.write("reading", body, func(ref rom.Ref, err error) {
		here := s.reading == reading // else the patient has left, or measures again
		if err == nil && (here || s.first == reading) {
			s.refs = append(s.refs, ref)
		}
		if err != nil && reading.On.IsZero() {
			reading.On = today // it may be kept on another day
		}
		switch {
		case err == nil && here:
			s.state, s.ref, s.trouble = kept, ref, ""
		case here:
			s.state, s.trouble = keptNot, a.storageSays(err)
		case err != nil:
			a.unkept = append(a.unkept, unwritten{"reading", *reading})
			a.say(a.storageSays(err), true)
		}
	})
}

// readTime is how long, in milliseconds, a result past the limit stays whatever
// is tapped: the button that made it and the one that leaves it stand at the
// same place, and a second tap would take the danger away unread.
const readTime = 700

// doneReading leaves the result.
func (a *App) doneReading() {
	s := &a.measure
	if s.tier != verdict.Within && a.d.Clock.Mono()-s.shown < readTime {
		return
	}
	if s.pending && s.tier != verdict.Near {
		a.decide()
		return
	}
	a.measureLeave()
}

// retryReading tries once more to keep it.
func (a *App) retryReading() {
	if r := a.measure.reading; r != nil && a.measure.state == keptNot {
		a.keepReading(*r)
	}
}

// resultView is the result, the danger first.
type resultView struct {
	Title     string
	Trial     string // of a trial that is not the last
	Value     string
	Error     string
	Sentences []string
	Warnings  []string
	Alert     string // past the limit
	AlertSub  string
	Calls     bool
	Status    string
	Retry     bool
	More      bool   // another trial is wanted
	Second    string // what the button for a second set of this hold says; "" for none
	Figure    string
}

func (a *App) viewResult() resultView {
	s := &a.measure
	v := resultView{Title: a.armTitle(), Warnings: a.warningTexts(s.warnings)}
	if s.reading == nil && len(s.trials) > 0 {
		last := s.trials[len(s.trials)-1]
		v.Value, v.More = angle(last.Angle), true
		v.Trial = a.f(words.TrialOf, len(s.trials), s.wanted)
		if s.extra {
			v.Warnings = append([]string{a.t(words.TrialsFar)}, v.Warnings...)
		}
		return v
	}
	if s.reading == nil {
		return v
	}
	r := *s.reading
	switch s.state {
	case kept:
		v.Status = a.t(words.KeptNow)
	case keptNot:
		v.Status, v.Retry = s.trouble, true
	default:
		v.Status = a.t(words.Loading)
	}
	limit, limited := s.limit, s.limited
	if s.tier != verdict.Within {
		v.Alert, v.Calls = a.tierWord(), !s.pending && s.tier == verdict.Passed
	}
	switch {
	case s.pending:
		v.AlertSub, v.Second = a.secondSays()
	case s.tier == verdict.Near || s.tier == verdict.Likely:
		v.AlertSub = a.againWhen()
	case v.Alert != "" && limited && !r.Motion.ByLevel() && !limit.Open:
		v.AlertSub = a.f(words.TierOverSub, limit.Ceiling.Floor())
	}
	if r.Motion.ByLevel() {
		v.Value = words.Capital(words.Level(a.lang(), r.Level))
		v.Error = a.t(words.LevelErr)
		if s.tier == verdict.Within {
			v.Sentences = a.levelSentences(r, limit, limited)
		}
		v.Figure = figure.Spine(r.Side, r.Level, a.levelMarks(r, limit, limited), a.resultWords(v.Title))
		return v
	}
	v.Value = angle(r.Angle)
	v.Error = a.f(words.ResultErr, r.SE.Whole())
	if s.tier == verdict.Within {
		v.Sentences = a.resultSentences(r, limit, limited)
	}
	v.Figure = figure.MeasureIn(r.Motion, r.Position, r.Side, a.resultMarks(r, limit, limited), a.resultWords(v.Title))
	return v
}

// resultSentences say where the result lies between last time and limit. A
// change counts only beyond what measuring itself can differ by.
func (a *App) resultSentences(r rom.Reading, limit rom.Limit, limited bool) []string {
	var out []string
	if a.measure.ask {
		out = append(out, a.t(words.ResultFar))
	}
	last, ok := a.lastBy(r.Motion, r.Side, r.Method)
	_, other := a.lastReading(r.Motion, r.Side)
	switch delta := r.Angle - last.Body.Angle; {
	case !ok && other:
		out = append(out, a.t(words.ResultOtherWay))
	case !ok:
		out = append(out, a.t(words.ResultNew))
	case abs(delta) > oddBy && r.Method == rom.Tilt:
		out = append(out, a.t(words.OddTilt))
	case abs(delta) > oddBy:
		out = append(out, a.t(words.ResultOdd))
	case abs(delta) <= detectable(r):
		out = append(out, a.t(words.ResultSame))
	case delta > 0:
		out = append(out, a.f(words.ResultUp, delta.Whole()))
	default:
		out = append(out, a.f(words.ResultDown, (-delta).Whole()))
	}
	if limited && !limit.Open {
		out = append(out, a.f(words.ResultIn, limit.Ceiling.Floor()))
		if r.Angle+r.SE > limit.Ceiling {
			out = append(out, a.t(words.FeelGood))
		}
	}
	return out
}

// detectable is the smallest change between two own readings that exceeds
// their error with 95 % confidence.
func detectable(r rom.Reading) rom.Degrees {
	s, ok := gonio.SEMFor(r.Method, r.Motion, gonio.Self)
	if !ok {
		return rom.Deg(20)
	}
	return s.MDC95()
}

func (a *App) resultMarks(r rom.Reading, limit rom.Limit, limited bool) figure.Marks {
	m := figure.Marks{Now: figure.At(r.Angle), Error: r.SE}
	if last, ok := a.lastBy(r.Motion, r.Side, r.Method); ok {
		m.Last = figure.At(last.Body.Angle)
	}
	if limited && !limit.Open {
		m.Limit = figure.At(limit.Ceiling)
		if aim, ok := gonio.AimLine(limit, errorOf(r.Motion)); ok && aim > 0 {
			m.Aim = figure.At(aim)
		}
	}
	if other, ok := a.lastBy(r.Motion, r.Side.Other(), r.Method); ok && a.day.Episode.Usable(r.Motion) {
		m.Other = figure.At(other.Body.Angle)
	}
	return m
}
