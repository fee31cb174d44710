package screen

import (
	"unsling/app/words"
)

// limitsView lists every motion with its limit or the reason of its lock.
type limitsView struct {
	Lead    string
	May     []limitRow
	Locked  []limitRow
	MustNot []string
}

type limitRow struct {
	Name, Value, Sub string
}

func (a *App) viewLimits() limitsView {
	v := limitsView{Lead: a.t(words.LimitsLead)}
	for _, x := range a.day.Motions {
		name := words.Capital(words.Motion(a.lang(), x.Motion))
		if x.Locked {
			v.Locked = append(v.Locked, limitRow{Name: name, Sub: words.LockReason(a.lang(), string(x.Why))})
			continue
		}
		row := limitRow{Name: name, Sub: words.Class(a.lang(), x.Limit.Class)}
		switch {
		case x.Limit.Open:
		case x.Motion.ByLevel():
			row.Value = words.Level(a.lang(), x.Limit.Highest)
		default:
			row.Value = limitAngle(x.Limit.Ceiling)
		}
		if x.Limit.ActiveCeil > 0 {
			row.Sub += " " + a.f(words.ByItself, x.Limit.ActiveCeil.Floor())
		}
		v.May = append(v.May, row)
	}
	_, v.MustNot = a.mayLists()
	for _, f := range a.day.Forbidden {
		if s := words.Forbidden(a.lang(), f); s != "" && f != "active-lifting" && !contains(v.MustNot, s) {
			v.MustNot = append(v.MustNot, s)
		}
	}
	return v
}

func contains(list []string, s string) bool {
	for _, x := range list {
		if x == s {
			return true
		}
	}
	return false
}
