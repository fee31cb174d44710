package rom

import (
	"encoding/json"
	"math"
	"testing"
	"time"
)

func TestDates(t *testing.T) {
	// The Gregorian calendar (ISO 8601): days between known dates.
	tests := []struct {
		from, to string
		days     int
	}{
		{"2024-02-28", "2024-03-01", 2}, {"2023-02-28", "2023-03-01", 1}, {"1900-02-28", "1900-03-01", 1},
		{"2000-02-28", "2000-03-01", 2}, {"2100-02-28", "2100-03-01", 1}, {"1969-12-31", "1970-01-02", 2},
		{"1900-01-01", "2199-12-31", 109572},
	}
	for _, tt := range tests {
		a, err1 := ParseDate(tt.from)
		b, err2 := ParseDate(tt.to)
		if err1 != nil || err2 != nil || b.Sub(a) != tt.days || a.Add(tt.days) != b || a.String() != tt.from || b.String() != tt.to {
			t.Errorf("%s to %s: %d days (%v %v), want %d", tt.from, tt.to, b.Sub(a), err1, err2, tt.days)
		}
	}
	for _, bad := range []string{"", "2026-02-30", "26-01-01", "1899-12-31", "2200-01-01", "0202-06-01", "2026-1-1", "2026-01-01T00:00"} {
		if d, err := ParseDate(bad); err == nil {
			t.Errorf("%q read as %s", bad, d)
		}
	}
	if d := MakeDate(2026, 3, 2); d.Weekday() != time.Monday {
		t.Errorf("2 March 2026 is a %s", d.Weekday())
	}
	zone := time.FixedZone("", 14*3600)
	if d := DateOf(time.Date(2026, 1, 1, 0, 30, 0, 0, zone)); d.String() != "2026-01-01" {
		t.Errorf("half past midnight far in the east is %s", d)
	}
	var x struct {
		D Date `json:"d"`
	}
	if err := json.Unmarshal([]byte(`{"d":"2024-02-29"}`), &x); err != nil || x.D.String() != "2024-02-29" {
		t.Errorf("%s: %v", x.D, err)
	}
	if err := json.Unmarshal([]byte(`{"d":""}`), &x); err != nil || !x.D.IsZero() || x.D.String() != "" {
		t.Errorf("no date reads as %q: %v", x.D, err)
	}
}

func TestDegrees(t *testing.T) {
	tests := []struct {
		x    float64
		d    Degrees
		ok   bool
		text string
	}{{92, 920, true, "92"}, {92.54, 925, true, "92.5"}, {92.55, 926, true, "92.6"}, {-0.05, -1, true, "-0.1"}, {0, 0, true, "0"},
		{math.NaN(), 0, false, "0"}, {math.Inf(1), 0, false, "0"}, {math.Inf(-1), 0, false, "0"}, {361, 0, false, "0"}}
	for _, tt := range tests {
		if d, ok := FromFloat(tt.x); d != tt.d || ok != tt.ok || d.String() != tt.text {
			t.Errorf("%v: %d %v %q, want %d %v %q", tt.x, d, ok, d.String(), tt.d, tt.ok, tt.text)
		}
	}
	for d, whole := range map[Degrees]int{925: 93, 924: 92, -925: -93, 0: 0} {
		if d.Whole() != whole {
			t.Errorf("%s is shown as %d, want %d", d, d.Whole(), whole)
		}
	}
}

func TestSources(t *testing.T) {
	var s Source
	for text, ok := range map[string]bool{"THIGPEN2016 memory": true, "P1+P2 practice": true, "": true, "THIGPEN2016": false, "THIGPEN2016 sure": false, " memory": false} {
		if err := s.UnmarshalText([]byte(text)); (err == nil) != ok || (ok && s.String() != text) {
			t.Errorf("%q: %v, %q", text, err, s)
		}
	}
	a, b := Source{"A", Read}, Source{"B", Memory}
	if got := a.Join(b).String(); got != "A+B memory" {
		t.Errorf("joined: %s", got)
	}
}

