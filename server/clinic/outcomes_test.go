package clinic

import (
	"bytes"
	stdcsv "encoding/csv"
	"fmt"
	"net/http"
	"slices"
	"strings"
	"testing"

	"unsling/engine/dose"
	"unsling/engine/rom"
	"unsling/engine/trend"
	"unsling/server/ledger"
	"unsling/sync/wire"
)

// The quartiles of two worked examples of "Quartile" in Wikipedia, by
// Hyndman & Fan 1996 type 7 (R's default): 6, 7, 15, 36, 39, 40, 41, 42, 43,
// 47, 49 has 25.5, 40, 42.5; 7, 15, 36, 39, 40, 41 has 20.25, 37.5, 39.75
// (tenths: 20.3 and 39.8).
func TestQuartilesOfWorkedExamples(t *testing.T) {
	for _, c := range []struct {
		of             []int
		low, mid, high rom.Degrees
	}{
		{[]int{49, 6, 7, 15, 36, 39, 40, 41, 42, 43, 47}, 255, 400, 425},
		{[]int{41, 7, 15, 36, 39, 40}, 203, 375, 398},
		{[]int{5}, 50, 50, 50},
	} {
		var values []rom.Degrees
		for _, n := range c.of {
			values = append(values, rom.Deg(n))
		}
		if s := spreadOf(values); s.Low != c.low || s.Mid != c.mid || s.High != c.high || s.N != len(c.of) {
			t.Errorf("%v: %+v", c.of, s)
		}
	}
}

// No number of fewer than five people can be read or worked out: what is
// hidden of one partition comes to five or more together, unless everything
// is hidden (secondary suppression; Willenborg & de Waal, Elements of
// Statistical Disclosure Control, 2001, from memory).
func TestHiddenCannotBeWorkedOut(t *testing.T) {
	for a := range 9 {
		for b := range 9 {
			for c := range 9 {
				counts := []int{a, b, c}
				hidden := hide(counts)
				sum, shown := 0, 0
				for i, n := range counts {
					switch {
					case hidden[i]:
						sum += n
					case n > 0 && n < leastShown:
						t.Fatalf("%v: %d is shown", counts, n)
					case n > 0:
						shown++
					}
				}
				if sum > 0 && sum < leastShown && shown > 0 {
					t.Fatalf("%v %v: the hidden ones are %d", counts, hidden, sum)
				}
			}
		}
	}
}

// cohort makes n operated patients whose flexion at week 12 is angles[i].
func (p *practice) cohort(angles ...int) (out []*patient) {
	p.t.Helper()
	p.adopt(rom.CuffRepair)
	for i, a := range angles {
		form := enrolForm1(fmt.Sprintf("Person Number%d", i))
		form.Set("surgery", p.today().Add(-120).String())
		x := p.enrol(form).operated()
		e := x.episode()
		rec := &visit{desk: p.desk, at: p.now, clinic: testClinic(), asOf: p.desk.source().AsOf(testClinic(), p.now)}
		rec.patient.ID, rec.staff.ID = x.id, quill
		r := rom.Reading{Episode: e.ID, Side: e.Side, Motion: rom.ForwardFlexion, Class: rom.Passive, Method: rom.Goniometer, Position: rom.Supine, Angle: rom.Deg(a), SE: rom.Deg(4), By: quill, On: e.Surgery.Add(84)}
		p.must(rec.record(wire.KindReading, r))
		r.Motion, r.Angle = rom.ERSide, rom.Deg(40)
		p.must(rec.record(wire.KindReading, r))
		out = append(out, x)
	}
	return out
}

