package screen

import (
	"slices"
	"testing"

	"unsling/app/figure"
	"unsling/app/words"
	"unsling/engine/rom"
)

// Nothing is called higher or lower, up or down, that the engine would not: one level of the back is chance (MDC95 of 1.9
// levels, engine/trend), and a photograph is not compared with the phone's tilt.
func TestOnlyTheAlikeIsCompared(t *testing.T) {
	s := on(t, 100, 10)
	before := func(r rom.Reading) {
		r.Episode, r.Side, r.Class, r.On = episodeID, rom.Right, rom.Passive, operated.Add(95)
		s.f.facts.History.Readings = []rom.Entry[rom.Reading]{{Meta: s.meta(60, operated.Add(95)), Body: r}}
		s.a.look()
	}
	level := func(l rom.Level) rom.Reading {
		return rom.Reading{Motion: rom.HandBehindBack, Method: rom.LevelMethod, Level: l}
	}
	before(level(10))
	for l, want := range map[rom.Level]words.Text{8: words.LevelUpward, 9: words.LevelAbout, 10: words.LevelSame, 11: words.LevelAbout, 12: words.LevelDownward} {
		r := level(l)
		r.Side = rom.Right
		if got := s.a.levelSentences(r, rom.Limit{}, false); !slices.Contains(got, s.a.t(want)) {
			t.Errorf("level %d after 10: %q", l, got)
		}
	}
	before(rom.Reading{Motion: rom.ForwardFlexion, Method: rom.Tilt, Angle: rom.Deg(90), SE: rom.Deg(7)})
	photo := rom.Reading{Motion: rom.ForwardFlexion, Side: rom.Right, Method: rom.Photo, Angle: rom.Deg(128), SE: rom.Deg(7)}
	if got := s.a.resultSentences(photo, rom.Limit{}, false); !slices.Contains(got, s.a.t(words.ResultOtherWay)) {
		t.Errorf("a photograph after a tilt: %q", got)
	}
	if m := s.a.resultMarks(photo, rom.Limit{}, false); m.Last == figure.At(rom.Deg(90)) {
		t.Error("the picture shows the other way's angle as last time")
	}
	tilt := photo
	tilt.Method = rom.Tilt
	if got := s.a.resultSentences(tilt, rom.Limit{}, false); !slices.Contains(got, s.a.f(words.ResultUp, 38)) {
		t.Errorf("a tilt after a tilt: %q", got)
	}
}
