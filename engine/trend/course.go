package trend

import "unsling/engine/rom"

// Course is one episode on one day: all its series, smoothed once each. It
// is what DeficitOf and the definitions of stiffness read. It is not safe for
// concurrent use.
type Course struct {
	Episode rom.Episode
	Day     rom.Date
	// DayN is the number of days since surgery; meaningless unless Operated.
	DayN     int
	Operated bool
	Series   []Series

	options Options
	last    rom.Date // the day up to which readings were collected
	done    map[Key]Summary
}

// At returns the course of the episode as of the end of day; ok is false when
// the episode is unknown.
func At(h rom.History, ep rom.EpisodeID, day rom.Date, o Options) (c *Course, ok bool) {
	e, ok := h.Episode(ep)
	if !ok {
		return nil, false
	}
	c = &Course{Episode: e, Day: day, Series: Collect(h, ep, day), options: o, last: day, done: map[Key]Summary{}}
	if s := surgeryOf(e); s != 0 && day >= s {
		c.Operated, c.DayN = true, day.Sub(s)
	}
	return c, true
}

// AsOf returns c judged for an earlier day, with the readings up to that day
// and what is known by now of slips and bias.
func (c *Course) AsOf(day rom.Date) *Course {
	out := *c
	out.Day, out.DayN = day, 0
	if s := surgeryOf(c.Episode); s != 0 {
		out.Operated, out.DayN = day >= s, day.Sub(s)
	}
	return &out
}

// Days returns the days on which passive motion m of the operated arm has a
// reading that was not set aside.
func (c *Course) Days(m rom.Motion) []rom.Date {
	s := c.Summary(c.Passive(m))
	var out []rom.Date
	for _, b := range s.Path {
		if b.Day <= c.Day {
			out = append(out, b.Day)
		}
	}
	return out
}

// Summary returns the smoothed series of k.
func (c *Course) Summary(k Key) Summary {
	if s, ok := c.done[k]; ok {
		return s
	}
	s, ok := Find(c.Series, k)
	out := Summary{Key: k, Day: c.last}
	if ok {
		out = Of(s, c.last, c.options)
	}
	c.done[k] = out
	return out
}

// Passive is the key of the whole-arm passive motion of the operated arm.
func (c *Course) Passive(m rom.Motion) Key {
	return Key{Side: c.Episode.Side, Motion: m, Class: rom.Passive}
}

// Active is the same for active motion.
func (c *Course) Active(m rom.Motion) Key {
	return Key{Side: c.Episode.Side, Motion: m, Class: rom.Active}
}

// preferClinic is how many days older a clinic's reading may be than the
// patient's own and still be taken. Derived.
const preferClinic = 7

// take returns the newest reading that was not set aside of passive motion m
// between two days, both included; a clinic's reading up to a week older is
// preferred to an own one. side selects the arm; base the readings before
// surgery instead of the course.
func (c *Course) take(side rom.Side, m rom.Motion, from, to rom.Date, base bool) (in Input, o obs, ok bool) {
	k := Key{Side: side, Motion: m, Class: rom.Passive}
	var list []obs
	if base {
		s, _ := Find(c.Series, k)
		list = observe(m, s.baseline(), c.options)
	} else if s := c.Summary(k); s.Known {
		list = s.fit.obs
	}
	for i := len(list) - 1; i >= 0; i-- {
		x := list[i]
		if x.aside || x.day < from || x.day > to {
			continue
		}
		if !ok {
			o, ok = x, true
		}
		if o.day.Sub(x.day) > preferClinic {
			break
		}
		if !x.self {
			o = x
			break
		}
	}
	if !ok {
		return Input{}, obs{}, false
	}
	in = Input{Motion: m, On: o.day, Self: o.self}
	if m.ByLevel() {
		in.Level = rom.Level(o.y + 0.5)
	} else {
		in.Value = tenths(o.y)
	}
	return in, o, true
}

// other returns the newest reading of the other arm when staff marked that
// arm usable for m.
func (c *Course) other(m rom.Motion) (Input, obs, bool) {
	if !c.Episode.Usable(m) {
		return Input{}, obs{}, false
	}
	return c.take(c.Episode.Side.Other(), m, 0, c.Day, false)
}
