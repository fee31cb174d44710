package clinic

import (
	"fmt"
	"slices"

	"unsling/engine/dose"
	"unsling/engine/protocol"
	"unsling/engine/review"
	"unsling/engine/rom"
	"unsling/engine/schedule"
)

// paper reports whether a log on paper was ever written down.
func paper(h rom.History, ep rom.EpisodeID) bool {
	return slices.ContainsFunc(h.Sessions, func(e rom.Entry[rom.Session]) bool { return e.Body.Episode == ep && e.Body.By != "" })
}

// doses are the days of an episode with what is known of each.
func doses(f file, c care, from, to rom.Date) []dose.Day {
	return dose.Days(f.History, c.Episode.ID, from, to, review.Told(f.History, c.Episode.ID, to, f.Inputs))
}

// adherence is done against asked over the days that are known in full, and
// what to say of it: a day that is still going on is no missed one.
func adherence(days []dose.Day, today schedule.Day) (a dose.Adherence, says string) {
	a = dose.Adhere(days)
	done, due := 0, 0
	for _, x := range today.Due {
		if x.Status == schedule.Spare {
			continue
		}
		due++
		if x.Status == schedule.Done {
			done++
		}
	}
	now := ""
	if due > 0 {
		now = fmt.Sprintf("today %d of %d so far", done, due)
	}
	switch {
	case a.OK && now != "":
		return a, now
	case a.OK:
		return a, ""
	case a.Unknown > 0:
		return a, "nothing is known of these days yet"
	case now != "":
		return a, "no full day yet, " + now
	}
	return a, "nothing was asked yet"
}

// painDay is the pain of one day outside sessions, -1 for none told.
type painDay struct {
	Day                           rom.Date
	Rest, Night, NextDay, Motion  int
	Medicine, Without, Unanswered int // sessions with and without medicine
}

// painDays are the days with pain told outside sessions or medicine told in
// them, the newest first.
func painDays(h rom.History, ep rom.EpisodeID, from, to rom.Date) []painDay {
	days := map[rom.Date]*painDay{}
	at := func(d rom.Date) *painDay {
		if days[d] == nil {
			days[d] = &painDay{Day: d, Rest: -1, Night: -1, NextDay: -1, Motion: -1}
		}
		return days[d]
	}
	for _, e := range h.Pains {
		if d := e.Day(); (e.Body.Episode == ep || e.Body.Episode == "") && d >= from && d <= to {
			p := at(d)
			switch e.Body.When {
			case rom.PainAtRest:
				p.Rest = max(p.Rest, e.Body.Score)
			case rom.PainAtNight:
				p.Night = max(p.Night, e.Body.Score)
			case rom.PainNextDay:
				p.NextDay = max(p.NextDay, e.Body.Score)
			case rom.PainInMotion:
				p.Motion = max(p.Motion, e.Body.Score)
			}
		}
	}
	for _, e := range h.Sessions {
		s := e.Body
		if s.Episode != ep || s.Medicine == nil || s.Due < from || s.Due > to {
			continue
		}
		if *s.Medicine {
			at(s.Due).Medicine++
		} else {
			at(s.Due).Without++
		}
	}
	out := make([]painDay, 0, len(days))
	for _, p := range days {
		out = append(out, *p)
	}
	slices.SortFunc(out, func(a, b painDay) int { return int(b.Day - a.Day) })
	return out
}

// painRule is the one rule about pain that the phone follows in a phase.
type painRule struct {
	Says string
	From rom.Source
}

// painRules are the answers to a score under the cap of the phase, as the
// phone gives them: one rule, not the general one beside it.
func painRules(limit int) []painRule {
	acts := map[protocol.PainAct]string{protocol.PainFine: "fine", protocol.PainEase: "go less far, and less next time", protocol.PainStop: "stop for now"}
	var out []painRule
	for from := 0; from <= 10; {
		act, rule, ok := protocol.Pain(limit, from)
		if !ok {
			return nil
		}
		to := from
		for to < 10 {
			if next, _, _ := protocol.Pain(limit, to+1); next != act {
				break
			}
			to++
		}
		span := fmt.Sprint(from)
		if to > from {
			span = fmt.Sprintf("%d to %d", from, to)
		}
		out = append(out, painRule{span + ": " + acts[act], rule.From})
		from = to + 1
	}
	return out
}

// attend are the warning signs to ask about most on a day after surgery.
func attend(d schedule.Day) []protocol.SignRule {
	if !d.Dated || d.Number < 0 || d.Episode.State.Ended() {
		return nil
	}
	return protocol.Watch(d.Number)
}

// skipped are the exercises of a session that were left out, and why.
func skipped(s rom.Session) string {
	out := ""
	for _, it := range s.Items {
		if it.Skipped == "" || it.Skipped == rom.SkipStopped {
			continue
		}
		if out != "" {
			out += "; "
		}
		out += name(exerciseNames, it.Exercise) + ": " + name(skipNames, it.Skipped)
	}
	return out
}

var skipNames = map[rom.SkipReason]string{
	rom.SkipPain: "pain", rom.SkipTired: "tired", rom.SkipNoTime: "no time", rom.SkipNoHelper: "no helper", rom.SkipAfraid: "afraid",
	rom.SkipNoPlace: "no place", rom.SkipNarrowed: "closed by the clinic", rom.SkipOver: "over the limit",
}
