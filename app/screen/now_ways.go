package screen

import (
	"unsling/app/words"
	"unsling/engine/schedule"
)

// ways are the rows from the first screen to the other pages. A stop shows the
// number and one thing to do: no ways to the exercises.
func (a *App) ways(urgent bool) []task {
	d := a.day
	to := func(id string, t, sub words.Text, p Place) task {
		x := task{ID: id, Text: a.t(t), Go: func() { a.goTo(p) }}
		if !sub.IsZero() {
			x.Sub = a.t(sub)
		}
		return x
	}
	var none words.Text
	var out []task
	if a.firstDays() && d.State != schedule.BeforeOp && !a.earlyDays() {
		out = append(out, to("to-days", words.DaysTitle, words.DaysSub, PlaceDays))
	}
	if !urgent && d.InPhase && d.State == schedule.Running { // while it rests, the answers of the phase may be too much
		may := to("to-may-i", words.MayITitle, none, PlaceMayI)
		may.Sub = a.mayIShort()
		out = append(out, may, to("to-limits", words.LimitsAll, none, PlaceLimits))
	}
	if !urgent {
		if d.State == schedule.Running {
			out = append(out, to("to-measure", words.Measure, none, PlaceMeasure))
		}
		if d.State != schedule.NoPlan && d.State != schedule.CannotSay && d.State != schedule.Ended {
			out = append(out, to("to-helper", words.HelperTitle, words.HelperSub, PlaceHelper))
		}
		out = append(out, to("to-so-far", words.SoFar, none, PlaceSoFar))
		if d.InPhase {
			out = append(out, to("to-week", words.WeekTitle, words.WeekSubtitle, PlaceWeekly))
		}
	}
	return append(out, to("to-settings", words.Settings, none, PlaceSettings))
}

// earlyDays reports whether the page of the first days stands high on the first
// screen: the two weeks in which most of it is asked.
func (a *App) earlyDays() bool {
	return a.day.State == schedule.Running && a.day.Dated && a.day.Number <= 14 && a.firstDays()
}
