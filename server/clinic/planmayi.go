package clinic

import (
	"slices"
	"strings"

	"unsling/app/words"
	"unsling/engine/rom"
)

// The daily questions ("May I drive?") are answered by people, for each phase;
// nothing computes them. The fields are "may.PHASE.ACTIVITY", and the hidden
// field "may" says that they were shown.

// mayIRow is one daily question with its answer in every phase of the form.
type mayIRow struct {
	Activity, Name string
	Cells          []mayICell
}

type mayICell struct{ Field, Phase, Answer string }

// mayIAnswers are what can be chosen, the empty one first: no answer shows
// nothing on the phone.
var mayIAnswers = []string{"", "yes", "no", "ask"}

// MayIAnswers lists them for the page.
func (p planPage) MayIAnswers() []string { return mayIAnswers }

// MayIWord words an answer for staff.
func (p planPage) MayIWord(a string) string {
	switch a {
	case "yes":
		return "yes"
	case "no":
		return "no"
	case "ask":
		return "ask us"
	}
	return "—"
}

// MayI is the table of the plan as typed, the questions that the phone has
// words for.
func (p planPage) MayI() []mayIRow {
	var out []mayIRow
	for _, act := range words.Activities() {
		r := mayIRow{Activity: act, Name: words.Activity(words.English, act)}
		for _, ph := range p.Plan.Phases {
			r.Cells = append(r.Cells, mayICell{Field: "may." + ph.Key + "." + act, Phase: ph.Key, Answer: answerOf(p.Plan, ph.Key, act)})
		}
		out = append(out, r)
	}
	return out
}

func answerOf(p rom.Plan, phase, act string) string {
	for _, m := range p.MayI {
		if m.Phase == phase && m.Activity == act {
			return m.Answer
		}
	}
	return ""
}

// mayI reads the answers over those of from. A question that this server has
// no words for, and one that was not shown, stays as it is; so does the order
// of an unchanged list, so that it is no difference.
func (r *planReader) mayI(from rom.Plan) []rom.MayI {
	v := r.v
	if v.form("may") != "shown" {
		return from.MayI
	}
	var out []rom.MayI
	for _, m := range from.MayI {
		if !v.r.PostForm.Has("may." + m.Phase + "." + m.Activity) {
			out = append(out, m)
		}
	}
	for _, ph := range from.Phases {
		for _, act := range words.Activities() {
			field := "may." + ph.Key + "." + act
			if !v.r.PostForm.Has(field) {
				continue
			}
			a := v.form(field)
			if !slices.Contains(mayIAnswers, a) {
				r.bad("Phase %s, %s: please choose yes, no, ask us, or nothing.", ph.Key, strings.ToLower(words.Activity(words.English, act)))
				return from.MayI
			}
			if a != "" {
				out = append(out, rom.MayI{Phase: ph.Key, Activity: act, Answer: a})
			}
		}
	}
	if sameSet(out, from.MayI) {
		return from.MayI
	}
	return out
}
