package screen

import (
	"errors"
	"reflect"
	"slices"
	"time"

	"unsling/app/words"
	"unsling/engine/rom"
	"unsling/engine/schedule"
)

// App is everything behind the screens, without the UI library. Its methods
// run one at a time, on the UI's thread; what blocks goes through run.
type App struct {
	d Deps
	// run does work away from the UI, then calls then on the UI's thread, also
	// when the work broke off: what it has not said stays errBroken.
	run func(work, then func())
	// travel changes the address, and with it the place.
	travel func(path string)

	prefs   Prefs
	facts   Facts
	about   About
	started bool   // prefs and drafts were read
	draft   []byte // read at start-up, judged once the records are loaded

	now     time.Time
	episode rom.EpisodeID
	day     schedule.Day
	// on asks the engine about a day.
	on func(rom.History, rom.EpisodeID, rom.Date, int, schedule.With) schedule.Day

	place  Place
	notice string                // one sentence on top of the screen, until the next act
	urgent bool                  // the notice is an alert
	aloud  string                // text for the live region
	beat   string                // what the last tick found to draw
	told   *schedule.Halt        // a report that stops all and could not be kept
	pains  []rom.Entry[rom.Pain] // scores that are not kept yet
	keeps  map[string]*onItsWay  // small values on their way to the disk
	unkept []unwritten           // records that could not be kept, while others came after
	atWork []unwritten           // records that are being kept
	turn   int                   // counts what ended a use of camera and sensor
	hidden bool                  // the app is not on the screen
	noted  map[rom.Ref]bool      // notes of the clinic said to be seen in this run

	enrol   enrolState
	first   firstState
	session sessionState
	measure measureState
	morning morningState
	learn   learnState
	topic   string // of the first days, "" for the list
	help    helpState
	set     settingsState
	lock    lockState
	gone    leaveState
	who     whoState

	reminders remindersState
	reminded  string // the last time that was told in the open app
	weekly    weeklyState
}

// errBroken is the outcome of work that has not said another one.
var errBroken = errors.New("the work broke off")

// Place is a screen.
type Place string

// The places, by their addresses.
const (
	PlaceNow      Place = "/"
	PlaceEnrol    Place = "/enrol"
	PlaceFirst    Place = "/first"
	PlaceSession  Place = "/session"
	PlaceMeasure  Place = "/measure"
	PlaceSoFar    Place = "/so-far"
	PlaceLimits   Place = "/limits"
	PlaceHelp     Place = "/help"
	PlaceDays     Place = "/first-days"
	PlaceHelper   Place = "/helper"
	PlaceMayI     Place = "/may-i"
	PlaceMorning  Place = "/morning"
	PlaceLearn    Place = "/learn"
	PlaceSettings Place = "/settings"
	PlaceLock     Place = "/lock"
	PlacePhones   Place = "/phones"
	PlaceLeave    Place = "/leave"
)

var places = []Place{
	PlaceNow, PlaceEnrol, PlaceFirst, PlaceSession, PlaceMeasure, PlaceSoFar, PlaceLimits, PlaceHelp, PlaceSettings,
	PlaceLock, PlacePhones, PlaceLeave,
	PlaceDays, PlaceHelper, PlaceMayI, PlaceMorning, PlaceLearn,
	PlaceReminders, PlaceWeekly, PlaceWho,
}

// New returns the app of one window. Until Attach was called, work runs at
// once and addresses do not change, which is how tests drive it.
func New(d Deps) *App {
	a := &App{d: d, place: PlaceNow, on: schedule.On, noted: map[rom.Ref]bool{}}
	a.run = func(work, then func()) { work(); then() }
	a.travel = func(path string) { a.Arrive(path, "") }
	a.about = d.Platform.About()
	a.prefs = defaultPrefs(a.about)
	a.look()
	return a
}

// Attach tells how to work away from the UI and how to change the address.
func (a *App) Attach(run func(work, then func()), travel func(path string)) {
	a.run, a.travel = run, travel
}

// Start reads what is kept on this phone.
func (a *App) Start() {
	var prefs, draft, lock []byte
	a.run(func() {
		lock, _ = a.d.Journal.Kept(lockName)
		prefs, _ = a.d.Journal.Kept(prefsName)
		draft, _ = a.d.Journal.Kept(draftName)
	}, func() {
		a.prefs = readPrefs(prefs, a.about)
		a.lockAtStart(lock)
		a.started = true
		a.draft = draft
		a.look()
		a.ready()
		a.tellShell()
	})
}

