package screen

import (
	"slices"

	"unsling/app/calendar"
	"unsling/app/words"
	"unsling/engine/rom"
	"unsling/engine/schedule"
)

// PlaceReminders is where the times of reminders are chosen.
const PlaceReminders Place = "/reminders"

// reminderPrefs are the times at which the phone's calendar rings, and what
// that calendar was given.
type reminderPrefs struct {
	// Times are minutes after midnight, in order. Chosen says that the
	// patient set them; before, they follow the plan.
	Times  []int `json:"times,omitempty"`
	Chosen bool  `json:"chosen,omitempty"`
	// Open reminds while the app is open.
	Open bool `json:"open,omitempty"`
	// ID begins the ids of all reminders of this phone, for ever. Sequence is
	// that of the last file, Given its times, Most the most it ever had.
	ID       string   `json:"id,omitempty"`
	Sequence int      `json:"seq,omitempty"`
	Given    []int    `json:"given,omitempty"`
	Until    rom.Date `json:"until,omitempty"`
	Most     int      `json:"most,omitempty"`
}

const (
	mostTimes    = 6
	reminderDays = 8 * 7 // then they are made anew
	reminderStep = 15    // minutes
	reminderFile = "reminders.ics"
)

// cleaned drops what no reminder can be.
func (r reminderPrefs) cleaned() reminderPrefs {
	ok := r.Times[:0:0]
	for _, m := range r.Times {
		if m >= 0 && m < 24*60 && len(ok) < mostTimes && !slices.Contains(ok, m) {
			ok = append(ok, m)
		}
	}
	slices.Sort(ok)
	r.Times = ok
	r.Sequence, r.Most = max(r.Sequence, 0), min(max(r.Most, 0), mostTimes)
	return r
}

type remindersState struct {
	said string
}

// remindersView is the page of the reminders.
type remindersView struct {
	Lead  string
	Times []remindTime
	None  string
	More  bool
	Plan  bool   // the plan's times differ from those shown
	Old   string // the calendar has other times
	Ends  string
	Given bool // the calendar has some
	Said  string
	Open  bool
}

type remindTime struct {
	Minute      int
	Hour        string
	Early, Late string // what the buttons do
	Drop        string
}

func (a *App) viewReminders() remindersView {
	r := a.prefs.Reminders
	v := remindersView{Lead: a.t(words.RemindLead), Open: r.Open, Given: len(r.Given) > 0, Said: a.reminders.said}
	times := a.reminderTimes()
	for _, m := range times {
		h := clockOf(m)
		v.Times = append(v.Times, remindTime{m, h, a.f(words.RemindEarly, h), a.f(words.RemindLate, h), a.f(words.RemindDrop, h)})
	}
	if len(times) == 0 {
		v.None = a.t(words.RemindNone)
	}
	v.More = len(times) < mostTimes
	v.Plan = r.Chosen && !slices.Equal(times, a.plannedTimes())
	if v.Given {
		v.Ends = a.f(words.RemindEnds, words.Date(a.lang(), r.Until))
		if !slices.Equal(r.Given, times) {
			v.Old = a.t(words.RemindOld)
		}
	}
	return v
}

// reminderTimes are the times chosen, else those of the plan.
func (a *App) reminderTimes() []int {
	if a.prefs.Reminders.Chosen {
		return a.prefs.Reminders.Times
	}
	return a.plannedTimes()
}

// plannedTimes are the times of the fullest of the next seven days: a third
// into the part of the day in which a session is due, to the quarter hour.
func (a *App) plannedTimes() []int {
	if a.day.State != schedule.Running {
		return nil
	}
	var due []schedule.Due
	for i := range 7 {
		d := a.on(a.facts.History, a.episode, a.day.Date.Add(i), 0, a.with())
		if d.State == schedule.Running && len(d.Due) > len(due) {
			due = d.Due
		}
	}
	var out []int
	for _, x := range due {
		m := (x.From + (x.To-x.From)/3) / reminderStep * reminderStep
		if len(out) < mostTimes && !slices.Contains(out, m) {
			out = append(out, m)
		}
	}
	slices.Sort(out)
	return out
}

// setTimes keeps a choice of times.
func (a *App) setTimes(times []int) {
	r := a.prefs.Reminders
	r.Times, r.Chosen = times, true
	a.prefs.Reminders = r.cleaned()
	a.reminders.said = ""
	a.savePrefs()
}

