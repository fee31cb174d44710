package screen

import (
	"slices"

	"unsling/app/words"
	"unsling/engine/gonio"
	"unsling/engine/protocol"
	"unsling/engine/rom"
	"unsling/engine/schedule"
	"unsling/engine/verdict"
)

// measureStep is a page of measuring.
type measureStep string

const (
	stepChoose measureStep = ""
	stepHow    measureStep = "how"
	stepSetUp  measureStep = "set-up"
	stepPhoto  measureStep = "photo" // the marks
	stepTilt   measureStep = "tilt"
	stepLevel  measureStep = "level"
	stepResult measureStep = "result"
)

// measureState is one measurement from choosing to keeping.
type measureState struct {
	step    measureStep
	motion  rom.Motion
	side    rom.Side
	inHold  bool // of a session that runs
	hold    int  // in which it was taken, as session.Event has it
	session rom.SessionID
	wanted  int // trials
	ways    []gonio.Way
	way     gonio.Way

	photo photoState
	tilt  tiltState
	level levelState
	place rom.Level // chosen on the picture of the back, 0 for none

	trials   []rom.Trial
	doubted  bool // the person was asked about an odd angle and may confirm it
	extra    bool // one more trial was offered since they differ
	warnings []gonio.Warning
	trouble  string

	reading *rom.Reading
	limit   rom.Limit // that it was judged by
	limited bool      // there is one
	tier    verdict.Tier
	ask     bool  // the trials differ a lot
	shown   int64 // Clock.Mono at which the result came
	state   keeping
	ref     rom.Ref
	first   *rom.Reading // the set before, of the same hold
	pending bool         // a second set of this hold is asked for
	refs    []rom.Ref    // of the sets that were kept
}

// measureRow is one motion of the list.
type measureRow struct {
	Motion rom.Motion
	Side   rom.Side
	Name   string
	Sub    string
	Why    string // why it cannot be measured now; "" if it can
}

type measureList struct {
	Asked, Others, Locked []measureRow
	AskedHead, OthersHead string
	Danger                string
}

// viewMeasureList says what can be measured, and why the rest cannot.
func (a *App) viewMeasureList() measureList {
	v := measureList{Danger: a.dangerFirst(), AskedHead: a.t(words.MeasureAsked), OthersHead: a.t(words.MeasureOthers)}
	switch a.day.State {
	case schedule.BeforeOp:
		v.AskedHead, v.OthersHead = a.t(words.BaselineLeft), a.t(words.BaselineDone)
		for _, row := range a.baselineRows() {
			if row.done {
				v.Others = append(v.Others, row.measureRow)
			} else {
				v.Asked = append(v.Asked, row.measureRow)
			}
		}
		return v
	case schedule.Running:
	default:
		for _, x := range a.day.Motions {
			v.Locked = append(v.Locked, a.lockedRow(x))
		}
		return v
	}
	for _, x := range a.day.Motions {
		row := a.measureRow(x.Motion, a.day.Episode.Side)
		m, asked := a.measureRule(x.Motion)
		switch {
		case x.Locked:
			row = a.lockedRow(x)
		case !gonio.GuideFor(x.Motion).AtHome():
			row.Why = a.t(words.MeasureNoHome)
		case !asked:
			row.Why = a.t(words.MeasureUnasked)
		case !m.May:
			row.Why = a.t(words.MeasureEnough)
		case m.DuringHold:
			row.Why = a.t(words.MeasureInHow)
		}
		switch {
		case row.Why != "":
			v.Locked = append(v.Locked, row)
		case m.Due:
			v.Asked = append(v.Asked, row)
		default:
			v.Others = append(v.Others, row)
		}
		if asked && gonio.GuideFor(x.Motion).AtHome() {
			other := a.measureRow(x.Motion, a.day.Episode.Side.Other())
			other.Name += ", " + a.f(words.WhichArm, words.Side(a.lang(), other.Side))
			v.Others = append(v.Others, other)
		}
	}
	return v
}