// What the page says of a cohort is what one works out by hand, beside the
// published mean of the control group of HA2021 (Table 3): 138.9 (24.0) at
// month 3, and the rate of SCIREP2022 (flexion below 120, or rotation below
// 30, at month 3): two of six.
func TestOutcomesOfACohort(t *testing.T) {
	p := newPractice(t)
	p.cohort(110, 118, 125, 130, 140, 150)
	w := p.as(vega)
	page := w.get("/clinic/outcomes")
	text := page.page.words()
	for _, want := range []string{"all: 6 episodes", "128° 120° – 138° 6", "SCIREP2022 month 3 2 of 6 (33 %)", "HA2021 read", "Nobody is named"} {
		if !strings.Contains(text, want) {
			t.Errorf("the page lacks %q: %s", want, text)
		}
	}
	if strings.Contains(page.body, "Person") {
		t.Error("the page names a patient")
	}
	files := unzip(t, []byte(w.get("/clinic/outcomes/file").body))
	rows, err := stdcsv.NewReader(bytes.NewReader(files["outcomes.csv"])).ReadAll()
	if err != nil || len(files["dictionary.csv"]) < 500 {
		t.Fatal(err, len(files["dictionary.csv"]))
	}
	var flexion, stiff []string
	for _, r := range rows {
		if r[3] == "FF" {
			flexion = r
		}
		if r[3] == "SCIREP2022" {
			stiff = r
		}
	}
	if strings.Join(flexion, "|") != "cuff-repair|all|motion|FF|week 12|clinic|6|127.5|119.8|137.5||114.9|138.9|162.9|HA2021 read|" {
		t.Errorf("%q", flexion)
	}
	if strings.Join(stiff[:11], "|") != "cuff-repair|all|stiffness|SCIREP2022|month 3||6||||2" {
		t.Errorf("%q", stiff)
	}
	for _, x := range []string{"Person", "N-"} {
		if bytes.Contains(files["outcomes.csv"], []byte(x)) {
			t.Errorf("the file holds %q", x)
		}
	}
	own := w.get("/clinic/outcomes?rater=own")
	if !strings.Contains(own.page.words(), "No readings at these times yet") {
		t.Error("the clinic's readings are pooled with the patients' own")
	}
}

// Four people: nothing that a person reached stands on the page or in the
// file. Somebody of another care team, an assistant, an administrator see
// nothing at all.
func TestSmallGroupsStayHidden(t *testing.T) {
	p := newPractice(t)
	p.cohort(110, 118, 125, 131)
	w := p.as(vega)
	for _, q := range []string{"", "?by=version", "?by=year"} {
		page := w.get("/clinic/outcomes" + q)
		file := unzip(t, []byte(w.get("/clinic/outcomes/file"+q).body))["outcomes.csv"]
		for _, n := range []string{"110", "118", "125", "131", "122", "121.5"} {
			if strings.Contains(page.page.words(), n+"°") || bytes.Contains(file, []byte(","+n)) {
				t.Errorf("%s shows %s of four people", q, n)
			}
		}
		if !strings.Contains(page.page.words(), "Small numbers") || !strings.Contains(page.page.words(), "fewer than 5") {
			t.Error("the page does not say that the numbers are small")
		}
		rows, err := stdcsv.NewReader(bytes.NewReader(file)).ReadAll()
		if err != nil || len(rows) < 2 {
			t.Fatal("the file is empty", err)
		}
		for _, r := range rows[1:] {
			if r[6]+r[7]+r[8]+r[9]+r[10]+r[15] != "" {
				t.Errorf("%q has a value", r)
			}
		}
	}
	if text := p.as(orr).get("/clinic/outcomes").page.words(); !strings.Contains(text, "Nobody yet") {
		t.Error("a surgeon sees outcomes of patients of others")
	}
	for _, who := range []rom.StaffID{marsh, fenn} {
		for _, at := range []string{"/clinic/outcomes", "/clinic/outcomes/file"} {
			x := p.as(who)
			x.refused(x.get(at), http.StatusForbidden, "your role may not do this")
		}
	}
}

// The groups of a division and the definitions are complete: every published
// definition by angles is judged somewhere.
func TestEveryDefinitionIsJudged(t *testing.T) {
	for _, d := range []trend.Definition{trend.Parsons2010, trend.Chung2013, trend.SciRep2022, trend.Brislin2007, trend.Tauro2006, trend.Back2014, trend.Capsulitis} {
		if !slices.ContainsFunc(judgings, func(j judging) bool { return j.Definition == d }) {
			t.Errorf("%s is judged on no day", d)
		}
	}
}

