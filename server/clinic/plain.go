package clinic

import (
	"fmt"
	"net/http"
	"strconv"
	"strings"

	"unsling/engine/rom"
)

// fieldNames are the words for the last part of a field's path.
var fieldNames = map[string]string{
	"reason": "the reason", "why": "what is said to the patient", "ceil": "the ceiling", "active_ceil": "the ceiling of active movement",
	"floor": "the expected range", "class": "the class", "highest": "the highest level", "from": "the first day", "pain_cap": "the highest pain",
	"gate": "the gate", "hold": "the hold", "reps": "the repetitions", "rest": "the rest", "per_day": "the times a day",
	"contact.phone": "the clinic's number", "angle": "the angle", "level": "the level", "text": "the text", "outcome": "the outcome",
	"sling": "the sling", "until": "the date", "surgery": "the date of surgery", "side_by": "the second person",
}

// plainly says in one sentence what is wrong with a plan, in the words of its
// form instead of the names of its fields.
func plainly(e *rom.InvalidError, p rom.Plan) error {
	var at []string
	rest := e.Field
	if i, after, ok := indexed(rest, "phases"); ok && i < len(p.Phases) {
		ph := p.Phases[i]
		at, rest = append(at, "phase "+ph.Key), after
		if j, after, ok := indexed(rest, "limits"); ok && j < len(ph.Limits) {
			at, rest = append(at, name(motionNames, ph.Limits[j].Motion)), after
		} else if j, after, ok := indexed(rest, "prescriptions"); ok && j < len(ph.Prescriptions) {
			at, rest = append(at, name(exerciseNames, ph.Prescriptions[j].Exercise)), strings.TrimPrefix(after, "dose.")
		}
	}
	what := rest
	if s, ok := fieldNames[rest]; ok {
		what = s
	}
	s := what + " " + e.Rule
	if len(at) > 0 {
		s = strings.Join(at, ", ") + ": " + s
	}
	return refuse(http.StatusUnprocessableEntity, fmt.Sprintf("Not saved: %s.", s))
}

// indexed splits "phases[2].from" into 2 and "from".
func indexed(field, list string) (i int, rest string, ok bool) {
	s, ok := strings.CutPrefix(field, list+"[")
	if !ok {
		return 0, field, false
	}
	number, rest, _ := strings.Cut(s, "]")
	i, err := strconv.Atoi(number)
	return i, strings.TrimPrefix(rest, "."), err == nil && i >= 0
}
