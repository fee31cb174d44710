package chart

import (
	"strings"
	"testing"

	"unsling/engine/rom"
)

func TestGain(t *testing.T) {
	c := Gain{Words: Words{Title: "t", Week: "week", Unknown: "no news", Empty: "nothing yet"}, AxisTime: "minutes a day", AxisGain: "degrees in the week"}
	if !strings.Contains(c.SVG(), "nothing yet") {
		t.Error("without weeks it does not say so")
	}
	c.Weeks = []WeekGain{
		{Week: 5, Seconds: 600, Days: 7, Gain: rom.Deg(6), Known: true},
		{Week: 6, Days: 0, Gain: rom.Deg(2), Known: true},                // nobody knows the time held
		{Week: 7, Seconds: 300, Days: 6},                                 // nobody knows the gain
		{Week: 8, Seconds: 240, Days: 7, Gain: rom.Deg(-3), Known: true}, // lost
		{Week: 9, Seconds: -5, Days: 7, Gain: rom.Deg(1), Known: true},   // impossible
	}
	svg := c.SVG()
	if n := strings.Count(svg, "chart-before") + strings.Count(svg, "chart-own"); n != 2 {
		t.Errorf("%d weeks are drawn, want the two with both values", n)
	}
	rows := c.Table()
	want := [][]string{{"week", "minutes a day", "degrees in the week"}, {"5", "10.0", "6°"}, {"6", "no news", "2°"}, {"7", "5.0", "no news"}, {"8", "4.0", "−3°"}}
	for i, row := range want {
		if strings.Join(rows[i], "|") != strings.Join(row, "|") {
			t.Errorf("row %d is %v, want %v", i, rows[i], row)
		}
	}
}
