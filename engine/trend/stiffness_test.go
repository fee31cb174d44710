package trend

import (
	"fmt"
	"os"
	"strings"
	"testing"

	"unsling/engine/rom"
)

// Scenario file: every published definition by name, boundaries exact, only in
// its own time window.
func TestDefinitionsOfStiffness(t *testing.T) {
	text, err := os.ReadFile("testdata/stiffness.txt")
	if err != nil {
		t.Fatal(err)
	}
	var c *course
	name, asked := "", map[Definition]int{}
	for i, line := range strings.Split(string(text), "\n") {
		word := strings.Fields(line)
		if len(word) == 0 || word[0] == "#" || strings.HasPrefix(line, "#") {
			continue
		}
		switch word[0] {
		case "case":
			name = strings.TrimPrefix(line, "case ")
			c = newCourse()
		case "procedure":
			c = newCourse(rom.Procedure(word[1]))
		case "reading":
			var day, v float64
			var who rom.StaffID
			if _, err := fmt.Sscan(word[1]+" "+word[5], &day, &v); err != nil {
				t.Fatalf("line %d: %v", i+1, err)
			}
			if word[2] == "clinic" {
				who = "t1"
			}
			side := rom.Right
			if word[3] == "other" {
				side = rom.Left
			}
			c.by(who, side, rom.Motion(word[4]), day, v)
		case "on":
			var day int
			fmt.Sscan(word[1], &day)
			asked[Definition(word[2])]++
			check(t, i+1, name, c, day, Definition(word[2]), strings.Join(word[3:], " "))
		default:
			t.Fatalf("line %d: %q", i+1, line)
		}
	}
	for _, d := range []Definition{Parsons2010, Chung2013, SciRep2022, Brislin2007, Huberty2009, Tauro2006, Back2014, Resolved, Capsulitis} {
		if asked[d] == 0 {
			t.Errorf("no case asks for %s", d)
		}
	}
}

func check(t *testing.T, line int, name string, c *course, day int, d Definition, want string) {
	t.Helper()
	for _, v := range c.at(day).Stiffness() {
		if v.Definition != d {
			continue
		}
		got := map[Answer]string{Met: "met", NotMet: "not-met", CannotSay: "cannot-say", NotInTime: "outside"}[v.Answer]
		if v.Grade > 0 {
			got += fmt.Sprintf(" grade %d", v.Grade)
		}
		if strings.Contains(v.Why, "leaves open") {
			got += " says open"
		}
		if got != want {
			t.Errorf("line %d, %s: %s on day %d is %q (%s), want %q", line, name, d, day, got, v.Why, want)
		}
		if v.Source.Key == "" || v.Rule == "" || v.Why == "" {
			t.Errorf("line %d: %+v says no source, rule or reason", line, v)
		}
		return
	}
	t.Errorf("line %d: no verdict of %s", line, d)
}

// From memory in clinical use is said to be so.
func TestMemoryIsLabelled(t *testing.T) {
	for _, v := range newCourse().at(100).Stiffness() {
		switch v.Definition {
		case Brislin2007, Huberty2009:
			if v.Source.Mark != rom.Memory {
				t.Errorf("%s is from memory, the verdict says %s", v.Definition, v.Source.Mark)
			}
		case Chung2013:
			if !strings.Contains(v.Weak, "memory") {
				t.Errorf("the level of %s is from memory: %q", v.Definition, v.Weak)
			}
		}
	}
}
