package screen

import (
	"fmt"
	"slices"
	"time"

	"unsling/app/words"
	"unsling/engine/rom"
	"unsling/engine/schedule"
	"unsling/engine/verdict"
)

// nowView is the first screen: what the arm may do today and what comes next.
type nowView struct {
	Lead   string // "Tuesday 3 March"
	Title  string // what holds now, in one sentence
	Text   []string
	Calls  bool // the clinic's number stands on this screen
	Urgent bool

	Since  string   // "2 weeks after surgery"
	Chips  []string // therapy or home day
	Danger []task   // what can harm today, before anything is begun
	Card   *sessionCard
	Tasks  []task

	May, MustNot []string
	Sling        string
	Note         *noteView
	Watch        []signRow // warning signs to look out for these days
	Ways         []task    // ways to the other pages

	Update bool // a new version waits and nothing is going on

	Main string // the one big button; "" for none
	Tip  string // said above it
}

// sessionCard is the next session.
type sessionCard struct {
	Kicker string // "Next session"
	When   string // "3 exercises, about 12 minutes"
	About  string // before its hour, whether it may be begun already
	Names  []string
	First  rom.ExerciseID
}

// task is a row that leads somewhere.
type task struct {
	ID, Text, Sub string
	Go            func() // nil: to measuring
}

type mayI struct{ What, Answer, Class string }

// viewNow builds the first screen.
func (a *App) viewNow() nowView {
	d := a.day
	v := nowView{Lead: words.Capital(words.Date(a.lang(), rom.DateOf(a.now)))}
	switch d.State {
	case schedule.Running:
		a.running(&v)
	case schedule.BeforeOp:
		v.Title = a.f(words.BeforeTitle, words.Day(a.lang(), d.Episode.Surgery, d.Date))
		v.Text = a.texts(words.BeforeLead, words.BeforeSling)
		if !d.Baseline { // the clinic has stopped or paused the plan
			v.Text, v.Calls = a.texts(words.PausedDo), true
			a.clinicSays(&v)
		}
		v.Tasks = a.plannedTasks()
	case schedule.NotConfirmed:
		v.Title = a.t(words.SurgeryDay)
		if d.Number > 0 {
			v.Title = words.DaysAfter.In(a.lang(), d.Number)
		}
		v.Text = a.texts(words.Unconfirmed, words.HandsOk)
	case schedule.Postponed:
		v.Title = a.t(words.PostponedDo)
		v.Text = a.texts(words.BeforeLead)
		if a.prepared() {
			v.Text = append(v.Text, a.t(words.KeepsAll))
		}
	case schedule.NoPlan:
		v.Title, v.Calls = a.t(words.NoPlanYet), true
		if a.facts.Account.State == Revoked {
			v.Title = a.t(words.Revoked)
		}
	case schedule.Paused:
		v.Title, v.Text, v.Calls, v.Sling = a.t(words.PausedTitle), a.texts(words.PausedDo), true, words.Sling(a.lang(), d.Sling)
		a.clinicSays(&v)
	case schedule.Stopped:
		v.Title, v.Text, v.Calls, v.Urgent = a.t(words.StoppedTitle), a.texts(words.StoppedDo), true, true
		v.Sling = words.Sling(a.lang(), d.Sling)
		a.clinicSays(&v)
	case schedule.Halted:
		v.Title, v.Text, v.Calls, v.Urgent = a.t(words.HaltedTitle), a.texts(words.HaltedDo, words.HaltedCalled), true, true
		switch h := d.Halt; {
		case h != nil && h.Record.IsZero():
			v.Text = append(v.Text, a.t(words.NotKept))
		case h != nil:
			v.Text = append(v.Text, a.progressOf(h.Record))
		}
	case schedule.Ended:
		v.Title, v.Text, v.Calls = a.t(words.EndedTitle), a.texts(words.EndedDo), true
		if t := d.Episode.Transfer; t != nil {
			v.Title, v.Text = a.t(words.MovedTitle), []string{a.f(words.MovedDo, t.Clinic, t.Phone), a.t(words.MovedNobody)}
		}
	default:
		v.Title, v.Calls = a.t(words.CannotTell), true
		if a.facts.NeedsUpdate {
			v.Title, v.Text = a.t(words.UpdateMust), a.texts(words.UpdateWhy)
		}
	}
	if d.State != schedule.NotConfirmed && d.State != schedule.Ended {
		v.Since = a.since()
	}
	if d.Stale {
		v.Text = append([]string{a.f(words.StalePlan, d.ContactDays)}, v.Text...)
		v.Calls = true
	}
	if d.ClockBehind || a.clockAhead() {
		v.Text = append(v.Text, a.t(words.ClockWrong))
	}
	v.Note = a.newestNote()
	v.Ways = a.ways(v.Urgent)
	if d.Dated && d.Number <= 14 && !v.Urgent {
		v.Watch = a.watchFor(3)
	}
	v.Update = a.about.Updating && !a.session.waits()
	return v
}