// ready takes up what an earlier run left, once there are records to compare
// it with.
func (a *App) ready() {
	if !a.started || !a.facts.Loaded {
		return
	}
	if draft := a.draft; draft != nil {
		a.draft = nil
		a.recoverDraft(draft)
	}
	a.noteLetters()
	a.enter()
}

// Arrive is called when the address is path with the given fragment.
func (a *App) Arrive(path, fragment string) {
	was := a.place
	a.place = PlaceNow
	for _, p := range places {
		if string(p) == path {
			a.place = p
		}
	}
	if a.place == PlaceEnrol {
		a.enrol.arrive(fragment)
	}
	if was != a.place {
		a.notice, a.urgent, a.aloud = "", false, ""
		a.leave(was) // what it says is for the screen that comes
		a.leavePractice()
	}
	a.look()
	a.enter()
}

// leave ends what must not go on when the patient left a screen.
func (a *App) leave(was Place) {
	switch was {
	case PlaceWho:
		a.first.again, a.who.problem = false, ""
	case PlaceSession:
		a.pauseSession()
	case PlaceMeasure:
		if a.place != PlaceSession {
			a.pauseSession()
		}
		if s := &a.measure; a.place != PlaceHelp || s.inHold && s.reading == nil && s.photo.picture.URL == "" {
			a.closeMeasure() // the hold is over: nobody measures it any more
		} else {
			a.restMeasure()
		}
	}
}

// enter prepares a screen, once it may be seen.
func (a *App) enter() {
	if a.lock.locked && a.place != PlaceHelp {
		return
	}
	switch a.place {
	case PlaceHelp:
		a.help = helpState{}
	case PlaceDays:
		a.topic = ""
	case PlaceLock:
		a.run(func() { a.lock.can = a.d.Guard.CanCheck() }, func() {})
	case PlaceLeave:
		a.gone.sure, a.gone.failed = false, false
	case PlaceSession:
		a.resumeSession()
	case PlaceWeekly:
		a.weekly = weeklyState{night: -1}
	case PlaceReminders:
		a.reminders.said = ""
	}
	a.markSeen()
}

// go to another screen.
func (a *App) goTo(p Place) { a.travel(string(p)) }

// look reads facts, clock and platform again and asks the engine about today.
func (a *App) look() {
	a.now = a.d.Clock.Now()
	a.facts = a.d.Journal.Facts()
	a.about = a.d.Platform.About()
	today := a.today()
	a.episode = a.facts.History.Current(today)
	a.day = schedule.Day{State: schedule.NoPlan}
	if a.episode != "" {
		minute := a.now.Hour()*60 + a.now.Minute()
		a.day = a.on(a.facts.History, a.episode, today, minute, a.with())
	}
	if a.sideDiffers() {
		a.day = unsure(a.day)
	}
	if a.facts.NeedsUpdate {
		a.day = unsure(a.day)
	}
	if a.facts.Account.State == Revoked {
		a.day = shut(a.day)
	}
}

// with is what the engine must know besides the history.
func (a *App) with() schedule.With {
	return schedule.With{LastContact: a.lastContact(), Error: errorOf, Told: a.told, Pains: a.pains, Clock: rom.DateOf(a.now)}
}

// shut is what a day still says once the clinic has ended this phone's access:
// whom to call, and nothing to do.
func shut(d schedule.Day) schedule.Day {
	return schedule.Day{
		State: schedule.NoPlan, Date: d.Date, Minute: d.Minute, Episode: d.Episode,
		Plan: rom.Plan{Contact: d.Plan.Contact}, ContactDays: d.ContactDays,
	}
}

// clockAhead reports whether the clock still runs ahead as it did when the
// clinic's server last answered. Once it shows less than it did then, it was
// set. A clock behind is not corrected: that would open what is closed.
func (a *App) clockAhead() bool {
	s := a.facts.Sending
	return s.Ahead > 0 && !a.now.Before(s.Contact.Add(s.Ahead))
}

// today is the date to ask the engine about: that of the clock, less what it
// is known to be ahead.
func (a *App) today() rom.Date {
	if a.clockAhead() {
		return rom.DateOf(a.now.Add(-a.facts.Sending.Ahead))
	}
	return rom.DateOf(a.now)
}

