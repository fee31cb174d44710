package planning

import (
	"errors"
	"reflect"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"unsling/engine/protocol"
	"unsling/engine/rom"
	"unsling/server/access"
)

// drawn is a plan of one of the shipped protocols with some of its values changed.
func drawn(t *rapid.T, label string, from rom.Plan) rom.Plan {
	p := from
	p.Phases = slices.Clone(p.Phases)
	for i := range p.Phases {
		ph := &p.Phases[i]
		switch rapid.IntRange(0, 5).Draw(t, label) {
		case 0:
			ph.From += rapid.IntRange(0, 20).Draw(t, label+" day")
		case 1:
			ph.PainCap = rapid.IntRange(0, 10).Draw(t, label+" pain")
		case 2:
			ph.Limits = slices.Clone(ph.Limits)
			if len(ph.Limits) > 0 {
				l := &ph.Limits[rapid.IntRange(0, len(ph.Limits)-1).Draw(t, label+" row")]
				if !l.Open && !l.Motion.ByLevel() {
					l.Ceiling = rom.Deg(rapid.IntRange(0, 170).Draw(t, label+" ceiling"))
				}
			}
		}
	}
	return p
}

// Whatever two protocols say, the strict plan permits nothing that the plan in force does not.
func TestStricterNeverWidens(t *testing.T) {
	all := protocol.All()
	rapid.Check(t, func(t *rapid.T) {
		now := drawn(t, "now", AsPlan(rapid.SampledFrom(all).Draw(t, "of")))
		next := drawn(t, "next", AsPlan(rapid.SampledFrom(all).Draw(t, "to")))
		for i := range next.Phases {
			if i < len(now.Phases) {
				next.Phases[i].Key = now.Phases[i].Key
			}
		}
		got := Stricter(now, next)
		for _, ph := range got.Phases {
			was, ok := now.Phase(ph.Key)
			if !ok {
				continue
			}
			for _, l := range ph.Limits {
				if was.Limit(l.Motion).NarrowerThan(l) {
					t.Fatalf("%s %s: %v after %v", ph.Key, l.Motion, l, was.Limit(l.Motion))
				}
			}
			if ph.From < was.From || ph.PainCap > was.PainCap || was.NeedsClearance() && !ph.NeedsClearance() {
				t.Fatalf("%s begins earlier or asks less", ph.Key)
			}
		}
	})
}

// Who changed nothing takes the other's plan, and the other way round; what two people changed in different places is
// kept of both.
func TestMergeKeepsBoth(t *testing.T) {
	all := protocol.All()
	rapid.Check(t, func(t *rapid.T) {
		base := AsPlan(rapid.SampledFrom(all).Draw(t, "of"))
		mine := drawn(t, "mine", base)
		if got, clashes := Merge(base, base, mine); len(mine.Diff(got)) > 0 || len(clashes) > 0 {
			t.Fatalf("over an unchanged plan: %v, %v", mine.Diff(got), clashes)
		}
		if got, clashes := Merge(base, mine, base); len(mine.Diff(got)) > 0 || len(clashes) > 0 {
			t.Fatalf("with nothing changed: %v, %v", mine.Diff(got), clashes)
		}
		if len(base.Phases) < 2 {
			return
		}
		one, two := base, base
		one.Phases, two.Phases = slices.Clone(base.Phases), slices.Clone(base.Phases)
		one.Phases[0].PainCap, two.Phases[1].From = 1, base.Phases[1].From+9
		got, clashes := Merge(base, one, two)
		if got.Phases[0].PainCap != 1 || got.Phases[1].From != base.Phases[1].From+9 || len(clashes) > 0 {
			t.Fatalf("both: %v, %v", base.Diff(got), clashes)
		}
		two.Phases[0].PainCap = 2
		if base.Phases[0].PainCap == 1 || base.Phases[0].PainCap == 2 {
			return
		}
		if got, clashes = Merge(base, one, two); got.Phases[0].PainCap != 2 || len(clashes) != 1 {
			t.Fatalf("the same value: %v, %v", base.Diff(got), clashes)
		}
	})
}