// running fills the screen of a day on which the programme runs.
func (a *App) running(v *nowView) {
	d := a.day
	v.Title = words.Phase(a.lang(), d.Phase.HighestClass())
	switch {
	case d.Attended:
		v.Chips = append(v.Chips, a.t(words.TherapyDay))
		v.Text = append(v.Text, a.t(words.Attended))
	case d.TherapyDay:
		v.Chips = append(v.Chips, a.t(words.TherapyDay))
	case d.Rest:
		v.Chips = append(v.Chips, a.t(words.RestDay))
	default:
		v.Chips = append(v.Chips, a.t(words.HomeDay))
	}
	if a.numb() {
		v.Danger = append(v.Danger, task{ID: "numb", Text: a.t(words.NumbTitle), Sub: a.t(words.NumbStop), Go: a.openNumb})
	}
	v.Card = a.card(v)
	if v.May, v.MustNot = a.mayLists(); d.PainRest != nil {
		v.May = nil // what it may do when it need not rest stands on the page of all limits
	}
	v.Sling = words.Sling(a.lang(), d.Sling)
	for _, m := range d.Measures {
		if !m.Due {
			continue
		}
		text := words.MeasureDue
		if m.DuringHold {
			text = words.MeasureInUse
		}
		v.Tasks = append(v.Tasks, task{ID: "measure-" + string(m.Motion), Text: a.f(text, words.Motion(a.lang(), m.Motion))})
	}
	if a.earlyDays() {
		v.Tasks = append(v.Tasks, task{ID: "to-days", Text: a.t(words.DaysTitle), Sub: a.t(words.DaysSub), Go: func() { a.goTo(PlaceDays) }})
	}
	if a.asksMorning() {
		v.Tasks = append([]task{{ID: "morning", Text: a.t(words.MorningRow), Sub: a.t(words.MorningSub), Go: a.openMorning}}, v.Tasks...)
	}
}

// card fills the next session and the big button.
func (a *App) card(v *nowView) *sessionCard {
	d := a.day
	c := &sessionCard{Kicker: a.t(words.NextSession)}
	if d.PainRest != nil {
		a.restCard(v, c)
		return c
	}
	if a.session.waits() {
		c.When = a.t(words.HalfDone)
		c.First = a.session.exercise()
		v.Main = a.t(words.GoOn)
		return c
	}
	due, ok := d.NextDue()
	if ok {
		if due.Prescriptions = a.still(due.Prescriptions); len(due.Prescriptions) == 0 {
			c.Kicker, c.When = a.t(words.Today), a.t(words.TierLikely)
			if slices.ContainsFunc(rom.Motions, func(m rom.Motion) bool { return a.tierToday(m) == verdict.Passed }) {
				c.When = a.t(words.TierOver)
			}
			return c
		}
	}
	if !ok {
		c.Kicker = a.t(words.Today)
		c.When = a.t(words.NothingToday)
		if d.DoneForToday {
			c.When = a.t(words.DoneToday)
		}
		return c
	}
	for _, p := range due.Prescriptions {
		c.Names = append(c.Names, words.ExerciseName(a.lang(), p.Exercise))
	}
	if len(due.Prescriptions) > 0 {
		c.First = due.Prescriptions[0].Exercise
	}
	c.Kicker = a.f(words.SessionOf, due.Slot, len(d.Due))
	c.When = words.HowMany.In(a.lang(), len(due.Prescriptions)) + ", " + words.AboutMinutes.In(a.lang(), minutesOf(due.Prescriptions))
	v.Main = a.t(words.StartNow)
	if due.Status == schedule.Partly { // taken up for its rest, while its hour lasts
		c.When, v.Main = a.f(words.TheRest, c.When), a.t(words.GoOn)
		return c
	}
	for _, x := range d.Due {
		if x.Status == schedule.Missed {
			v.Tip = a.t(words.DontCatchUp)
		}
	}
	if from := max(due.From, due.NotBefore); from > d.Minute {
		c.Kicker += " · " + a.f(words.FromHour, clockOf(from))
		if c.About = a.f(words.EarlierToo, clockOf(from)); !due.Open {
			c.About, v.Main = a.f(words.NotBefore, clockOf(due.NotBefore)), ""
		}
	}
	return c
}

