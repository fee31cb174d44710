package scenario

import (
	"context"
	"encoding/base64"
	"fmt"
	"io"
	"math/rand/v2"
	"time"

	"unsling/engine/protocol"
	"unsling/engine/rom"
	"unsling/engine/schedule"
	"unsling/server/ledger"
	"unsling/sync/wire"
)

// story is one invented patient from enrolment to today.
type story struct {
	env      Env
	ctx      context.Context
	person   person
	zone     *time.Location
	today    rom.Date
	surgery  rom.Date
	enrolled rom.Date
	rng      *rand.Rand

	id      rom.PatientID
	ep      rom.Episode
	plan    rom.Plan // newest revision at the clinic
	cleared map[string]bool
	phone   *phone
}

// acts is what happens to the patient on a day.
func (s *story) acts(d rom.Date) []act {
	var out []act
	add := func(minute int, do func() error) {
		out = append(out, act{minute, s.person.name, do})
	}
	n := d.Sub(s.surgery)
	switch {
	case d < s.enrolled:
		return nil
	case s.person.late:
		if d == s.enrolled {
			add(15*60, s.enrol)
			add(15*60+10, s.confirm)
			add(15*60+20, s.clearAll)
		}
	case d == s.enrolled:
		add(9*60, s.enrol)
		add(9*60+20, func() error { return s.measureAtClinic(d, true) })
		if s.person.phone {
			add(9*60+40, s.join)
		}
	case s.person.phone && n < 0 && n%4 == 0:
		add(18*60, func() error { return s.baseline(n) })
	case n == 0 && s.person.day >= 0:
		add(16*60, s.confirm)
		if s.person.phone {
			add(19*60, func() error { return s.phone.exchange() })
		}
	case n > 0:
		s.operated(d, n, add)
	}
	for _, t := range s.person.turns {
		if on, minute := s.when(t); d == on {
			add(minute, func() error { return t.do(s) })
		}
	}
	if s.person.discharged && d == s.today.Add(-2) {
		add(12*60, s.discharge)
	}
	return out
}

// when says on which day and minute a turn comes. What belongs to today comes
// late yesterday while today has hardly begun, so that the story is complete
// at whatever hour the demo is made.
func (s *story) when(t turn) (rom.Date, int) {
	end := s.env.Today.In(s.zone)
	const early, late = 8*60 + 5, 21*60 + 5
	if t.before == 0 && end.Hour()*60+end.Minute() <= early {
		return s.today.Add(-1), late
	}
	return s.today.Add(-t.before), early
}

// operated adds the acts of a day after surgery.
func (s *story) operated(d rom.Date, n int, add func(int, func() error)) {
	add(7*60+50, func() error { return s.clear(d) })
	if n == 10 || n%42 == 0 {
		add(10*60+30, func() error { return s.measureAtClinic(d, false) })
		add(10*60+40, func() error { return s.visit(d) })
	}
	for _, w := range s.plan.TherapyDays {
		if w == d.Weekday() && n > 2 {
			add(14*60, func() error { return s.therapy(d) })
		}
	}
	if !s.person.phone || s.person.habit.silent > 0 && d > s.today.Add(-s.person.habit.silent) {
		return
	}
	add(8*60, func() error { return s.phone.exchange() })
	for _, minute := range []int{9 * 60, 13 * 60, 18 * 60, 20 * 60} {
		add(minute+s.rng.IntN(40), func() error { return s.session(d) })
	}
}

func (s *story) now() time.Time { return s.env.Clock.Now().In(s.zone) }

func (s *story) random() string {
	b := make([]byte, 16)
	_, _ = io.ReadFull(s.env.Chance, b)
	return base64.RawURLEncoding.EncodeToString(b)
}

// team is who looks after the patient.
func (s *story) team() []rom.StaffID {
	if s.person.spare {
		return []rom.StaffID{Spare}
	}
	return []rom.StaffID{Surgeon, Therapist, Assistant}
}

