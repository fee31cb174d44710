package replica_test

import (
	"fmt"
	"runtime"
	"slices"
	"testing"
	"time"

	"unsling/engine/protocol"
	"unsling/engine/review"
	"unsling/engine/rom"
	"unsling/sync/replica"
	"unsling/sync/wire"
)

// A year of one patient, all invented: four sessions on each of 365 days with
// every hold and its angle, a reading a day, pain on every next morning, the
// sling of the first six weeks, a plan revised every month, therapy twice a
// week, a visit a month with eight readings, tasks, notes, questions. That is
// a diligent patient with an own reading more often than any protocol here asks.

type pen struct {
	t    testing.TB
	a    rom.Author
	mark wire.Mark
	out  *[][]byte
	rev  int
}

func (p *pen) write(at time.Time, k wire.Kind, body any) rom.Ref {
	p.t.Helper()
	raw, v, err := wire.EncodeBody(k, body)
	if err != nil {
		p.t.Fatal(k, err)
	}
	var salt [16]byte
	copy(salt[:], fmt.Sprint(p.a, p.mark.N))
	r := wire.Record{Author: p.a, N: p.mark.N + 1, Prev: p.mark.Prev(), Salt: wire.Salt(salt), Kind: k, V: v, Run: "run-7", Mono: 1000 * p.mark.N, At: at, TZ: "Europe/Madrid", Rev: p.rev, Body: raw}
	line, err := wire.Encode(r)
	if err != nil {
		p.t.Fatal(k, err)
	}
	p.mark = wire.Mark{N: r.N, Hash: wire.HashOf(line)}
	*p.out = append(*p.out, line)
	return r.Ref()
}

var surgery = rom.MakeDate(2026, time.March, 2)

func yearOf(t testing.TB) (lines [][]byte) {
	zone := time.FixedZone("", 3600)
	at := func(day, minute int) time.Time {
		return surgery.Add(day).Time().Add(time.Duration(minute) * time.Minute).In(zone)
	}
	ph, c := &pen{t: t, a: "phone", out: &lines}, &pen{t: t, a: "c-1", out: &lines}
	e := rom.Episode{ID: "e1", Version: 1, State: rom.Ongoing, Side: rom.Right, Procedures: []rom.Procedure{rom.CuffRepair}, Surgery: surgery,
		ConfirmedBy: "s1", SideBy: "t1", By: "s1", BornYear: 1966, OtherArm: []rom.Motion{rom.ForwardFlexion, rom.Abduction, rom.ERSide}}
	c.write(at(-20, 600), wire.KindEpisode, e)
	draft, ok := protocol.ByID("cuff-repair-small-medium")
	if !ok {
		t.Fatal("no such protocol")
	}
	adopted, err := protocol.Adopt(draft, "s1", surgery.Add(-30), nil)
	if err != nil {
		t.Fatal(err)
	}
	plan, err := protocol.MakePlan([]protocol.Protocol{adopted}, e, protocol.Choices{By: "s1", On: surgery.Add(-20), Contact: rom.Contact{Clinic: "Invented", Phone: "1"}})
	if err != nil {
		t.Fatal(err)
	}
	motions := []rom.Motion{rom.ForwardFlexion, rom.ERSide, rom.Abduction}
	angle := rom.Deg(80)
	two := 2
	session := rom.Session{Episode: "e1", Seconds: 900, Before: &two, Worst: &two, After: &two, Ended: rom.Finished}
	for i, ex := range []rom.ExerciseID{rom.SupineElevation, rom.StickER, rom.TableSlideAbduction} {
		it := rom.SessionItem{Exercise: ex, Motion: motions[i], Dose: rom.Dose{Hold: 20, Reps: 5, Rest: 10, PerDay: 4}}
		for range 5 {
			it.Holds = append(it.Holds, rom.Hold{Tenths: 204, Counted: true, Angle: &angle})
		}
		session.Items = append(session.Items, it)
	}
	for day := range 365 {
		if day%30 == 0 {
			if plan.Rev > 1 || day > 0 {
				plan.Base, plan.Rev, plan.On, plan.Reason = plan.Rev, plan.Rev+1, surgery.Add(day), "monthly"
			}
			c.write(at(day, 480), wire.KindPlan, plan)
			ph.rev = plan.Rev
			ph.write(at(day, 500), wire.KindAdopted, rom.Adopted{Episode: "e1", Rev: plan.Rev})
			c.write(at(day, 510), wire.KindVisit, rom.Visit{Episode: "e1", On: surgery.Add(day), Next: surgery.Add(day + 30), Text: "Invented note of a visit.", By: "s1"})
			note := c.write(at(day, 520), wire.KindNote, rom.Note{Episode: "e1", Text: "Keep going as you do.", By: "t1"})
			ph.write(at(day, 530), wire.KindSeen, rom.Seen{What: note})
			ph.write(at(day, 540), wire.KindQuestion, rom.Question{Episode: "e1", Text: "May I shower?"})
			for _, m := range motions {
				for _, s := range []rom.Side{rom.Left, rom.Right} {
					c.write(at(day, 545), wire.KindReading, rom.Reading{Episode: "e1", Side: s, Motion: m, Class: rom.Passive, Method: rom.Goniometer, Position: rom.Supine, Angle: rom.Deg(40 + day/6), By: "t1"})
				}
			}
		}
		for _, p := range plan.Phases {
			if p.From == day && p.NeedsClearance() {
				c.write(at(day, 481), wire.KindClearance, rom.Clearance{Episode: "e1", Phase: p.Key, On: surgery.Add(day), By: "s1"})
			}
		}
		if day < 42 {
			ph.write(at(day, 550), wire.KindSling, rom.SlingReport{Episode: "e1", Day: surgery.Add(day), Worn: "as-asked"})
		}
		for slot := range 4 {
			s := session
			s.ID, s.Due, s.Slot, s.Phase = rom.SessionID(fmt.Sprintf("session-%d-%d", day, slot)), surgery.Add(day), slot+1, "passive"
			ph.write(at(day, 560+120*slot), wire.KindSession, s)
		}
		own := rom.Deg(30 + day/5 + day*7%5)
		ph.write(at(day, 570), wire.KindReading, rom.Reading{Episode: "e1", Side: rom.Right, Motion: motions[day%3], Class: rom.Passive, Method: rom.Photo, Position: rom.Supine, Angle: own, SE: 70,
			Session: rom.SessionID(fmt.Sprintf("session-%d-0", day)), Trials: []rom.Trial{{Angle: own, SE: 40, OutOfPlane: 30, Landmarks: []rom.Point{{X: 120, Y: 340}, {X: 410, Y: 322}, {X: 610, Y: 515}, {X: 300, Y: 800}}}}})
		ph.write(at(day, 490), wire.KindPain, rom.Pain{Episode: "e1", Score: day % 4, When: rom.PainNextDay})
		if day%3 == 0 {
			c.write(at(day, 620), wire.KindTherapy, rom.Therapy{Episode: "e1", On: surgery.Add(day), Outcome: "attended", By: "t1"})
			c.write(at(day, 630), wire.KindTask, rom.Task{Episode: "e1", Finding: "limit:FF", State: "over", Act: rom.TaskSeen, By: "t1", On: surgery.Add(day)})
		}
	}
	return lines
}