// mayLists says what the arm may do and must not, the danger not forgotten:
// at most four lines each, the rest on the screen of all limits.
func (a *App) mayLists() (may, mustNot []string) {
	for _, x := range a.day.Motions {
		if x.Locked {
			continue
		}
		may = append(may, a.limitLine(x))
	}
	if s := words.MustNotBy(a.lang(), a.day.Phase.HighestClass()); s != "" {
		mustNot = append(mustNot, s)
	}
	for _, f := range a.day.Forbidden {
		if s := words.Forbidden(a.lang(), f); s != "" && f != "active-lifting" {
			mustNot = append(mustNot, s)
		}
	}
	const most = 4
	return firstOf(may, most), firstOf(mustNot, most)
}

// limitLine says one permitted motion with its limit.
func (a *App) limitLine(x schedule.Allowance) string {
	name := words.Capital(words.Motion(a.lang(), x.Motion))
	switch {
	case x.Locked:
		return a.f(words.NotYet, name)
	case x.Limit.Open:
		return a.f(words.NoLimit, name)
	case x.Motion.ByLevel():
		return a.f(words.ToLevel, name, words.Level(a.lang(), x.Limit.Highest))
	}
	return a.f(words.ToLimit, name, x.Limit.Ceiling.Floor())
}

func (a *App) mayI(m rom.MayI) []mayI {
	what := words.Activity(a.lang(), m.Activity)
	if what == "" {
		return nil
	}
	switch m.Answer {
	case "yes":
		return []mayI{{what, a.t(words.YesWord), "yes"}}
	case "no":
		return []mayI{{what, a.t(words.NoWord), "no"}}
	}
	return []mayI{{what, a.t(words.MayIAsk), "ask"}}
}

// since is how long ago or ahead the operation is; "" where it has no date.
func (a *App) since() string {
	d := a.day
	switch {
	case !d.Dated:
		return ""
	case d.Number == 0:
		return a.t(words.SurgeryDay)
	case d.Number < 0:
		return words.DaysBefore.In(a.lang(), -d.Number)
	case d.Number < 14:
		return words.DaysAfter.In(a.lang(), d.Number)
	}
	return words.WeeksAfter.In(a.lang(), d.Week)
}

// clinicSays tells who paused or stopped the plan, when, and why.
func (a *App) clinicSays(v *nowView) {
	if p := a.day.Plan; p.Signed.Name != "" {
		v.Text = append(v.Text, a.f(words.ChangedBy, words.Person(a.lang(), p.Signed.Name, p.Signed.Role), words.Day(a.lang(), p.On, a.day.Date)))
	}
	if a.day.Why != "" {
		v.Text = append(v.Text, a.f(words.ClinicSays, a.day.Why))
	}
}

func (a *App) texts(list ...words.Text) []string {
	var out []string
	for _, t := range list {
		out = append(out, a.t(t))
	}
	return out
}

// startMain is the tap on the big button.
func (a *App) startMain() {
	a.look()
	if a.day.PainRest != nil {
		a.goTo(PlaceNow)
		return
	}
	if a.session.waits() {
		a.goTo(PlaceSession)
		return
	}
	due, ok := a.day.NextDue()
	if !ok || a.day.State != schedule.Running {
		a.say(a.t(words.NothingToDo), false)
		return
	}
	if !due.Open {
		a.say(a.f(words.NotBefore, clockOf(due.NotBefore)), false)
		return
	}
	a.newSession(due)
}

// minutesOf is about how long prescriptions take: hold, rest and the way
// there and back.
func minutesOf(list []rom.Prescription) int {
	s := 0
	for _, p := range list {
		s += 20 + p.Dose.Reps*(p.Dose.Hold+p.Dose.Rest+8)
	}
	return max(1, (s+30)/60)
}

// clockOf writes minutes after midnight as a clock shows them.
func clockOf(minute int) string {
	d := time.Duration(minute) * time.Minute
	return fmt.Sprintf("%d:%02d", int(d.Hours())%24, minute%60)
}

func firstOf(list []string, most int) []string {
	if len(list) > most {
		return list[:most]
	}
	return list
}