// moveTime changes one time by so many minutes, round midnight.
func (a *App) moveTime(minute, by int) {
	times := slices.Clone(a.reminderTimes())
	to := (minute + by + 24*60) % (24 * 60)
	for slices.Contains(times, to) {
		to = (to + by + 24*60) % (24 * 60)
	}
	for i, m := range times {
		if m == minute {
			times[i] = to
		}
	}
	a.setTimes(times)
	a.aloud = clockOf(to)
}

func (a *App) dropTime(minute int) {
	a.setTimes(slices.DeleteFunc(slices.Clone(a.reminderTimes()), func(m int) bool { return m == minute }))
}

// moreTime adds a time two hours after the last.
func (a *App) moreTime() {
	times := slices.Clone(a.reminderTimes())
	to := 9 * 60
	if n := len(times); n > 0 {
		to = (times[n-1] + 120) % (24 * 60)
	}
	for slices.Contains(times, to) {
		to = (to + reminderStep) % (24 * 60)
	}
	a.setTimes(append(times, to))
}

func (a *App) planTimes() {
	a.prefs.Reminders.Chosen, a.prefs.Reminders.Times = false, nil
	a.reminders.said = ""
	a.savePrefs()
}

func (a *App) setRemindOpen(on bool) {
	a.prefs.Reminders.Open = on
	a.savePrefs()
}

// reminderText is the file for the phone's calendar and what holds once it was
// given. times is empty to take all out. What the last file had more goes out.
func (a *App) reminderText(times []int) (string, reminderPrefs, error) {
	r := a.prefs.Reminders
	if r.ID == "" {
		r.ID = a.d.NewID()
	} else {
		r.Sequence++
	}
	today := a.today()
	until := today.Add(reminderDays - 1)
	c := calendar.Calendar{Product: "-//Unsling//Reminders//" + string(a.lang()), Stamp: a.now}
	for i := range max(len(times), r.Most) {
		x := calendar.Reminder{
			UID: r.ID + "-" + itoa(i+1), Sequence: r.Sequence, From: today, Until: until, Length: 20,
			Summary: a.t(words.RemindSum), About: a.t(words.RemindAbout), Cancelled: i >= len(times),
		}
		if i < len(times) {
			x.Minute = times[i]
		} else if i < len(r.Given) {
			x.Minute = r.Given[i]
		}
		c.Reminders = append(c.Reminders, x)
	}
	text, err := c.Text()
	r.Given, r.Until, r.Most = slices.Clone(times), until, max(r.Most, len(times))
	return text, r, err
}

// giveReminders hands the file over and remembers what it held.
func (a *App) giveReminders(times []int, said words.Text) {
	text, after, err := a.reminderText(times)
	a.run(func() {
		if err == nil {
			err = a.d.Platform.SaveFile(reminderFile, "text/calendar", []byte(text))
		}
	}, func() {
		a.reminders.said = a.t(words.RemindBad)
		if err == nil {
			a.reminders.said = a.t(said)
			a.prefs.Reminders = after
			a.savePrefs()
		}
		a.aloud = a.reminders.said
	})
}

func (a *App) saveReminders() { a.giveReminders(a.reminderTimes(), words.RemindDone) }
func (a *App) stopReminders() { a.giveReminders(nil, words.RemindGone) }

// remind tells an open app's person that it is time, once for each time, and
// only while a session waits to be done.
func (a *App) remind() {
	if !a.prefs.Reminders.Open || a.hidden || a.asksWho() || a.day.State != schedule.Running || a.session.waits() || a.Shown() == PlaceSession || a.Shown() == PlaceMeasure {
		return
	}
	minute := a.now.Hour()*60 + a.now.Minute()
	open := slices.ContainsFunc(a.day.Due, func(d schedule.Due) bool { return d.Open && d.Status == schedule.NextUp })
	for _, m := range a.reminderTimes() {
		key := a.day.Date.String() + " " + itoa(m)
		if minute < m || minute > m+5 || !open || a.reminded == key {
			continue
		}
		a.reminded = key
		a.say(a.t(words.RemindNow), false)
		if !a.prefs.Mute {
			a.d.Cues.Tone("begin")
		}
	}
}
