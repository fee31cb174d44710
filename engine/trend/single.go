package trend

import "unsling/engine/rom"

// DeficitOf is Course.Deficit for one motion; a page that shows several makes
// one Course with At instead.
func DeficitOf(h rom.History, e rom.Episode, m rom.Motion, day rom.Date) Deficit {
	if c, ok := At(h, e.ID, day, Options{}); ok {
		return c.Deficit(m)
	}
	return Deficit{Motion: m}
}

// PatternOf is Course.Pattern.
func PatternOf(h rom.History, e rom.Episode, day rom.Date, ceiling *rom.Degrees) Pattern {
	if c, ok := At(h, e.ID, day, Options{}); ok {
		return c.Pattern(ceiling)
	}
	return Pattern{Why: "the episode is not known"}
}

// Stiffness is Course.Stiffness.
func Stiffness(h rom.History, e rom.Episode, day rom.Date) []Verdict {
	if c, ok := At(h, e.ID, day, Options{}); ok {
		return c.Stiffness()
	}
	return nil
}