func (a *App) measureRow(m rom.Motion, side rom.Side) measureRow {
	return measureRow{Motion: m, Side: side, Name: words.Capital(words.Motion(a.lang(), m)), Sub: a.lastLine(m, side)}
}

func (a *App) lockedRow(x schedule.Allowance) measureRow {
	row := a.measureRow(x.Motion, a.day.Episode.Side)
	row.Sub, row.Why = "", words.LockReason(a.lang(), string(x.Why))
	return row
}

func (a *App) measureRule(m rom.Motion) (schedule.Measure, bool) {
	for _, x := range a.day.Measures {
		if x.Motion == m {
			return x, true
		}
	}
	return schedule.Measure{}, false
}

// lastReading is the newest own reading of a motion of one arm. After the
// operation the arm begins anew: what it reached before is no last time.
func (a *App) lastReading(m rom.Motion, side rom.Side) (rom.Entry[rom.Reading], bool) {
	return a.lastBy(m, side, "")
}

// lastBy is lastReading of those taken by one method, of any for "". What a
// picture shows and what the phone's tilt shows differ by more than an arm does
// from day to day: they are not compared (engine/trend keeps them apart too).
func (a *App) lastBy(m rom.Motion, side rom.Side, method rom.Method) (rom.Entry[rom.Reading], bool) {
	list := a.facts.History.Readings
	for i := len(list) - 1; i >= 0; i-- {
		b := list[i].Body
		if b.Episode == a.episode && b.Motion == m && b.Side == side && b.Self() && (method == "" || b.Method == method) && list[i].Ref != a.measure.ref && !slices.Contains(a.measure.refs, list[i].Ref) && !a.before(list[i]) {
			return list[i], true
		}
	}
	return rom.Entry[rom.Reading]{}, false
}

// before reports whether a reading of the operated arm was taken before the
// operation that has taken place.
func (a *App) before(r rom.Entry[rom.Reading]) bool {
	e := a.day.Episode
	return r.Body.Side == e.Side && e.State.Operated() && (r.Body.Baseline || takenOn(r) < e.Surgery)
}

func (a *App) lastLine(m rom.Motion, side rom.Side) string {
	r, ok := a.lastReading(m, side)
	if !ok {
		return a.t(words.NeverYet)
	}
	day := words.Day(a.lang(), takenOn(r), a.day.Date)
	if m.ByLevel() {
		return a.f(words.LevelLast, words.Level(a.lang(), r.Body.Level), day)
	}
	return a.f(words.LastTime, r.Body.Angle.Whole(), day)
}

// chooseRow begins a measurement from the list.
func (a *App) chooseRow(m rom.Motion, side rom.Side) {
	a.look()
	if !a.mayMeasure(m, side, false) {
		a.say(a.whyNot(m), true)
		return
	}
	a.measure = measureState{side: side}
	a.chooseMotion(m)
}

// mayMeasure reports whether a motion of one arm may be measured now.
func (a *App) mayMeasure(m rom.Motion, side rom.Side, inHold bool) bool {
	switch {
	case a.day.State == schedule.BeforeOp:
		return a.day.Baseline
	case a.day.State != schedule.Running:
		return false
	case side != a.day.Episode.Side:
		return true
	}
	rule, ok := a.measureRule(m)
	return ok && rule.May && !a.day.Motion(m).Locked && (inHold || !rule.DuringHold)
}

// whyNot says why a motion is not measured now.
func (a *App) whyNot(m rom.Motion) string {
	if x := a.day.Motion(m); a.day.State != schedule.Running || x.Locked {
		if why := words.LockReason(a.lang(), string(x.Why)); why != "" {
			return why
		}
	}
	return a.t(words.MeasureUnasked)
}

