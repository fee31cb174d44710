package screen

import (
	"time"

	"unsling/app/words"
	"unsling/engine/dose"
	"unsling/engine/rom"
	"unsling/engine/schedule"
)

// PlaceWeekly is the page of the week.
const PlaceWeekly Place = "/week"

const week = 7

// weeklyState is what is being told on the page of the week.
type weeklyState struct {
	step    string // "", "ask" or "night"
	text    string
	problem string
	night   int // pain at night, -1 while not chosen
	sleep   rom.Sleep
	med     *bool
}

// weeklyView is what went well, what changes, the next visit, the questions.
type weeklyView struct {
	Well    []string
	Changes []string
	Visit   string
	Take    []noteView
	Night   bool   // the questions about the nights are open
	Told    string // when they were answered
	Problem string
}

func (a *App) viewWeekly() weeklyView {
	v := weeklyView{Well: a.wentWell(), Changes: a.whatChanges(), Visit: a.visitNext(), Problem: a.weekly.problem}
	after := a.lastVisit()
	for i := len(a.facts.History.Questions) - 1; i >= 0; i-- {
		q := a.facts.History.Questions[i]
		if q.Body.For == rom.ForVisit && q.Day() >= after {
			v.Take = append(v.Take, noteView{
				ID: refID(q.Ref), Text: q.Body.Text, Own: true, State: a.progressOf(q.Ref),
				Head: words.Capital(words.Moment(a.lang(), q.At.In(a.now.Location()), a.now)),
			})
		}
	}
	if at, told := a.nightTold(); told {
		v.Told = a.f(words.WeekNightYes, words.Day(a.lang(), rom.DateOf(at.In(a.now.Location())), a.day.Date))
	} else {
		v.Night = a.day.State == schedule.Running
	}
	return v
}

// nightTold is when the questions about the nights were answered, if within a
// week.
func (a *App) nightTold() (time.Time, bool) {
	for i := len(a.facts.History.Pains) - 1; i >= 0; i-- {
		p := a.facts.History.Pains[i]
		if p.Body.When == rom.PainAtNight && p.Body.Episode == a.episode {
			return p.At, a.now.Sub(p.At) < week*24*time.Hour
		}
	}
	return time.Time{}, false
}

// wentWell says what was done and what moves further, never what was not.
func (a *App) wentWell() (out []string) {
	from := a.day.Date.Add(1 - week)
	done, seconds := 0, 0
	if a.day.Dated && a.day.Number >= 0 {
		for _, d := range dose.Days(a.facts.History, a.episode, max(from, a.day.Episode.Surgery), a.day.Date, dose.Told{Through: a.day.Date}) {
			done += d.Done
			for _, t := range d.EndRange {
				seconds += t.Seconds
			}
		}
	}
	if done > 0 {
		out = append(out, words.WeekDone.In(a.lang(), done))
	}
	if minutes := seconds / 60; minutes > 0 {
		out = append(out, words.WeekHeld.In(a.lang(), minutes))
	}
	measured := 0
	for _, m := range rom.Motions {
		n, gain := a.gained(m, from)
		measured += n
		if gain > 0 {
			out = append(out, a.f(words.WeekMore, words.Capital(words.Motion(a.lang(), m)), gain))
		}
	}
	if measured > 0 {
		out = append(out, words.WeekMeasured.In(a.lang(), measured))
	}
	if len(out) == 0 {
		out = []string{a.t(words.WeekRest), a.t(words.WeekQuiet)}
	}
	return out
}

// gained counts own readings of the week, and says by how many degrees the
// last one is beyond the last of before. It is 0 unless that is more than the
// error of measuring (gonio.MDC95), and for whatever is past a limit: nobody
// is praised for that.
func (a *App) gained(m rom.Motion, from rom.Date) (n, gain int) {
	before, last, n := a.ownReadings(m, from)
	if before == nil || last == nil || !a.comparable(last) {
		return n, 0
	}
	if gain = (last.Body.Angle - before.Body.Angle).Whole(); gain <= leastChange(m) {
		return n, 0
	}
	return n, gain
}

// whatChanges tells of a new plan and of the phase that comes.
func (a *App) whatChanges() (out []string) {
	var newest rom.Date
	for _, e := range a.facts.History.Adoptions {
		if e.Body.Episode == a.episode && e.Body.Rev > 1 && e.Day() > a.day.Date.Add(-week) {
			newest = max(newest, e.Day())
		}
	}
	if !newest.IsZero() {
		out = append(out, a.f(words.WeekPlanNew, words.Day(a.lang(), newest, a.day.Date)))
	}
	if n := a.day.Next; n != nil && a.day.State == schedule.Running {
		say := words.Phase(a.lang(), n.Phase.HighestClass())
		switch n.Waits {
		case schedule.ForDate:
			if n.Earliest.Sub(a.day.Date) <= 4*week {
				out = append(out, a.f(words.WeekNextDate, words.Date(a.lang(), n.Earliest), say))
			}
		default:
			out = append(out, a.f(words.WeekNextWord, say))
		}
	}
	if len(out) == 0 {
		out = []string{a.t(words.WeekSame)}
	}
	return out
}

// visitNext says when the next visit is.
func (a *App) visitNext() string {
	if d := a.nextVisit(); !d.IsZero() {
		return a.f(words.WeekVisitOn, words.Day(a.lang(), d, a.day.Date))
	}
	return a.t(words.WeekVisitNo)
}

// lastVisit is the last day on which the patient was seen, 0 for never.
func (a *App) lastVisit() (last rom.Date) {
	for _, v := range a.facts.History.Visits {
		if v.Body.Episode == a.episode && v.Body.On <= a.day.Date {
			last = max(last, v.Body.On)
		}
	}
	return last
}

func (a *App) askForVisit() { a.weekly = weeklyState{step: "ask", night: -1} }
func (a *App) askNights()   { a.weekly = weeklyState{step: "night", night: -1} }

func (a *App) weeklyBack() {
	if a.weekly.step != "" {
		a.weekly = weeklyState{night: -1}
		return
	}
	a.goTo(PlaceNow)
}

// keepForVisit keeps a question for the next visit.
func (a *App) keepForVisit() {
	s := &a.weekly
	text, problem := a.noteText(s.text)
	if problem != "" {
		s.problem = problem
		return
	}
	a.write("question", rom.Question{Episode: a.episode, Text: text, For: rom.ForVisit}, a.weeklyKept)
}

// keepNights keeps what was told about the nights.
func (a *App) keepNights() {
	s := &a.weekly
	if s.night < 0 || s.sleep == "" {
		return
	}
	a.write("pain", rom.Pain{Episode: a.episode, Score: s.night, When: rom.PainAtNight, Sleep: s.sleep, Medicine: s.med}, a.weeklyKept)
}

func (a *App) weeklyKept(_ rom.Ref, err error) {
	if err != nil {
		a.weekly.problem = a.storageSays(err)
		return
	}
	a.weekly = weeklyState{night: -1}
	a.say(a.t(words.KeptNow), false)
}

func (a *App) setNight(n int) {
	a.weekly.night = n
	a.aloud = a.f(words.WeekNightPut, n)
}
func (a *App) setSleep(s rom.Sleep) { a.weekly.sleep = s }
func (a *App) setMedicine(yes bool) { a.weekly.med = &yes }
