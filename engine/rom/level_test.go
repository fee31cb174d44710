package rom

import "testing"

// HA2021: T1 to T12 are 1 to 12, L1 to L5 13 to 17, the sacrum 18.
func TestLevelNames(t *testing.T) {
	for l, name := range map[Level]string{1: "T1", 7: "T7", 12: "T12", 13: "L1", 15: "L3", 17: "L5", 18: "sacrum", 0: "no level", 21: "no level"} {
		if l.String() != name {
			t.Errorf("%d is %q, want %q", int(l), l, name)
		}
	}
	for l := LevelT1; l <= LevelThigh; l++ {
		if got, ok := ParseLevel(" " + l.String()); !ok || got != l {
			t.Errorf("%s reads %s, %v", l, got, ok)
		}
	}
	for _, s := range []string{"", "T0", "T13", "L6", "C7", "left", "no level"} {
		if got, ok := ParseLevel(s); ok {
			t.Errorf("%q reads %s", s, got)
		}
	}
}
