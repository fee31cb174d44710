package ledger

import (
	"errors"
	"testing"
	"time"

	"unsling/engine/rom"
)

// A clinic without hours, a number outside them and a deputy cannot switch
// monitoring on (common practice, no source).
func TestMonitoringNeedsHoursNumbersAndDeputy(t *testing.T) {
	whole := Clinic{Phone: "1", AfterHours: "2", Deputy: "roth", Hours: []Hours{{Day: time.Monday, From: 480, To: 1020}}}
	if !whole.Monitoring() {
		t.Error("a clinic with everything cannot monitor")
	}
	for name, spoil := range map[string]func(*Clinic){
		"hours": func(c *Clinic) { c.Hours = nil }, "phone": func(c *Clinic) { c.Phone = "" },
		"after hours": func(c *Clinic) { c.AfterHours = "" }, "deputy": func(c *Clinic) { c.Deputy = "" },
	} {
		c := whole
		spoil(&c)
		if c.Monitoring() {
			t.Errorf("monitors without %s", name)
		}
	}
}

func TestRolesAndStaleness(t *testing.T) {
	for _, r := range []Role{Surgeon, Therapist, Assistant, Administrator} {
		if !r.Valid() {
			t.Errorf("%s is no role", r)
		}
	}
	if Role("").Valid() || Role("nurse").Valid() {
		t.Error("an unknown role is valid")
	}
	err := error(&StaleError{Episode: "e1", Base: 1, Newest: 2})
	if !errors.Is(err, ErrStale) || !errors.Is(err, rom.ErrStale) {
		t.Error("a stale error is not ErrStale")
	}
}
