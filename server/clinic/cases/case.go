package cases

import (
	"unsling/engine/review"
	"unsling/engine/rom"
	"unsling/engine/schedule"
	"unsling/server/ledger"
)

// Case is one patient with everything judged as of one minute.
type Case struct {
	Patient  ledger.Patient
	History  rom.History
	Phones   []ledger.Author
	Episodes []Care
	Contact  rom.Date      // last contact of any phone; zero for never
	Inputs   review.Inputs // the facts beside the log that the findings rest on
}

// Care is one episode of a case.
type Care struct {
	Episode  rom.Episode
	Plan     rom.Plan
	HasPlan  bool
	Day      schedule.Day
	Findings []review.Finding
}

// Live reports whether anybody monitors the episode.
func (c Care) Live() bool { return !c.Episode.State.Ended() }

// Current returns the episode to show: the one asked for, else the newest that has not ended, else the newest.
func (c Case) Current(id rom.EpisodeID) (Care, bool) {
	var out Care
	ok := false
	for _, e := range c.Episodes {
		if e.Episode.ID == id {
			return e, true
		}
		if id == "" && (!ok || e.Live() || !out.Live()) {
			out, ok = e, true
		}
	}
	return out, ok
}
