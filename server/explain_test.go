package main

import (
	"strings"
	"testing"

	"unsling/engine/rom"
)

// RICHARDS1994, from a second text: pain 3 and items of 21 earn 70.
func TestExplainPrintsScores(t *testing.T) {
	three, day := 3, rom.MakeDate(2026, 3, 1)
	score := rom.Score{Episode: "e1", On: day, By: "t1", Form: rom.ASESScore, Pain: &three, Items: []int{3, 3, 3, 3, 3, 3, 3, 0, 0, 0}}
	h := rom.History{Scores: []rom.Entry[rom.Score]{{Body: score}}}
	var out strings.Builder
	printScores(&out, h, "e1", day)
	for _, want := range []string{"score ases of 2026-03-01: 70 of 100 [RICHARDS1994 memory]", "pain 3 of 10: (10 - 3) x 5 = 35", "ten items sum 21 of 30: 5/3 x 21 = 35"} {
		if !strings.Contains(out.String(), want) {
			t.Errorf("%q is not in %q", want, out.String())
		}
	}
	out.Reset()
	printScores(&out, h, "e1", day.Add(-1))
	printScores(&out, h, "e2", day)
	if out.Len() != 0 {
		t.Errorf("a score of another day or episode: %q", out.String())
	}
}
