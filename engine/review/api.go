package review

import "unsling/engine/rom"

// Findings returns what fires for the episode on today, the most pressing
// first. It never panics: a history that cannot be judged gives fewer
// findings, and Explain says why.
func Findings(h rom.History, ep rom.EpisodeID, today rom.Date, in Inputs) []Finding { return nil }

// Explain returns every rule evaluated on day, in the order of Rules.
func Explain(h rom.History, ep rom.EpisodeID, day rom.Date, in Inputs) []Line { return nil }

// Rank orders a panel; see Ranked.Reasons for the steps.
func Rank(panel []Row) []Ranked { return nil }

// CardFor returns the call card of a class.
func CardFor(c Class) Card { return Card{} }

// Span is opening hours of one day in minutes after midnight; From == To is closed.
type Span struct{ From, To int }

// Hours are a clinic's opening hours.
type Hours struct {
	Week   [7]Span // by time.Weekday
	Closed []rom.Date
}
