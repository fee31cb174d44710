package protocol

import (
	"slices"
	"strings"
	"testing"

	"unsling/engine/rom"
)

// adopted returns a shipped protocol as adopted by an invented surgeon.
func adopted(t testing.TB, id string) Protocol {
	t.Helper()
	p, ok := ByID(id)
	if !ok {
		t.Fatalf("no protocol %s", id)
	}
	p, err := Adopt(p, "dr-example", rom.MakeDate(2026, 1, 5), nil)
	if err != nil {
		t.Fatalf("adopt %s: %v", id, err)
	}
	return p
}

func TestShippedProtocolsHaveNoFaults(t *testing.T) {
	if len(All()) < 10 {
		t.Fatalf("only %d protocols are shipped", len(All()))
	}
	for _, p := range All() {
		file, ok := File(p.ID)
		if !ok {
			t.Fatalf("no file of %s", p.ID)
		}
		for _, f := range Check(file) {
			t.Errorf("%s: %v", p.ID, f)
		}
		if p.IsAdopted() {
			t.Errorf("%s is adopted: shipped protocols are drafts", p.ID)
		}
		if p.Draft == "" {
			t.Errorf("%s says nothing to its reviewer", p.ID)
		}
	}
	for _, proc := range rom.Procedures {
		if len(For(proc)) == 0 {
			t.Errorf("no protocol for %s", proc)
		}
	}
}

func TestEverySourceIsCited(t *testing.T) {
	sources := 0
	check := func(where string, s rom.Source) {
		sources++
		if !s.Mark.Valid() {
			t.Errorf("%s: %q has no mark", where, s)
		}
		if got, want := len(Cite(s.Key)), strings.Count(s.Key, "+")+1; got != want {
			t.Errorf("%s: %q has %d citations, want %d", where, s, got, want)
		}
	}
	for _, p := range All() {
		for _, s := range p.Sources() {
			check(p.ID, s)
		}
	}
	for _, e := range Catalogue() {
		check(string(e.ID), e.From)
		for _, l := range e.Locks {
			check(string(e.ID), l.From)
		}
	}
	for _, s := range Signs() {
		check(string(s.Sign), s.From)
	}
	for _, r := range PainRules() {
		check(r.Key, r.From)
	}
	if sources < 500 {
		t.Fatalf("only %d sources were seen", sources)
	}
}

func TestMemoryStaysVisible(t *testing.T) {
	// The staged goals of both consensus papers are known from memory only.
	for _, id := range []string{"cuff-repair-small-medium", "anterior-labral-repair"} {
		p, _ := ByID(id)
		if p.Weakest() != rom.Memory {
			t.Errorf("%s: weakest mark is %q, want memory", id, p.Weakest())
		}
		for _, ph := range p.Phases {
			for _, l := range ph.Limits {
				if strings.Contains(l.From.Key, "THIGPEN2016") || strings.Contains(l.From.Key, "GAUNT2010") {
					if l.From.Mark != rom.Memory {
						t.Errorf("%s %s %s: %v must be marked memory", id, ph.Key, l.Motion, l.From)
					}
				}
			}
		}
	}
}

// deg is a ceiling in degrees, open or locked.
const (
	open   = 999
	locked = -999
)

