package screen

import (
	"unsling/app/figure"
	"unsling/app/words"
	"unsling/engine/rom"
	"unsling/engine/trend"
	"unsling/engine/verdict"
)

// againWhen says when the motion may be measured next, as the plan has it:
// "again tomorrow" would ask for more than a plan of twice a week permits.
func (a *App) againWhen() string {
	s := &a.measure
	minute := 12 * 60
	for k := 1; k <= 7; k++ {
		d := a.on(a.facts.History, a.episode, a.day.Date.Add(k), minute, a.with())
		for _, m := range d.Measures {
			if m.Motion == s.motion && m.May {
				return a.f(words.AgainDay, words.Day(a.lang(), d.Date, a.day.Date))
			}
		}
	}
	return a.t(words.AgainAsked)
}

// resultWords name the marks of the picture of a result.
func (a *App) resultWords(title string) figure.Words {
	w := a.figureWords(title)
	w.Now, w.Last, w.Room = a.t(words.ThisTime), a.t(words.LastWord), figure.Beside
	return w
}

func (a *App) levelSentences(r rom.Reading, limit rom.Limit, limited bool) []string {
	var out []string
	last, ok := a.lastReading(r.Motion, r.Side)
	switch {
	case !ok:
		out = append(out, a.t(words.LevelFirst))
	case last.Body.Level == r.Level:
		out = append(out, a.t(words.LevelSame))
	case r.Level-last.Body.Level < trend.LevelChange && last.Body.Level-r.Level < trend.LevelChange:
		out = append(out, a.t(words.LevelAbout))
	case r.Level < last.Body.Level:
		out = append(out, a.t(words.LevelUpward))
	default:
		out = append(out, a.t(words.LevelDownward))
	}
	if limited && !limit.Open && limit.Highest != 0 {
		out = append(out, a.f(words.LevelIn, words.Level(a.lang(), limit.Highest)))
	}
	return out
}

func (a *App) levelMarks(r rom.Reading, limit rom.Limit, limited bool) figure.Marks {
	m := figure.Marks{}
	if last, ok := a.lastReading(r.Motion, r.Side); ok {
		m.Last = figure.At(rom.Deg(int(last.Body.Level)))
	}
	if limited && !limit.Open && limit.Highest != 0 {
		m.Limit = figure.At(rom.Deg(int(limit.Highest)))
	}
	if other, ok := a.lastReading(r.Motion, r.Side.Other()); ok && a.day.Episode.Usable(r.Motion) {
		m.Other = figure.At(rom.Deg(int(other.Body.Level)))
	}
	return m
}

// resultSpoken is what is said aloud: past the limit the danger comes alone.
func (a *App) resultSpoken() string {
	s := &a.measure
	if s.tier != verdict.Within {
		return a.tierWord()
	}
	if r := s.reading; r.Motion.ByLevel() {
		return a.f(words.LevelIs, words.Level(a.lang(), r.Level))
	}
	return a.f(words.ResultIs, s.reading.Angle.Whole()) + ". " + a.f(words.ResultErr, s.reading.SE.Whole())
}

func abs(d rom.Degrees) rom.Degrees {
	if d < 0 {
		return -d
	}
	return d
}
