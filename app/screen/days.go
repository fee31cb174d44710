package screen

import (
	"unsling/app/figure"
	"unsling/app/words"
	"unsling/engine/protocol"
	"unsling/engine/rom"
	"unsling/engine/schedule"
)

// topic is one piece of advice for the days in the sling: what not to do, a
// picture or several, a few lines.
type topic struct {
	ID, Title string
	Danger    string
	Pictures  []string
	Lines     []string
}

// daysView is the page of the first days. Before the operation it has what can
// be tried with two good hands.
type daysView struct {
	Title, Rule string
	Topics      []topic
	Watch       []signRow
	Tries       bool // what was tried can be ticked
}

// openNumb leads from the first screen to what to do while the arm is numb.
func (a *App) openNumb() {
	a.goTo(PlaceDays)
	a.openTopic("numb")
}

// openTopic shows one topic, "" the list.
func (a *App) openTopic(id string) {
	a.topic = id
	a.aloud = ""
}

// firstDays reports whether the page of the first days is of use today.
func (a *App) firstDays() bool {
	d := a.day
	switch d.State {
	case schedule.BeforeOp, schedule.NotConfirmed:
		return true
	case schedule.Running, schedule.Paused, schedule.Stopped, schedule.Halted:
		return !d.Phase.Stretching || d.Sling == rom.SlingAlways
	}
	return false
}

func (a *App) viewDays() daysView {
	d := a.day
	v := daysView{Title: a.t(words.DaysTitle), Rule: a.t(words.DaysRule)}
	if d.State == schedule.BeforeOp {
		v.Title, v.Tries = a.t(words.DaysTry), true
		v.Topics = []topic{a.slingTopic(), a.washTopic(), a.sleepTopic(), a.dressTopic()}
		return v
	}
	if a.numb() {
		v.Topics = append(v.Topics, a.numbTopic())
	}
	v.Topics = append(v.Topics, a.slingTopic(), a.notTopic(), a.handTopic(), a.washTopic(), a.sleepTopic(), a.iceTopic(), a.dressTopic(), a.woundTopic())
	v.Watch = a.watchFor(0)
	return v
}

// numb reports whether the nerve block may still work: until a day after the
// clinic expects it to have worn off, since the hour of surgery is not known.
func (a *App) numb() bool {
	h := a.day.Episode.BlockHours
	return h > 0 && a.day.Dated && a.day.Number >= 0 && a.day.Number*24 <= h+24
}

func (a *App) numbTopic() topic {
	return topic{
		ID: "numb", Title: a.t(words.NumbTitle), Danger: a.t(words.NumbStop),
		Lines: []string{a.f(words.NumbUntil, a.day.Episode.BlockHours), a.t(words.NumbHot), a.t(words.NumbPills), a.t(words.NumbLong)},
	}
}

func (a *App) daily(d figure.Daily, title string) string {
	return figure.DailyLife(d, a.day.Episode.Side, figure.Words{Title: title})
}

func (a *App) slingTopic() topic {
	t := topic{ID: "sling", Title: a.t(words.SlingTitle), Lines: a.texts(words.SlingStep1, words.SlingStep2, words.SlingStep3, words.SlingRubs)}
	for i, d := range []figure.Daily{figure.SlingElbow, figure.SlingStrap, figure.SlingHand} {
		t.Pictures = append(t.Pictures, a.daily(d, t.Lines[i]))
	}
	return t
}

// handTopic says which work of hand and elbow is allowed. Of exercises only
// those that are open today are shown.
func (a *App) handTopic() topic {
	t := topic{ID: "hand", Title: a.t(words.HandWork), Danger: a.t(words.ShoulderNot), Lines: a.texts(words.HandWorkDo, words.SlingHandy)}
	show := func(e rom.ExerciseID) {
		if !a.day.Exercise(e).Locked {
			t.Pictures = append(t.Pictures, figure.Exercise(e, a.day.Episode.Side, 1, figure.Marks{}, figure.Words{Title: words.ExerciseName(a.lang(), e)}))
		}
	}
	show(rom.WristHand)
	show(rom.ElbowBend)
	if a.day.Exercise(rom.ElbowBend).Locked {
		t.Lines = append(t.Lines, a.t(words.ElbowNot))
	} else {
		t.Lines = append(t.Lines, a.t(words.ElbowWork))
	}
	return t
}

// notTopic lists what is forbidden in this phase after what was operated.
func (a *App) notTopic() topic {
	t := topic{ID: "not", Title: a.t(words.NotTitle)}
	var done []string
	for _, p := range a.day.Episode.Procedures {
		if s := words.Procedure(a.lang(), p); s != "" {
			done = append(done, s)
		}
	}
	if len(done) > 0 {
		t.Lines = append(t.Lines, a.f(words.NotAfter, words.Join(a.lang(), done)))
	}
	t.Lines = append(t.Lines, a.t(words.NoOwnMoves))
	for _, f := range a.day.Forbidden {
		if s := words.Forbidden(a.lang(), f); s != "" && f != "active-lifting" {
			t.Lines = append(t.Lines, s)
		}
	}
	return t
}

func (a *App) washTopic() topic {
	t := topic{ID: "wash", Title: a.t(words.WashTitle), Lines: a.texts(words.WashLean, words.WashDo, words.WashDry, words.WashSeat)}
	t.Pictures = []string{a.daily(figure.WashArmpit, t.Title)}
	return t
}

func (a *App) sleepTopic() topic {
	t := topic{ID: "sleep", Title: a.t(words.SleepTitle), Danger: a.t(words.SleepNot), Lines: a.texts(words.SleepDo, words.SleepElbow)}
	t.Pictures = []string{a.daily(figure.SleepUp, t.Title)}
	return t
}

func (a *App) iceTopic() topic {
	t := topic{ID: "ice", Title: a.t(words.IceTitle), Danger: a.t(words.IceNumb), Lines: a.texts(words.IceCloth, words.IceTime)}
	t.Pictures = []string{a.daily(figure.IceOn, t.Title)}
	return t
}

func (a *App) dressTopic() topic {
	t := topic{ID: "dress", Title: a.t(words.DressTitle), Lines: a.texts(words.DressOn, words.DressOff, words.DressShirt)}
	t.Pictures = []string{a.daily(figure.DressFirst, t.Title)}
	return t
}

func (a *App) woundTopic() topic {
	next := a.t(words.VisitNone)
	if d := a.nextVisit(); !d.IsZero() {
		next = a.f(words.VisitNext, words.Date(a.lang(), d))
	}
	return topic{ID: "wound", Title: a.t(words.WoundTitle), Lines: append(a.texts(words.WoundLeave, words.WoundWet), next)}
}

// nextVisit is the next date that the clinic wrote down, zero for none.
func (a *App) nextVisit() rom.Date {
	var next rom.Date
	for _, v := range a.facts.History.Visits {
		for _, d := range []rom.Date{v.Body.On, v.Body.Next} {
			if v.Body.Episode == a.episode && !d.IsZero() && d >= a.day.Date && (next.IsZero() || d < next) {
				next = d
			}
		}
	}
	return next
}

// watchFor lists the warning signs that deserve most attention today, the most
// urgent first; most is how many, 0 for all.
func (a *App) watchFor(most int) []signRow {
	d := a.day
	if !d.Dated || d.Number < 0 || d.State == schedule.Ended || d.State == schedule.BeforeOp {
		return nil
	}
	var out []signRow
	for _, r := range protocol.Watch(d.Number) {
		if most == 0 || len(out) < most {
			out = append(out, signRow{r.Sign, words.Sign(a.lang(), r.Sign)})
		}
	}
	return out
}