func TestPublishedRows(t *testing.T) {
	tests := []struct {
		source   string // and place in it
		protocol string
		day      int
		motion   rom.Motion
		class    rom.Class
		floor    int // -1: not compared
		ceiling  int
		active   int
	}{
		// ASSET 2016 staged goals; the lower bound is expected, the upper the ceiling; the row
		// "by week n" holds from day 7n. All memory.
		{"THIGPEN2016 by POW 2", "cuff-repair-small-medium", 13, rom.ForwardFlexion, rom.Locked, -1, locked, 0},
		{"THIGPEN2016 by POW 2", "cuff-repair-small-medium", 14, rom.ForwardFlexion, rom.Passive, 60, 90, 0},
		{"THIGPEN2016 by POW 2", "cuff-repair-small-medium", 14, rom.ER20, rom.Passive, 0, 20, 0},
		{"THIGPEN2016 by POW 2: ER90 not allowed", "cuff-repair-small-medium", 41, rom.ER90, rom.Locked, -1, locked, 0},
		{"THIGPEN2016 by POW 6", "cuff-repair-small-medium", 42, rom.ForwardFlexion, rom.ActiveAssisted, 90, 120, 0},
		{"THIGPEN2016 by POW 6", "cuff-repair-small-medium", 42, rom.ER20, rom.ActiveAssisted, 20, 30, 0},
		{"THIGPEN2016 by POW 9", "cuff-repair-small-medium", 63, rom.ForwardFlexion, rom.Active, 130, 155, 120},
		{"THIGPEN2016 by POW 9", "cuff-repair-small-medium", 63, rom.ER20, rom.Active, 30, 45, 0},
		{"THIGPEN2016 by POW 9", "cuff-repair-small-medium", 63, rom.ER90, rom.Passive, 45, 60, 0},
		{"THIGPEN2016 by POW 12", "cuff-repair-small-medium", 84, rom.ForwardFlexion, rom.Resisted, 140, open, 0},
		{"THIGPEN2016 by POW 12", "cuff-repair-small-medium", 84, rom.ER90, rom.Active, 75, open, 0},
		// ASSET 2010: goal and ceiling, memory.
		{"GAUNT2010 by POW 3", "anterior-labral-repair", 28, rom.ForwardFlexion, rom.ActiveAssisted, -1, 90, 0},
		{"GAUNT2010 by POW 3", "anterior-labral-repair", 28, rom.ER20, rom.ActiveAssisted, 10, 30, 0},
		{"GAUNT2010 by POW 3: ER90 contraindicated", "anterior-labral-repair", 28, rom.ER90, rom.Locked, -1, locked, 0},
		{"GAUNT2010 by POW 6", "anterior-labral-repair", 42, rom.ForwardFlexion, rom.Active, -1, 135, 115},
		{"GAUNT2010 by POW 6", "anterior-labral-repair", 42, rom.ER20, rom.Active, 35, 50, 0},
		{"GAUNT2010 by POW 9", "anterior-labral-repair", 63, rom.ForwardFlexion, rom.Resisted, 135, 155, 145},
		{"GAUNT2010 by POW 9", "anterior-labral-repair", 63, rom.ER20, rom.Active, 50, 65, 0},
		{"GAUNT2010 by POW 12: normal", "anterior-labral-repair", 84, rom.ForwardFlexion, rom.Resisted, -1, open, 0},
		{"CASE2018 Table 1, weeks 1-3", "anterior-labral-repair", 14, rom.ERSide, rom.Passive, -1, 0, 0},
		// Single practices.
		{"P14, weeks 0-4", "biceps-tenodesis", 0, rom.ForwardFlexion, rom.Passive, -1, 140, 0},
		{"P14, weeks 0-4", "biceps-tenodesis", 27, rom.ERSide, rom.Passive, -1, 40, 0},
		{"P14, weeks 4-8", "biceps-tenodesis", 28, rom.ForwardFlexion, rom.Active, -1, 160, 0},
		{"P14, no 90/90 ER to week 8", "biceps-tenodesis", 55, rom.ER90, rom.Locked, -1, locked, 0},
		{"P17, no limit from day 0", "capsular-release", 0, rom.ERSide, rom.Active, -1, open, 0},
		{"P17, no limit from day 0", "capsular-release", 0, rom.CrossBody, rom.Active, -1, open, 0},
		{"P4, none to week 6", "cuff-repair-large", 41, rom.ForwardFlexion, rom.Locked, -1, locked, 0},
		{"P4, weeks 6-10", "cuff-repair-large", 42, rom.ForwardFlexion, rom.Passive, 0, 100, 0},
		{"P4, weeks 6-10", "cuff-repair-large", 69, rom.ERSide, rom.Passive, 0, 30, 0},
		{"P3, massive: ER 0", "cuff-repair-massive", 42, rom.ERSide, rom.Passive, -1, 0, 0},
		{"P4, subscapularis: ER <= 0", "subscapularis-repair", 14, rom.ERSide, rom.Passive, -1, 0, 0},
		{"P4, subscapularis: abd <= 90", "subscapularis-repair", 14, rom.Abduction, rom.Passive, -1, 90, 0},
		{"P4, weeks 2-4", "posterior-labral-repair", 14, rom.ForwardFlexion, rom.Passive, -1, 60, 0},
		{"P4, weeks 2-4: IR 0", "posterior-labral-repair", 27, rom.IRSide, rom.Passive, -1, 0, 0},
		{"P9, weeks 6-12", "posterior-labral-repair", 42, rom.ForwardFlexion, rom.Active, -1, 135, 0},
		{"P9, weeks 6-12", "posterior-labral-repair", 42, rom.Abduction, rom.Active, -1, 120, 0},
		{"P10 P11, week 0-1", "slap-repair", 0, rom.ForwardFlexion, rom.Passive, -1, 60, 0},
		{"P13, ER to neutral to week 6", "slap-repair", 41, rom.ERSide, rom.ActiveAssisted, -1, 0, 0},
		{"P10 P11, weeks 5-6", "slap-repair", 42, rom.ForwardFlexion, rom.Active, -1, 145, 0},
	}
	for _, tt := range tests {
		p, ok := ByID(tt.protocol)
		if !ok {
			t.Fatalf("no protocol %s", tt.protocol)
		}
		l := p.phaseAt(tt.day).Limit(tt.motion)
		got := l.Ceiling.Whole()
		if l.Open {
			got = open
		}
		if l.Class == rom.Locked {
			got = locked
		}
		if l.Class != tt.class || got != tt.ceiling || l.ActiveCeil.Whole() != tt.active || (tt.floor >= 0 && l.Floor.Whole() != tt.floor) {
			t.Errorf("%s: %s day %d %s is %s, %d to %d (active %d); want %s, %d to %d (active %d)", tt.source, tt.protocol, tt.day, tt.motion,
				l.Class, l.Floor.Whole(), got, l.ActiveCeil.Whole(), tt.class, tt.floor, tt.ceiling, tt.active)
		}
	}
}