// A stop and a narrowing ask for no more than that: nobody who may stop is held up by another right.
func TestActs(t *testing.T) {
	plan := AsPlan(protocol.For(rom.CuffRepair)[0])
	passive := slices.IndexFunc(plan.Phases, func(ph rom.Phase) bool { return ph.Limit(rom.ForwardFlexion).Class == rom.Passive })
	limits := func(by int) rom.Plan {
		next := plan
		next.Phases = slices.Clone(plan.Phases)
		ph := &next.Phases[passive]
		ph.Limits = slices.Clone(ph.Limits)
		i := slices.IndexFunc(ph.Limits, func(l rom.Limit) bool { return l.Motion == rom.ForwardFlexion })
		ph.Limits[i].Ceiling += rom.Deg(by)
		return next
	}
	past := []protocol.Conflict{{What: protocol.PastCeiling}}
	stopped := plan
	stopped.State = rom.Stopped
	opened := plan
	opened.Opened = append(slices.Clone(plan.Opened), rom.Exercises[0])
	for _, c := range []struct {
		name      string
		was, next rom.Plan
		after     []protocol.Conflict
		want      []access.Act
	}{
		{"nothing", plan, plan, nil, nil},
		{"a stop", plan, stopped, nil, []access.Act{access.StopPlan}},
		{"going on after a stop", stopped, plan, nil, []access.Act{access.ResumeStopped}},
		{"narrower", plan, limits(-20), nil, []access.Act{access.NarrowPlan}},
		{"narrower and still past the protocol", plan, limits(-20), past, []access.Act{access.NarrowPlan}},
		{"wider", plan, limits(5), nil, []access.Act{access.ChangePlan}},
		{"wider than the protocol", plan, limits(5), past, []access.Act{access.ChangePlan, access.PassCeiling}},
		{"an exercise opened", plan, opened, nil, []access.Act{access.ChangePlan, access.OpenLock}},
	} {
		got := Acts(c.was, c.next, nil, c.after)
		slices.Sort(c.want)
		if !slices.Equal(got, c.want) {
			t.Errorf("%s: %v, want %v", c.name, got, c.want)
		}
	}
}

// Without an adopted protocol there is no plan, and what the surgeon has not answered counts as the stricter answer.
func TestFirst(t *testing.T) {
	all := protocol.All()
	i := slices.IndexFunc(all, func(p protocol.Protocol) bool { return len(p.Questions) > 0 })
	if i < 0 {
		t.Fatal("no shipped protocol asks the surgeon anything")
	}
	draft := all[i]
	own, err := protocol.Adopt(draft, "s-1", rom.MakeDate(2026, time.March, 2), nil)
	if err != nil {
		t.Fatal(err)
	}
	e := rom.Episode{ID: "e", Version: 1, State: rom.Planned, Side: rom.Right, Procedures: []rom.Procedure{draft.Procedure}, By: "s-1"}
	ch := protocol.Choices{Reason: "Enrolled", Rev: 1, By: "s-1", On: rom.MakeDate(2026, time.March, 2),
		Contact: rom.Contact{Clinic: "Harbour Shoulder (invented)", Phone: "+43 1 0000", Emergency: "112"}}
	var missing *NotAdoptedError
	if _, err := First(Adopted{}, e, ch, nil); !errors.As(err, &missing) || missing.Procedure != draft.Procedure {
		t.Errorf("nothing adopted: %v", err)
	}
	adopted := Adopted{draft.Procedure: own}
	open, err := First(adopted, e, ch, nil)
	if err != nil {
		t.Fatal(err)
	}
	yes, no := map[string]string{}, map[string]string{}
	for _, q := range own.Questions {
		yes[q.Key], no[q.Key] = "yes", "no"
	}
	ch.Answers = yes
	if strict, err := First(adopted, e, ch, nil); err != nil || !reflect.DeepEqual(strict, open) {
		t.Errorf("an open question is no yes: %v %v", open.Diff(strict), err)
	}
	ch.Answers = no
	if loose, err := First(adopted, e, ch, nil); err != nil || len(open.Diff(loose)) == 0 {
		t.Errorf("the answers change nothing: %v", err)
	}
}