func (s *story) trail(by rom.StaffID) ledger.Trail {
	return ledger.Trail{At: s.now().UTC(), Actor: string(by)}
}

// surgeon and second are the two people of a confirmation.
func (s *story) surgeonID() rom.StaffID {
	if s.person.spare {
		return Spare
	}
	return Surgeon
}

func (s *story) draft(k wire.Kind, body any) (ledger.Draft, error) {
	raw, v, err := wire.EncodeBody(k, body)
	return ledger.Draft{Kind: k, V: v, Body: raw, At: s.now(), Zone: Zone}, err
}

// record appends one clinic record.
func (s *story) record(by rom.StaffID, k wire.Kind, body any) error {
	dr, err := s.draft(k, body)
	if err != nil {
		return err
	}
	_, err = s.env.Store.Append(s.id, []ledger.Draft{dr}, nil, s.trail(by))
	return err
}

func (s *story) enrol() error {
	s.cleared = map[string]bool{}
	s.id = rom.PatientID(s.random())
	s.ep = rom.Episode{ID: rom.EpisodeID(s.random()), Version: 1, State: rom.Planned, Side: s.person.side, Procedures: s.person.procedures,
		Surgery: s.surgery, BornYear: s.person.born, By: Assistant,
		OtherArm: []rom.Motion{rom.ForwardFlexion, rom.Scaption, rom.Abduction, rom.ERSide, rom.ER90, rom.IR90}}
	plan, err := s.makePlan(1, 0, "Enrolled")
	if err != nil {
		return err
	}
	s.plan = plan
	first, err := s.draft(wire.KindEpisode, s.ep)
	if err != nil {
		return err
	}
	second, err := s.draft(wire.KindPlan, plan)
	if err != nil {
		return err
	}
	row := ledger.Patient{ID: s.id, Name: s.person.name, Born: fmt.Sprintf("%d-06-15", s.person.born), Number: fmt.Sprintf("HH-%04d", 1000+s.rng.IntN(9000)),
		Phone: "+353 20 915 0000", Zone: Zone, Lang: "en", Created: s.now().UTC()}
	return s.env.Store.CreatePatient(row, s.team(), []ledger.Draft{first, second}, s.trail(Assistant))
}

func (s *story) makePlan(rev, base int, reason string) (rom.Plan, error) {
	rows, err := s.adopted()
	if err != nil {
		return rom.Plan{}, err
	}
	answers := map[string]string{}
	for _, p := range rows {
		for _, q := range p.Questions {
			answers[q.Key] = "no"
		}
	}
	c := Clinic()
	wakeFrom, wakeTo := 0, 0 // the usual waking hours
	if s.person.late {
		wakeTo = 24 * 60 // whoever tries the demo may do so at night
	}
	return protocol.MakePlan(rows, s.ep, protocol.Choices{
		WakeFrom: wakeFrom, WakeTo: wakeTo,
		Answers: answers, TherapyDays: []time.Weekday{time.Monday, time.Wednesday, time.Friday}, TherapyDayLess: 1,
		Contact: rom.Contact{Clinic: c.Name, Phone: c.Phone, AfterHours: c.AfterHours, Emergency: "112"},
		MayI:    dailyQuestions(rows),
		Rev:     rev, Base: base, By: s.surgeonID(), On: rom.DateOf(s.now()), Reason: reason,
	})
}

// adopted reads the clinic's protocols of the patient's procedures.
func (s *story) adopted() ([]protocol.Protocol, error) {
	var out []protocol.Protocol
	for _, want := range s.person.procedures {
		drafts := protocol.For(want)
		if len(drafts) == 0 {
			return nil, fmt.Errorf("no protocol comes with the program for %s", want)
		}
		own, err := protocol.Adopt(drafts[0], Surgeon, s.enrolled, nil)
		if err != nil {
			return nil, err
		}
		out = append(out, own)
	}
	return out, nil
}