func TestLocksByProcedure(t *testing.T) {
	// From memory and a surgeon's to change; week 12 is complete on day 84.
	tests := []struct {
		exercise  rom.ExerciseID
		procedure rom.Procedure
		until     int // -1: no lock
	}{
		{rom.TowelBehindBack, rom.CuffRepair, 84},
		{rom.TowelBehindBack, rom.PosteriorLabralRepair, 84},
		{rom.TowelBehindBack, rom.CapsularRelease, -1},
		{rom.SideLyingIR, rom.CuffRepairLarge, 84},
		{rom.SideLyingIR, rom.PosteriorLabralRepair, 0},
		{rom.CrossBodyStretch, rom.CuffRepair, 84},
		{rom.CrossBodyStretch, rom.PosteriorLabralRepair, 0},
		{rom.DoorwayER, rom.SubscapularisRepair, 0},
		{rom.DoorwayER, rom.CuffRepair, -1},
		{rom.StickER, rom.SubscapularisRepair, 0},
		{rom.Pendulum, rom.AnteriorLabralRepair, 28}, // P6: no pendulum in weeks 0-4
		{rom.TableSlideFlexion, rom.CuffRepair, -1},
	}
	for _, tt := range tests {
		e, _ := Lookup(tt.exercise)
		for _, day := range []int{0, max(tt.until-1, 0), tt.until, 1000} {
			l, got := e.LockedBy([]rom.Procedure{tt.procedure}, day)
			want := tt.until == 0 || (tt.until > 0 && day < tt.until)
			if got != want || (got && l.Until != tt.until) {
				t.Errorf("%s after %s on day %d: locked %v until %d, want %v until %d", tt.exercise, tt.procedure, day, got, l.Until, want, tt.until)
			}
		}
	}
	e, _ := Lookup(rom.CrossBodyStretch)
	if l, ok := e.LockedBy([]rom.Procedure{rom.CuffRepair, rom.PosteriorLabralRepair}, 20); !ok || l.Until != 0 {
		t.Errorf("of two locks the longer must win, got %+v", l)
	}
	if len(Catalogue()) != len(rom.Exercises) {
		t.Fatalf("the catalogue has %d exercises, want %d", len(Catalogue()), len(rom.Exercises))
	}
	for i, e := range Catalogue() {
		if !e.ID.Valid() || e.Class < rom.Passive || e.Class > rom.Resisted || e.Position == "" {
			t.Errorf("exercise %d is not valid: %+v", i, e)
		}
	}
	// Fingers lift the arm up the wall and lowering loads it: never passive (memory).
	for _, id := range []rom.ExerciseID{rom.WallClimbFlexion, rom.WallClimbAbduction} {
		if e, _ := Lookup(id); e.Class != rom.ActiveAssisted {
			t.Errorf("%s is %s, want active-assisted", id, e.Class)
		}
	}
}

