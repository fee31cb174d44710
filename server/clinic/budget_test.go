package clinic

import (
	"fmt"
	"slices"
	"testing"
	"time"

	"unsling/engine/protocol"
	"unsling/engine/rom"
	"unsling/server/ledger"
	"unsling/sync/wire"
)

// crowd puts n patients into the store, past the pages: the first own of them
// are vega's, the rest another surgeon's. Every one has an episode that was
// operated on and a plan.
func (p *practice) crowd(n, own int) {
	p.t.Helper()
	p.adopt(rom.CuffRepair)
	pr, err := protocol.Adopt(protocol.For(rom.CuffRepair)[0], vega, p.today(), nil)
	p.must(err)
	for i := range n {
		e := rom.Episode{ID: rom.EpisodeID(fmt.Sprint("e", i)), Version: 1, State: rom.Ongoing, Side: rom.Left, Procedures: []rom.Procedure{rom.CuffRepair}, Surgery: p.today().Add(-40 - i%60),
			ConfirmedBy: vega, ConfirmedOn: p.today().Add(-30), SideBy: marsh, By: vega}
		plan, err := protocol.MakePlan([]protocol.Protocol{pr}, e, protocol.Choices{Reason: "Enrolled", Rev: 1, By: vega, On: p.today().Add(-50),
			Contact: rom.Contact{Clinic: "Quay", Phone: "1", AfterHours: "2", Emergency: "112"}, Answers: map[string]string{}})
		p.must(err)
		var drafts []ledger.Draft
		for kind, body := range map[wire.Kind]any{wire.KindEpisode: e, wire.KindPlan: plan} {
			raw, v, err := wire.EncodeBody(kind, body)
			p.must(err)
			drafts = append(drafts, ledger.Draft{Kind: kind, V: v, Body: raw, At: p.now.AddDate(0, 0, -50), Zone: "Europe/Dublin"})
		}
		slices.SortFunc(drafts, func(a, b ledger.Draft) int { return len(a.Kind) - len(b.Kind) })
		who := vega
		if i >= own {
			who = orr
		}
		p.must(p.store.CreatePatient(ledger.Patient{ID: rom.PatientID(fmt.Sprint("p", i)), Name: fmt.Sprintf("Invented %06d", i), Number: fmt.Sprint("N-", i), Zone: "Europe/Dublin", Lang: "en", Created: p.now}, []rom.StaffID{who}, drafts, p.trail(who)))
	}
}

// BenchmarkBudgetDesk: the page of a watch list of 500 patients in a store of
// 100,000 within one and a half times the same in a store of 1,000, and what a
// person with 10,000 patients waits for it.
func BenchmarkBudgetDesk(b *testing.B) {
	open := func(n, own int) *person {
		p := newPractice(b)
		p.crowd(n, own)
		w := p.as(vega)
		w.load(b, "/clinic/") // judged once
		return w
	}
	small, large, many := open(1000, 500), open(100_000, 500), open(10_000, 10_000)
	median := func(w *person, path string) time.Duration {
		var all []time.Duration
		for range 9 {
			begin := time.Now()
			w.load(b, path)
			all = append(all, time.Since(begin))
		}
		slices.Sort(all)
		return all[4]
	}
	for b.Loop() {
		var ratios []float64
		for range 9 {
			ratios = append(ratios, float64(median(large, "/clinic/"))/float64(median(small, "/clinic/")))
		}
		slices.Sort(ratios)
		b.ReportMetric(1.5, "budget-times")
		b.ReportMetric(ratios[4], "measured-times")
		b.ReportMetric(float64(median(small, "/clinic/").Milliseconds()), "ms-of-500")
		b.ReportMetric(float64(median(many, "/clinic/").Milliseconds()), "ms-of-10000")
		b.ReportMetric(float64(median(many, "/clinic/?find=000123").Milliseconds()), "ms-searching-10000")
	}
}