func TestClearances(t *testing.T) {
	day := func(n int) Date { return MakeDate(2026, 3, 2).Add(n) }
	act := func(author Author, n int64, on int, withdrawn bool) Entry[Clearance] {
		return Entry[Clearance]{Meta: Meta{Ref: Ref{author, n}}, Body: Clearance{Episode: "e", Phase: "p", On: day(on), Withdrawn: withdrawn, By: "dr"}}
	}
	tests := []struct {
		name string
		acts []Entry[Clearance]
		on   int
		ok   bool
	}{
		{"none", nil, 20, false},
		{"cleared", []Entry[Clearance]{act("c-1", 1, 14, false)}, 14, true},
		{"not yet", []Entry[Clearance]{act("c-1", 1, 14, false)}, 13, false},
		{"withdrawn later", []Entry[Clearance]{act("c-1", 1, 14, false), act("c-1", 2, 16, true)}, 16, false},
		{"before it was withdrawn", []Entry[Clearance]{act("c-1", 1, 14, false), act("c-1", 2, 16, true)}, 15, true},
		{"same day, the later act", []Entry[Clearance]{act("c-1", 2, 14, false), act("c-1", 1, 14, true)}, 14, true},
		{"same day, two ledgers: the withdrawal", []Entry[Clearance]{act("c-1", 9, 14, false), act("c-2", 1, 14, true)}, 14, false},
		{"same day, two ledgers, other order", []Entry[Clearance]{act("c-2", 1, 14, true), act("c-1", 9, 14, false)}, 14, false},
	}
	for _, tt := range tests {
		if _, ok := (History{Clearances: tt.acts}).Cleared("e", "p", day(tt.on)); ok != tt.ok {
			t.Errorf("%s: %v, want %v", tt.name, ok, tt.ok)
		}
	}
}

func TestEpisodes(t *testing.T) {
	order := []EpisodeState{Planned, Confirmed, Ongoing, Discharged, Withdrawn}
	allowed := map[EpisodeState]string{Planned: "110 0 1", Confirmed: "011 0 1", Ongoing: "001 1 1", Discharged: "000 0 0", Withdrawn: "000 0 0"}
	for _, s := range order {
		got := ""
		for i, next := range order {
			if i > 2 {
				got += " "
			}
			if s.CanBecome(next) {
				got += "1"
			} else {
				got += "0"
			}
		}
		if got != allowed[s] {
			t.Errorf("%s can become %s, want %s", s, got, allowed[s])
		}
	}
	good := Episode{ID: "e", Version: 1, State: Confirmed, Side: Left, Procedures: []Procedure{CuffRepair}, Surgery: 20000, ConfirmedBy: "dr", SideBy: "pt", By: "dr"}
	if err := good.Validate(); err != nil {
		t.Fatal(err)
	}
	for name, change := range map[string]func(*Episode){
		"no side": func(e *Episode) { e.Side = "" }, "one person confirms both": func(e *Episode) { e.SideBy = e.ConfirmedBy },
		"no day": func(e *Episode) { e.Surgery = 0 }, "nothing done": func(e *Episode) { e.Procedures = nil },
		"unknown procedure": func(e *Episode) { e.Procedures = []Procedure{"x"} }, "unknown state": func(e *Episode) { e.State = "x" },
	} {
		e := good
		if change(&e); e.Validate() == nil {
			t.Errorf("%s: accepted", name)
		}
	}
	// Two versions of one number (two ledgers after a restored backup) and an unknown id.
	h := History{Episodes: []Entry[Episode]{{Body: good}, {Body: Episode{ID: "e", Version: 2, State: Ongoing}}, {Body: Episode{ID: "f", Version: 1}}}}
	if e, ok := h.Episode("e"); !ok || e.Version != 2 {
		t.Errorf("newest version is %d", e.Version)
	}
	if _, ok := h.Episode("x"); ok || len(h.EpisodeIDs()) != 2 {
		t.Error("an unknown episode was found")
	}
}