// unsure is what a day still says while the operated side is not settled.
func unsure(d schedule.Day) schedule.Day {
	s := shut(d)
	s.State = schedule.CannotSay
	return s
}

// Changed is called when the journal has news, and from time to time. What is
// narrower now holds at once, whoever has looked at the facts before.
func (a *App) Changed() {
	before, loaded := a.day, a.facts.Loaded
	a.look()
	if !loaded {
		a.ready()
	}
	a.keepLate()
	a.letGo()
	a.applyPlan()
	a.measureObeys()
	if a.started && before.Plan.Rev > 0 && (before.Plan.Rev != a.day.Plan.Rev || before.State != a.day.State) {
		a.planChanged()
	}
	a.markSeen()
	a.remind()
}

// lastContact is the day on which the clinic last confirmed the plan.
func (a *App) lastContact() rom.Date {
	at := a.facts.Sending.Confirmed
	if at.IsZero() {
		at = a.facts.Sending.Contact
	}
	if at.IsZero() {
		return 0
	}
	return rom.DateOf(at.In(a.now.Location()))
}

// Shown is the place that is drawn: some come before the address.
func (a *App) Shown() Place {
	switch {
	case a.place == PlaceHelp:
		return PlaceHelp
	case a.gone.left:
		return PlaceLeave
	case a.asksWho(), a.place == PlaceWho && !a.first.again:
		return PlaceWho
	case a.asksWhose():
		return PlaceEnrol
	case a.facts.Trouble == TroubleKeyLost:
		return PlaceLeave
	case a.lock.locked && a.place != PlaceLeave:
		return PlaceLock
	case a.facts.Account.State == Unknown, a.facts.Account.State == Pending:
		return PlaceEnrol
	case a.prefs.First < FirstDone, a.sideDiffers(), a.onlyLetters():
		return PlaceFirst
	case a.place == PlaceEnrol && a.facts.Account.Forgotten:
		return PlaceEnrol
	case a.place == PlaceEnrol, a.place == PlaceFirst:
		return PlaceNow
	}
	return a.place
}

// t is a text of the catalogue in the patient's language.
func (a *App) t(t words.Text) string { return t.In(a.prefs.Language) }

// f is a text with its verbs filled.
func (a *App) f(t words.Text, args ...any) string { return t.With(a.prefs.Language, args...) }

func (a *App) lang() words.Lang { return a.prefs.Language }

// say shows one sentence on top of the screen and tells the live region.
func (a *App) say(s string, urgent bool) { a.notice, a.urgent, a.aloud = s, urgent, s }

// savePrefs keeps the choices; a failure is told and they hold until the end.
func (a *App) savePrefs() {
	data := a.prefs.encode()
	err := errBroken
	a.run(func() { err = a.d.Journal.Keep(prefsName, data) }, func() {
		if err != nil {
			a.say(a.storageSays(err), false)
		}
	})
	a.tellShell()
}

// tellShell leaves language and number for the page that stands before the
// program runs.
func (a *App) tellShell() {
	name, number := a.clinic()
	a.d.Platform.Remember(string(a.prefs.Language), name, number)
}

// unwritten is a record that is not in the journal yet.
type unwritten struct {
	kind string // of sync/wire
	body any
}

// write appends one record and then calls then with its name or an error.
// Only after that may anything say "kept". The same record once more, while it
// is being kept, is a second tap: it writes nothing and then is not called.
func (a *App) write(kind string, body any, then func(rom.Ref, error)) {
	same := func(u unwritten) bool { return u.kind == kind && reflect.DeepEqual(u.body, body) }
	if slices.ContainsFunc(a.atWork, same) {
		return
	}
	a.atWork = append(a.atWork, unwritten{kind, body})
	var ref rom.Ref
	err := errBroken
	a.run(func() { ref, err = a.d.Journal.Append(kind, body) }, func() {
		a.atWork = slices.DeleteFunc(a.atWork, same)
		a.look()
		then(ref, err)
	})
}

// storageSays is what to tell when something could not be kept.
func (a *App) storageSays(err error) string {
	if isFull(err) {
		return a.t(words.NotKept) + " " + a.t(words.StorageFull)
	}
	return a.t(words.NotKept)
}