func (s *story) join() error {
	secrets, err := Invite(s.env.Store, s.env.Codes, s.random(), s.id, s.now(), s.env.Chance)
	if err != nil {
		return err
	}
	s.phone = newPhone(s.ctx, s.env.Base, s.env.HTTP, s.env.Clock, s.zone, s.env.Chance)
	if err := s.phone.join(secrets.QR); err != nil {
		return err
	}
	err = s.phone.keep(wire.KindInstall, rom.Install{App: "demo", Platform: "invented", Language: "en", FreeHand: s.person.side.Other(), Persisted: true, SideTapped: s.person.side})
	if err != nil {
		return err
	}
	return s.phone.exchange()
}

// confirm is the surgeon's and a second person's act on the day of surgery.
func (s *story) confirm() error {
	e := s.ep
	e.Version, e.ConfirmedBy, e.ConfirmedOn, e.BlockHours, e.By = e.Version+1, s.surgeonID(), rom.DateOf(s.now()), 24, s.surgeonID()
	drafts := make([]ledger.Draft, 0, 3)
	for _, state := range []rom.EpisodeState{rom.Planned, rom.Confirmed, rom.Ongoing} {
		if state == rom.Confirmed {
			e.SideBy, e.By = Therapist, Therapist
		}
		e.State = state
		dr, err := s.draft(wire.KindEpisode, e)
		if err != nil {
			return err
		}
		drafts = append(drafts, dr)
		s.ep = e
		e.Version++
	}
	_, err := s.env.Store.Append(s.id, drafts, nil, s.trail(s.surgeonID()))
	return err
}

func (s *story) discharge() error {
	e := s.ep
	e.Version, e.State, e.Ended, e.Reason, e.By = e.Version+1, rom.Discharged, rom.DateOf(s.now()), "Full range, back at work", Surgeon
	s.ep = e
	return s.record(Surgeon, wire.KindEpisode, e)
}

// day is what the engine says of a date, from the clinic's side of the log.
func (s *story) day(d rom.Date) (schedule.Day, rom.History, error) {
	facts, err := s.env.Store.Facts(s.id)
	if err != nil {
		return schedule.Day{}, rom.History{}, err
	}
	h, err := s.env.History(facts.Data)
	if err != nil {
		return schedule.Day{}, rom.History{}, err
	}
	return schedule.On(h, s.ep.ID, d, 8*60, schedule.With{LastContact: d}), h, nil
}

// clear lets the next phase begin on the day its date allows.
func (s *story) clear(d rom.Date) error {
	if s.ep.State != rom.Ongoing {
		return nil
	}
	day, _, err := s.day(d)
	if err != nil || day.Next == nil || day.Next.Waits != schedule.ForClearance || s.cleared[day.Next.Phase.Key] {
		return err
	}
	s.cleared[day.Next.Phase.Key] = true
	return s.record(Surgeon, wire.KindClearance, rom.Clearance{Episode: s.ep.ID, Phase: day.Next.Phase.Key, On: d, By: Surgeon, Reason: "As planned"})
}

// clearAll clears every phase whose day has come.
func (s *story) clearAll() error {
	for _, ph := range s.plan.Phases {
		if ph.From <= s.today.Sub(s.surgery) && ph.Gate.Clearance {
			on := s.surgery.Add(ph.From)
			if err := s.record(s.surgeonID(), wire.KindClearance, rom.Clearance{Episode: s.ep.ID, Phase: ph.Key, On: on, By: s.surgeonID(), Reason: "As planned"}); err != nil {
				return err
			}
		}
	}
	return nil
}

func drafts(d ...ledger.Draft) []ledger.Draft { return d }

func base(ep rom.EpisodeID, p rom.Plan) *ledger.Base {
	return &ledger.Base{Episode: ep, Base: p.Base, New: p.Rev}
}
