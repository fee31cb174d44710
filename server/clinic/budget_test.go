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
	for i := own; i < n; i++ { // the others' logs do not matter to her list
		p.must(p.store.CreatePatient(ledger.Patient{ID: rom.PatientID(fmt.Sprint("p", i)), Name: fmt.Sprintf("Invented %06d", i), Zone: "Europe/Dublin", Lang: "en", Created: p.now}, []rom.StaffID{orr}, nil, p.trail(orr)))
	}
	for i := range own {
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
		p.must(p.store.CreatePatient(ledger.Patient{ID: rom.PatientID(fmt.Sprint("p", i)), Name: fmt.Sprintf("Invented %06d", i), Number: fmt.Sprint("N-", i), Zone: "Europe/Dublin", Lang: "en", Created: p.now}, []rom.StaffID{vega}, drafts, p.trail(vega)))
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
	took := func(w *person, path string) time.Duration {
		begin := time.Now()
		w.load(b, path)
		return time.Since(begin)
	}
	// In turns, so that what else the machine does meets both alike.
	median := func(path string, of ...*person) (out []time.Duration) {
		all := make([][]time.Duration, len(of))
		for range 45 {
			for i, w := range of {
				all[i] = append(all[i], took(w, path))
			}
		}
		for i := range all {
			slices.Sort(all[i])
			out = append(out, all[i][len(all[i])/2])
		}
		return out
	}
	for b.Loop() {
		five := median("/clinic/", large, small)
		b.ReportMetric(1.5, "budget-times")
		b.ReportMetric(float64(five[0])/float64(five[1]), "measured-times")
		b.ReportMetric(float64(five[1].Milliseconds()), "ms-of-500")
		b.ReportMetric(float64(median("/clinic/", many)[0].Milliseconds()), "ms-of-10000")
		b.ReportMetric(float64(median("/clinic/?find=000123", many)[0].Milliseconds()), "ms-searching-10000")
	}
}
