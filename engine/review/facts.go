package review

import (
	"slices"

	"unsling/engine/dose"
	"unsling/engine/protocol"
	"unsling/engine/rom"
	"unsling/engine/schedule"
	"unsling/engine/trend"
	"unsling/engine/verdict"
)

// facts is everything the rules read, worked out once.
type facts struct {
	h     rom.History
	id    rom.EpisodeID
	e     rom.Episode
	today rom.Date
	in    Inputs
	set   Settings

	plan   rom.Plan
	on     schedule.Day
	course *trend.Course
	dayN   int  // days since surgery
	after  bool // operated, and the day has come

	contact rom.Date // last contact of any phone that counts; zero for never
	visit   rom.Date // next visit that is known
	phases  map[rom.Date]schedule.Day
	inForce verdict.Phases
	doses   []dose.Day // the last doseDays days
}

const doseDays = 35

// gather returns ok false when the episode is unknown.
func gather(h rom.History, id rom.EpisodeID, today rom.Date, in Inputs) (*facts, bool) {
	e, ok := h.Episode(id)
	if !ok {
		return nil, false
	}
	f := &facts{h: h, id: id, e: e, today: today, in: in, set: in.Settings.withDefaults(), phases: map[rom.Date]schedule.Day{}, inForce: verdict.PhasesOf(h, id)}
	f.plan, _ = h.Plan(id)
	f.course, _ = trend.At(h, id, today, trend.Options{ClinicSEM: in.Settings.ClinicSEM})
	f.dayN, f.after = f.course.DayN, f.course.Operated
	f.contact = f.lastContact()
	f.on = schedule.On(h, id, today, in.Minute, schedule.With{LastContact: f.contact})
	for _, v := range h.Visits {
		if v.Body.Episode != id {
			continue
		}
		for _, d := range []rom.Date{v.Body.On, v.Body.Next} {
			if d >= today && (f.visit == 0 || d < f.visit) {
				f.visit = d
			}
		}
	}
	if f.after && f.plan.Rev > 0 {
		from := max(e.Surgery, today.Add(-doseDays))
		f.doses = dose.Days(h, id, from, today, f.told())
	}
	return f, true
}

func (s Settings) withDefaults() Settings {
	def := func(v *int, d int) {
		if *v <= 0 {
			*v = d
		}
	}
	def(&s.SilentDays, 4)
	def(&s.UnconfirmedDays, 14)
	def(&s.ClockMinutes, 10)
	def(&s.ClearanceDays, 7)
	return s
}

// lastContact is the newest contact of a phone, or the last day of a paper log. Where the server told of no
// phone, the newest record that a phone wrote stands in.
func (f *facts) lastContact() rom.Date {
	var out rom.Date
	for _, p := range f.phones() {
		out = max(out, p.Contact)
	}
	for _, s := range f.h.Sessions { // a log on paper tells up to its last day
		if s.Body.By != "" && s.Body.Episode == f.id && s.Body.Due <= f.today {
			out = max(out, s.Body.Due)
		}
	}
	if len(f.in.Phones) > 0 {
		return out
	}
	for _, s := range f.h.Sessions {
		if !s.Ref.Author.FromClinic() && s.Day() <= f.today {
			out = max(out, s.Day())
		}
	}
	for _, r := range f.h.Readings {
		if !r.Ref.Author.FromClinic() && r.Day() <= f.today {
			out = max(out, r.Day())
		}
	}
	return out
}

func (f *facts) phones() []Phone {
	var out []Phone
	for _, p := range f.in.Phones {
		if !p.Revoked {
			out = append(out, p)
		}
	}
	return out
}

// dayOn returns what held on the phone at the end of a day. That is not
// always what the newest plan says of today, which is f.on: a revision may
// still be on its way.
func (f *facts) dayOn(d rom.Date) schedule.Day {
	if got, ok := f.phases[d]; ok {
		return got
	}
	day := schedule.On(schedule.Past(f.h, f.id, d), f.id, d, 24*60-1, schedule.With{})
	f.phases[d] = day
	return day
}

// ceiling returns today's ceiling of passive m, nil when open; locked is true
// when the motion is not permitted at all.
func (f *facts) ceiling(m rom.Motion) (at *rom.Degrees, locked bool) {
	l := f.on.Phase.Limit(m).For(rom.Passive)
	switch {
	case !f.on.InPhase || l.Class == rom.Locked:
		return nil, true
	case l.Open:
		return nil, false
	}
	return &l.Ceiling, false
}

// session is one sitting on its day.
type session struct {
	rom.Entry[rom.Session]
	day rom.Date
}

// sessionsSince returns the sessions of the episode from a day on, in order.
func (f *facts) sessionsSince(from rom.Date) []session {
	var out []session
	for _, s := range f.h.Sessions {
		d := s.Body.Due
		if d.IsZero() {
			d = s.Day()
		}
		if s.Body.Episode == f.id && d >= from && d <= f.today && s.Body.Validate() == nil {
			out = append(out, session{s, d})
		}
	}
	slices.SortStableFunc(out, func(a, b session) int { return int(a.day) - int(b.day) })
	return out
}

// painCap is the pain that the session's own phase accepts.
func (f *facts) painCap(s session) int {
	if p, ok := f.h.PlanAt(f.id, s.Rev); ok {
		if ph, ok := p.Phase(s.Body.Phase); ok {
			return ph.PainCap
		}
	}
	if ph, ok := f.plan.Phase(s.Body.Phase); ok {
		return ph.PainCap
	}
	return f.on.PainCap
}

// sign is one report of a warning sign.
type sign struct {
	rom.Entry[rom.Sign]
	at   moment
	rule protocol.SignRule
}

// signs returns every warning sign reported by today, whatever its age: a
// report must not be lost because a clock was wrong. One told before the phone
// knew its episode belongs to every one.
func (f *facts) signs() []sign {
	var out []sign
	for _, s := range f.h.Signs {
		if at := f.when(s.Meta); (s.Body.Episode == f.id || s.Body.Episode == "") && at.day <= f.today {
			out = append(out, sign{s, at, protocol.SignByID(s.Body.Sign)})
		}
	}
	return out
}

// when returns the day and minute of a record. A phone whose clock runs days
// ahead dates its records after its own last contact, which cannot be: they
// count as of that contact.
func (f *facts) when(m rom.Meta) moment {
	if d := m.Day(); m.Ref.Author.FromClinic() || len(f.in.Phones) == 0 || f.contact == 0 || d <= f.contact.Add(1) {
		return moment{d, minuteOf(m)}
	}
	return moment{f.contact, 0}
}

// answered reports whether a revision of the plan answers the report.
func (f *facts) answered(r rom.Ref) bool {
	return slices.Contains(f.plan.Answers, r)
}

// release says that the fault to fear is doing too little: a capsule was
// released or bone taken away, and nothing was sutured.
func (f *facts) release() bool {
	return f.e.Has(rom.CapsularRelease) && !f.e.Repair()
}

// early says that a repair is so fresh that a stiff joint is watched, not
// pushed.
func (f *facts) early() bool { return f.e.Repair() && f.dayN < 84 }