// measureObeys ends a measurement of what is closed meanwhile: nobody is led
// on to an end range. A reading that was taken stays.
func (a *App) measureObeys() {
	s := &a.measure
	if s.step == stepChoose || s.reading != nil {
		return
	}
	over := s.inHold && (a.session.m == nil || final(a.session.view.State))
	may := a.mayMeasure(s.motion, s.side, s.inHold)
	if s.first != nil { // the second set of a hold is no other measurement
		may = a.day.State == schedule.Running && !a.day.Motion(s.motion).Locked
	}
	if !over && may {
		return
	}
	why, inHold := a.whyNot(s.motion), s.inHold
	a.closeMeasure()
	if inHold {
		if a.place == PlaceMeasure {
			a.goTo(PlaceSession)
		}
		return
	}
	a.say(why, true)
	a.voice(why)
}

// baselineTrials are taken of each motion before the operation, where nothing is
// at risk; common practice, no source.
const baselineTrials = 3

// chooseMotion goes to the ways of measuring a motion, or straight on when
// there is one.
func (a *App) chooseMotion(m rom.Motion) {
	s := &a.measure
	s.motion, s.wanted = m, 1
	if rule, ok := a.measureRule(m); ok && !s.inHold && !rule.DuringHold {
		s.wanted = max(1, rule.Trials)
	}
	if a.day.State == schedule.BeforeOp {
		s.wanted = baselineTrials
	}
	s.ways = a.waysOf(m)
	if m.ByLevel() {
		s.wanted = 1
	}
	s.step = stepHow
	if len(s.ways) == 1 {
		a.chooseWay(0)
	}
}

// waysOf offers one way for each method: the first that needs no helper. In a
// hold only ways in the position of the exercise fit.
func (a *App) waysOf(m rom.Motion) []gonio.Way {
	var out []gonio.Way
	all := gonio.GuideFor(m).Ways
	if m.ByLevel() {
		return levelWays(all)
	}
	if a.measure.inHold {
		if x, ok := protocol.Lookup(a.session.view.Exercise); ok {
			var fit []gonio.Way
			for _, w := range all {
				if w.Position == x.Position {
					fit = append(fit, w)
				}
			}
			if len(fit) > 0 {
				all = fit
			}
		}
	}
	for _, method := range []rom.Method{rom.Photo, rom.Tilt} {
		best := -1
		for i, w := range all {
			if w.Method == method && (best < 0 || !all[best].Alone() && w.Alone()) {
				best = i
			}
		}
		if best >= 0 {
			out = append(out, all[best])
		}
	}
	return out
}

// restMeasure frees sensors while another screen is shown.
func (a *App) restMeasure() {
	a.stopTilt()
	if a.measure.step == stepTilt {
		a.measure.step = stepSetUp // whoever comes back starts the sensor again
	}
	a.stopLevel()
	a.closeCamera()
}

// closeMeasure ends a measurement and frees camera, sensor and picture. Trials
// that made no reading yet make one; a reading that found no room is tried
// again later.
func (a *App) closeMeasure() {
	a.sayUnsaid()
	a.keepTrials()
	if s := &a.measure; s.state == keptNot && s.reading != nil {
		a.unkept = append(a.unkept, unwritten{"reading", *s.reading})
	}
	a.restMeasure()
	a.dropPicture()
	a.measure = measureState{}
}

// measureBack goes one page back, or away from the first page.
func (a *App) measureBack() {
	s := &a.measure
	if s.first != nil && s.reading == nil && !s.photo.live {
		a.noSecond()
		return
	}
	switch s.step {
	case stepChoose:
		a.goTo(PlaceNow)
	case stepResult:
		if s.pending && s.tier != verdict.Near {
			a.decide()
			return
		}
		a.measureLeave()
	case stepPhoto:
		a.dropPicture()
		s.step = stepSetUp
	case stepTilt:
		a.stopTilt()
		s.step = stepSetUp
	case stepLevel:
		s.step = stepHow
	case stepSetUp:
		if s.photo.live {
			a.closeCamera()
			return
		}
		a.restMeasure()
		if s.step = stepHow; len(s.ways) == 1 {
			a.measureLeave()
		}
	default:
		a.measureLeave()
	}
}

// measureLeave goes back to where the measurement came from.
func (a *App) measureLeave() {
	inHold := a.measure.inHold
	a.closeMeasure()
	if inHold {
		a.goTo(PlaceSession)
	}
}
