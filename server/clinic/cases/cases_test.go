package cases

import (
	"encoding/json"
	"fmt"
	"sync"
	"testing"
	"time"

	"unsling/engine/review"
	"unsling/engine/rom"
	"unsling/server/ledger"
)

// oneStore holds one patient; how often its staff were read is counted.
type oneStore struct {
	mu    sync.Mutex
	reads int
}

func (s *oneStore) Facts(rom.PatientID) (ledger.Facts, error)              { return ledger.Facts{}, nil }
func (s *oneStore) Authors(rom.PatientID) ([]ledger.Author, error)         { return nil, nil }
func (s *oneStore) Quarantine(rom.PatientID) ([]ledger.Quarantined, error) { return nil, nil }
func (s *oneStore) AllStaff() ([]ledger.Staff, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.reads++
	return []ledger.Staff{{ID: "left", Disabled: true}, {ID: "here"}}, nil
}

var clinic = ledger.Clinic{Name: "Harbour Shoulder (invented)", Zone: "Europe/Vienna", Deputy: "deputy"}

func source(s Store) Source {
	return Source{Store: s, History: func(b []byte) (h rom.History, err error) {
		if len(b) > 0 {
			err = json.Unmarshal(b, &h)
		}
		return h, err
	}}
}

// A panel is judged on all processors: whoever asks first, a finding of somebody who left goes to the deputy, every time.
func TestHandOverFromManyAtOnce(t *testing.T) {
	for range 200 {
		s := &oneStore{}
		a := source(s).AsOf(clinic, time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC))
		var all sync.WaitGroup
		for range 8 {
			all.Go(func() {
				found := []review.Finding{{Assigned: "left"}, {Assigned: "here"}, {}}
				if err := a.handOver(found); err != nil || found[0].Assigned != "deputy" || found[1].Assigned != "here" || found[2].Assigned != "" {
					t.Errorf("%+v, %v", found, err)
				}
			})
		}
		all.Wait()
		if s.reads != 1 {
			t.Fatalf("the staff were read %d times", s.reads)
		}
	}
}

// The minute is the clinic's, whatever zone the server runs in.
func TestMinuteOfTheClinic(t *testing.T) {
	a := source(&oneStore{}).AsOf(clinic, time.Date(2026, 3, 1, 23, 30, 0, 0, time.UTC))
	if a.Minute != 30 || a.Today != rom.MakeDate(2026, time.March, 2) {
		t.Errorf("%s, minute %d", a.Today, a.Minute)
	}
	if a := source(&oneStore{}).AsOf(ledger.Clinic{Zone: "Nowhere/None"}, a.At); a.At.Location() != time.UTC {
		t.Errorf("an unknown zone is %s", a.At.Location())
	}
}

// What is kept holds until something changes of which it was made, and not a minute longer than its span.
func TestKept(t *testing.T) {
	src := source(&oneStore{})
	at := func(day, hour, minute int) AsOf {
		return src.AsOf(clinic, time.Date(2026, 3, day, hour, minute, 0, 0, Zone(clinic)))
	}
	row := ledger.PanelRow{Patient: ledger.Patient{ID: "p"}, Facts: ledger.Facts{Seq: 7}, Phones: []ledger.Author{{ID: "a", State: ledger.Active}}}
	changed := func(change func(*ledger.PanelRow)) ledger.PanelRow {
		r := row
		r.Phones = append([]ledger.Author(nil), row.Phones...)
		change(&r)
		return r
	}
	k := NewKept[string](2)
	k.Put(at(2, 9, 0), row, "kept", Span{From: 9 * 60, Until: 17 * 60})
	for name, c := range map[string]struct {
		a    AsOf
		row  ledger.PanelRow
		want bool
	}{
		"at once":              {at(2, 9, 0), row, true},
		"before it falls due":  {at(2, 16, 59), row, true},
		"when it falls due":    {at(2, 17, 0), row, false},
		"a clock set back":     {at(2, 8, 59), row, false},
		"the next day":         {at(3, 9, 0), row, false},
		"a new line":           {at(2, 9, 1), changed(func(r *ledger.PanelRow) { r.Facts.Seq++ }), false},
		"a line set aside":     {at(2, 9, 1), changed(func(r *ledger.PanelRow) { r.Quarantined++ }), false},
		"a phone was revoked":  {at(2, 9, 1), changed(func(r *ledger.PanelRow) { r.Phones[0].State = ledger.Revoked }), false},
		"a phone was heard of": {at(2, 9, 1), changed(func(r *ledger.PanelRow) { r.Phones[0].LastSeen = at(2, 9, 1).At }), false},
		"somebody else":        {at(2, 9, 0), changed(func(r *ledger.PanelRow) { r.Patient.ID = "q" }), false},
	} {
		if got, ok := k.Get(c.a, c.row); ok != c.want || ok && got != "kept" {
			t.Errorf("%s: %q, %t", name, got, ok)
		}
	}
	k.Put(at(2, 9, 0), row, "ended", Span{Always: true})
	if _, ok := k.Get(at(20, 9, 0), row); !ok {
		t.Error("what has ended is judged again every day")
	}
	// When it is full, whoever was not asked for longest is forgotten, and nobody else.
	for i := range 2 {
		r := changed(func(r *ledger.PanelRow) { r.Patient.ID = rom.PatientID(fmt.Sprint("n", i)) })
		k.Put(at(2, 9, 0), r, "new", AllDay)
		k.Get(at(20, 9, 0), row) // asked for in between
	}
	if _, ok := k.Get(at(20, 9, 0), row); !ok {
		t.Error("the one that is asked for was forgotten")
	}
}