func TestSigns(t *testing.T) {
	want := map[rom.SignID]struct {
		urgency Urgency
		stops   bool
		source  string
	}{
		rom.SignChest:      {Emergency, true, "P11 P22"},
		rom.SignPaleHand:   {Emergency, true, "P24"},
		rom.SignDrowsy:     {Emergency, true, "memory"},
		rom.SignStroke:     {Emergency, true, "memory"},
		rom.SignAllergy:    {Emergency, true, "memory"},
		rom.SignFever:      {SameDay, false, "P11 P22 P23"},
		rom.SignWound:      {SameDay, false, "P11 P22 P23"},
		rom.SignCalf:       {SameDay, false, "P11 P22 P23"},
		rom.SignRisingPain: {SameDay, false, "P11 P22 P23"},
		rom.SignNumb:       {SameDay, false, "P11"},
		rom.SignPop:        {SameDay, true, "P4"},
		rom.SignFall:       {SameDay, true, "memory"},
		rom.SignHand:       {WithinDays, false, "IMAI2021"},
		rom.SignStiff:      {NextVisit, false, "memory"},
		rom.SignBulge:      {WithinDays, false, "memory"},
		rom.SignOther:      {SameDay, false, "derived"},
	}
	if len(Signs()) != len(rom.Signs) {
		t.Fatalf("%d signs have a rule, want %d", len(Signs()), len(rom.Signs))
	}
	for i, s := range Signs() {
		if s.Sign != rom.Signs[i] {
			t.Errorf("sign %d is %s, want %s", i, s.Sign, rom.Signs[i])
		}
		if w := want[s.Sign]; s.Urgency != w.urgency || s.Stops != w.stops {
			t.Errorf("%s is %s (stops %v), want %s (stops %v) by %s", s.Sign, s.Urgency, s.Stops, w.urgency, w.stops, w.source)
		}
	}
	if s := SignByID("something-new"); s.Urgency != SameDay || s.Sign != "something-new" {
		t.Errorf("an unknown sign is answered %+v, want the same day", s)
	}
	// VTE2023: 35 of 51 clots in days 0-14. PAUZENBERGER2017: infection at 28.9 (SD 14.7) days,
	// mean and two SD are 58. IMAI2021: hand lesions within two months, watched to week 10.
	for _, tt := range []struct {
		sign rom.SignID
		last int
	}{{rom.SignChest, 14}, {rom.SignCalf, 14}, {rom.SignFever, 58}, {rom.SignHand, 70}} {
		for _, day := range []int{0, tt.last, tt.last + 1} {
			got := slices.ContainsFunc(Watch(day), func(s SignRule) bool { return s.Sign == tt.sign })
			if want := day <= tt.last; got != want {
				t.Errorf("%s on day %d: watched %v, want %v", tt.sign, day, got, want)
			}
		}
	}
}

func TestPainRule(t *testing.T) {
	// P25, P26: 0-3 fine, 4-5 reduce, 6-10 stop. After a release the cap is 5 (derived).
	tests := []struct {
		limit int
		acts  string // for scores 0 to 10
	}{
		{3, "ffffeesssss"},
		{2, "fffeeesssss"},
		{5, "ffffffsssss"},
		{0, "feeeeesssss"},
	}
	letter := map[PainAct]byte{PainFine: 'f', PainEase: 'e', PainStop: 's'}
	for _, tt := range tests {
		for score := range 11 {
			act, rule, ok := Pain(tt.limit, score)
			if !ok || letter[act] != tt.acts[score] || rule.From.Key == "" {
				t.Errorf("pain %d under cap %d: %q by %+v, want %c", score, tt.limit, act, rule, tt.acts[score])
			}
		}
	}
	for _, score := range []int{-1, 11} {
		if _, _, ok := Pain(3, score); ok {
			t.Errorf("a pain of %d was judged", score)
		}
	}
}

func TestForbiddenKeysAreUsed(t *testing.T) {
	used := map[string]bool{}
	for _, p := range All() {
		for _, ph := range p.Phases {
			for _, f := range ph.Forbidden {
				used[f] = true
			}
		}
	}
	for _, f := range Forbidden {
		if !used[f] {
			t.Errorf("no protocol forbids %q", f)
		}
	}
}