func TestBodies(t *testing.T) {
	angle := func(d Degrees) *Degrees { return &d }
	session := func(h Hold) Session {
		return Session{Episode: "e", ID: "s", Ended: Finished, Items: []SessionItem{{Exercise: DoorwayER, Motion: ERSide, Dose: Dose{Reps: 5}, Holds: []Hold{h}}}}
	}
	for name, s := range map[string]Session{
		"negative hold": session(Hold{Tenths: -1}), "hold of hours": session(Hold{Tenths: 36001}), "angle beyond anatomy": session(Hold{Tenths: 1, Angle: angle(Deg(121))}),
		"no end": {Episode: "e", ID: "s"}, "no id": {Episode: "e", Ended: Finished},
	} {
		if s.Validate() == nil {
			t.Errorf("%s: accepted", name)
		}
	}
	good := session(Hold{Tenths: 200, Counted: true, Angle: angle(Deg(30))})
	if err := good.Validate(); err != nil || good.Counted() != 1 || good.Asked() != 5 {
		t.Errorf("%v, %d of %d", err, good.Counted(), good.Asked())
	}
	if (Sign{Sign: "from a newer phone"}).Validate() != nil || (Sign{}).Validate() == nil {
		t.Error("a sign nobody knows yet must be kept, none at all refused")
	}
	if (Pain{Score: 11, When: PainAtRest}).Validate() == nil || (Pain{Score: 3, When: "x"}).Validate() == nil || (Pain{Score: 3, When: PainAtNight}).Validate() != nil {
		t.Error("pain scores run from 0 to 10 at a known time")
	}
	reading := Reading{Episode: "e", Side: Left, Motion: ERSide, Method: Photo, Class: Passive, Angle: Deg(40)}
	if err := reading.Validate(); err != nil {
		t.Error(err)
	}
	reading.Angle = Deg(121)
	if reading.Validate() == nil {
		t.Error("121 degrees of external rotation at the side: accepted")
	}
}

// TestCurrentEpisode: of several episodes the phone shows the one that permits
// what may be done now; an operation whose day has come counts before all, and
// one that is only booked never hides the shoulder that heals.
func TestCurrentEpisode(t *testing.T) {
	day := MakeDate(2026, 3, 2)
	entry := func(id EpisodeID, state EpisodeState, surgery Date, postponed bool) Entry[Episode] {
		return Entry[Episode]{Body: Episode{ID: id, Version: 1, State: state, Surgery: surgery, Postponed: postponed}}
	}
	healing := entry("healing", Ongoing, day.Add(-60), false)
	for _, tt := range []struct {
		name   string
		second Entry[Episode]
		want   EpisodeID
	}{
		{"second shoulder booked", entry("b", Planned, day.Add(30), false), "healing"},
		{"booked without a date", entry("b", Planned, 0, false), "healing"},
		{"booked, postponed, the old date gone by", entry("b", Planned, day.Add(-3), true), "healing"},
		{"second operation today, not confirmed", entry("b", Planned, day, false), "b"},
		{"second operation confirmed", entry("b", Confirmed, day.Add(-1), false), "b"},
		{"second operation withdrawn", entry("b", Withdrawn, day.Add(-1), false), "healing"},
	} {
		for _, list := range [][]Entry[Episode]{{healing, tt.second}, {tt.second, healing}} {
			if got := (History{Episodes: list}).Current(day); got != tt.want {
				t.Errorf("%s: %q, want %q", tt.name, got, tt.want)
			}
		}
	}
	ended := entry("ended", Discharged, day.Add(-400), false)
	if got := (History{Episodes: []Entry[Episode]{ended}}).Current(day); got != "ended" {
		t.Errorf("only an ended episode: %q", got)
	}
	if got := (History{Episodes: []Entry[Episode]{ended, entry("b", Planned, 0, false)}}).Current(day); got != "b" {
		t.Errorf("booked after an ended one: %q", got)
	}
	if got := (History{}).Current(day); got != "" {
		t.Errorf("no episode: %q", got)
	}
}
