package clinic

import (
	"fmt"
	"net/http"
	"net/http/httptest"
	"testing"

	"unsling/engine/rom"
	"unsling/sync/wire"
)

// fill enrols n patients, each with about six weeks of records.
func fill(b *testing.B, p *practice, n int) *patient {
	b.Helper()
	var last *patient
	for i := range n {
		x := p.running(fmt.Sprintf("Invented %04d", i))
		e := x.episode()
		ph := x.phone()
		for day := range 40 {
			at := p.now.AddDate(0, 0, day-40)
			ph.write(at, wire.KindReading, own(e, rom.ForwardFlexion, 40+day))
			two := 2
			ph.write(at, wire.KindSession, rom.Session{Episode: e.ID, ID: rom.SessionID(p.id("s")), Due: rom.DateOf(at), Slot: 1, Phase: "passive", Seconds: 600, Ended: rom.Finished, Before: &two, After: &two,
				Items: []rom.SessionItem{{Exercise: rom.TableSlideFlexion, Motion: rom.ForwardFlexion, Dose: rom.Dose{Hold: 20, Reps: 5, Rest: 10, PerDay: 3}, Holds: []rom.Hold{{Tenths: 200, Counted: true}, {Tenths: 200, Counted: true}}}}})
		}
		ph.exchange()
		last = x
	}
	return last
}

// load asks for a page and reads nothing of it.
func (w *person) load(b *testing.B, path string) {
	r := httptest.NewRequest("GET", "https://clinic.test"+path, nil)
	r.AddCookie(&http.Cookie{Name: w.p.desk.Cookies.Name(), Value: w.cookie})
	rec := httptest.NewRecorder()
	w.p.http.ServeHTTP(rec, r)
	if rec.Code != http.StatusOK {
		b.Fatal(rec.Code)
	}
}

// The watch list of 500 patients, judged already and judged anew.
func BenchmarkWatchList(b *testing.B) {
	p := newPractice(b)
	fill(b, p, 500)
	w := p.as(vega)
	get := func(b *testing.B) { w.load(b, "/clinic/") }
	b.Run("kept", func(b *testing.B) {
		get(b)
		for b.Loop() {
			get(b)
		}
	})
	b.Run("anew", func(b *testing.B) {
		for b.Loop() {
			p.desk.judged.Forget()
			get(b)
		}
	})
}

// One patient's page with six weeks of records.
func BenchmarkPatientPage(b *testing.B) {
	p := newPractice(b)
	x := fill(b, p, 1)
	w := p.as(vega)
	for b.Loop() {
		w.load(b, x.base)
	}
}