func judgedAt(h rom.History, day int) []review.Finding {
	open := review.Span{From: 480, To: 1020}
	return review.Findings(h, "e1", surgery.Add(day), review.Inputs{
		Hours:  review.Hours{Week: [7]review.Span{1: open, 2: open, 3: open, 4: open, 5: open}},
		Minute: 720, Phones: []review.Phone{{Author: "phone", Since: surgery, Contact: surgery.Add(day), Following: 13}},
	})
}

// The invented year is read as it was meant: nothing is left out, damaged or
// unknown, and something is judged.
func TestYearIsWhole(t *testing.T) {
	lines := yearOf(t)
	h := replica.Fold(lines...)
	if len(lines) < 2500 || len(h.Sessions) != 4*365 || len(h.Damaged)+len(h.Unknown)+len(h.Voided) != 0 || len(h.Plans) != 13 {
		t.Fatalf("%d lines, %d sessions, %d plans, damaged %v", len(lines), len(h.Sessions), len(h.Plans), h.Damaged)
	}
	if n := len(judgedAt(h, 365)); n == 0 {
		t.Error("nothing was found in a year")
	}
}

// BenchmarkBudgetYear: a year of one patient's history folded and judged within
// 50 ms natively and 250 ms under js/wasm. Median of 9.
func BenchmarkBudgetYear(b *testing.B) {
	lines := yearOf(b)
	budget := 50.0
	if runtime.GOOS == "js" {
		budget = 250
	}
	var median, fastest time.Duration
	for b.Loop() {
		var took []time.Duration
		for range 9 {
			from := time.Now()
			judgedAt(replica.Fold(lines...), 365)
			took = append(took, time.Since(from))
		}
		slices.Sort(took)
		median, fastest = took[4], took[0]
	}
	b.ReportMetric(float64(len(lines)), "records")
	b.ReportMetric(budget, "budget-ms")
	b.ReportMetric(float64(median.Microseconds())/1000, "measured-ms")
	b.ReportMetric(float64(fastest.Microseconds())/1000, "fastest-ms")
}
