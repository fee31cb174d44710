package trend

import "unsling/engine/rom"

type fit struct{}

// Collect splits the readings of an episode up to the end of day into series,
// in the order of rom.Motions, the operated arm first.
func Collect(h rom.History, ep rom.EpisodeID, day rom.Date) []Series { return nil }

// Find returns the series of k; ok is false when there is none.
func Find(list []Series, k Key) (s Series, ok bool) { return Series{}, false }

// Options are what a clinic may set. The zero Options are the defaults.
type Options struct {
	// Surgery is day 0; readings before it are the baseline.
	Surgery rom.Date
}

// Of smooths s as of the end of day. Readings after day are ignored.
func Of(s Series, day rom.Date, o Options) Summary { return Summary{} }

// Reach forecasts when the level reaches target.
func (s Summary) Reach(target rom.Degrees) Forecast { return Forecast{Kind: ReachUnknown} }

// DeficitOf measures motion m of the operated arm against the best reference
// that the episode has.
func DeficitOf(h rom.History, e rom.Episode, m rom.Motion, day rom.Date) Deficit { return Deficit{} }

// PatternOf compares elevation with rotation; ceiling is today's limit of
// external rotation at the side, nil when open.
func PatternOf(h rom.History, e rom.Episode, day rom.Date, ceiling *rom.Degrees) Pattern {
	return Pattern{}
}

// Stiffness judges every published definition on day.
func Stiffness(h rom.History, e rom.Episode, day rom.Date) []Verdict { return nil }