// Adherence by hand: a patient whose phone told of the three last days of week
// 4 did half of what was asked on them; the days before are unknown, and
// neither missed nor counted (five such people, so that it is shown).
func TestAdherenceCountsKnownDays(t *testing.T) {
	known := func(percent, days, unknown int) outcomeCase {
		a := dose.Adherence{Days: days, Unknown: unknown, Percent: percent, OK: days > 0}
		return outcomeCase{adherence: []dose.Adherence{a, {}, {}}}
	}
	group := []outcomeCase{known(50, 3, 25), known(60, 28, 0), known(70, 28, 0), known(80, 28, 0), known(90, 28, 0), known(0, 0, 28)}
	a := adheredOf([][]outcomeCase{group}, 0)[0]
	// Days without news: 25 + 28 of 115 + 53.
	if a.Percent.N != 5 || a.Percent.Mid.Whole() != 70 || a.Percent.Low.Whole() != 60 || a.Percent.High.Whole() != 80 || a.DaysUnknown != 32 {
		t.Errorf("%+v", a)
	}
	if a := adheredOf([][]outcomeCase{group[:4]}, 0)[0]; !a.Percent.Hidden || a.Percent.N != 0 || a.DaysUnknown != 0 {
		t.Errorf("four people: %+v", a)
	}
	if a := adheredOf([][]outcomeCase{group[5:]}, 0)[0]; a.Percent.N != 0 || a.Percent.Hidden {
		t.Errorf("nobody known: %+v", a)
	}
}

// A patient's phone, a plan and a day: what is unknown stays unknown in what
// the episode adds, and a new record is counted at once.
func TestOutcomesFollowTheLog(t *testing.T) {
	p := newPractice(t)
	x := p.measured("Ada Rowe")
	v := &visit{desk: p.desk, at: p.now, today: p.today(), clinic: testClinic(), asOf: p.desk.source().AsOf(testClinic(), p.now), zone: p.now.Location(), staff: mustStaff(p, vega)}
	panel, err := p.store.Heads(vega)
	p.must(err)
	cases, err := v.outcomeCases(panel)
	p.must(err)
	if len(cases) != 1 {
		t.Fatalf("%d cases", len(cases))
	}
	// The plan was made and paused today: nothing was asked, so there is no
	// share of it, good or bad.
	if a := cases[0].adherence[0]; a.OK || a.Days != 0 || a.Due != 0 {
		t.Errorf("%+v", a)
	}
	if cases[0].own[rom.ForwardFlexion] != nil {
		t.Error("day 30 belongs to no time")
	}
	e := x.episode()
	rec := &visit{desk: p.desk, at: p.now, clinic: testClinic(), asOf: p.desk.source().AsOf(testClinic(), p.now)}
	rec.patient.ID, rec.staff.ID = x.id, quill
	p.must(rec.record(wire.KindReading, rom.Reading{Episode: e.ID, Side: e.Side, Motion: rom.Abduction, Class: rom.Passive, Method: rom.Goniometer, Angle: rom.Deg(70), SE: rom.Deg(4), By: quill, On: e.Surgery.Add(14)}))
	panel, err = p.store.Heads(vega)
	p.must(err)
	cases, err = v.outcomeCases(panel)
	p.must(err)
	if got := cases[0].clinic[rom.Abduction]; got == nil || got[0] == nil || *got[0] != rom.Deg(70) {
		t.Errorf("%v", got)
	}
	if c := cases[0].episode; c.ID != "" || c.By != "" || c.ConfirmedBy != "" {
		t.Errorf("a case names somebody: %+v", c)
	}
}

func mustStaff(p *practice, id rom.StaffID) ledger.Staff {
	p.t.Helper()
	row, err := p.store.Staff(id)
	p.must(err)
	return row
}
