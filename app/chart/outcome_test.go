package chart

import (
	"strings"
	"testing"

	"unsling/engine/rom"
)

// What is hidden because too few people stand behind it is in neither the
// picture nor its table twin; everything else is in both.
func TestOutcome(t *testing.T) {
	c := Outcome{
		Motion: rom.ForwardFlexion, Words: Words{Title: "t", Week: "week", Expected: "published", Empty: "nothing yet"}, Weeks: []int{2, 6, 12, 26},
		AxisTime: "weeks", Group: "group", Middle: "median", Spread: "quartiles", People: "people", TooFew: "fewer than 5",
	}
	if !strings.Contains(c.SVG(), "nothing yet") {
		t.Error("without points it does not say so")
	}
	c.Groups = []OutcomeGroup{
		{"version 1", []OutcomePoint{{Week: 6, Low: rom.Deg(91), Mid: rom.Deg(103), High: rom.Deg(117), N: 9}, {Week: 12, Hidden: true, Mid: rom.Deg(77), N: 3}}},
		{"version 2", []OutcomePoint{{Week: 6, Low: rom.Deg(99), Mid: rom.Deg(111), High: rom.Deg(121), N: 6}}},
	}
	c.Published = []OutcomePoint{{Week: 12, Low: rom.Deg(115), Mid: rom.Deg(139), High: rom.Deg(163)}}
	for _, s := range []Size{Narrow, Wide} {
		c.Size = s
		svg := c.SVG()
		for _, want := range []string{"version 1, week 6: 103° (91° – 117°), 9", "version 2, week 6: 111° (99° – 121°), 6", "published: 139° (115° – 163°)"} {
			if !strings.Contains(svg, want) {
				t.Errorf("the picture lacks %q", want)
			}
		}
		if strings.Contains(svg, "77°") || strings.Contains(svg, "week 12: 77") {
			t.Error("the picture shows what is hidden")
		}
	}
	var rows []string
	for _, r := range c.Table() {
		rows = append(rows, strings.Join(r, "|"))
	}
	want := []string{"group|week|median|quartiles|people", "version 1|6|103°|91° – 117°|9", "version 1|12|fewer than 5||", "version 2|6|111°|99° – 121°|6", "published|12|139°|115° – 163°|"}
	if strings.Join(rows, "\n") != strings.Join(want, "\n") {
		t.Errorf("table:\n%s", strings.Join(rows, "\n"))
	}
	c.Motion, c.Published = rom.HandBehindBack, nil
	c.Groups = []OutcomeGroup{{"all", []OutcomePoint{{Week: 12, Low: rom.Deg(10), Mid: rom.Deg(13), High: rom.Deg(15), N: 5}}}}
	if svg := c.SVG(); !strings.Contains(svg, "L1 (T10 – L3), 5") {
		t.Errorf("levels: %s", svg)
	}
}
