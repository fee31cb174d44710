package clinic

import (
	"fmt"
	"math"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"unsling/engine/rom"
	"unsling/server/clinic/planning"
)

// The fields of the plan form are named after what they change, not by their
// place: "p.PHASE.from", "p.PHASE.l.MOTION.class", "p.PHASE.x.KEY.hold". Rows
// may come and go between two showings of the form, and a field still means
// the same. "p.PHASE.x" lists the prescriptions that were shown, by key.

// planReader reads a posted plan over an earlier one and keeps the first
// thing that cannot be taken.
type planReader struct {
	v       *visit
	problem error
}

func (r *planReader) bad(format string, args ...any) {
	if r.problem == nil {
		r.problem = refuse(http.StatusUnprocessableEntity, fmt.Sprintf(format, args...))
	}
}

// readPlan reads the plan form over a copy of from. It returns what could be
// read even with an error, so that the form can be shown again.
func (v *visit) readPlan(from rom.Plan) (rom.Plan, error) {
	r := &planReader{v: v}
	p := from
	p.Answers = nil
	p.Reason = v.form("reason")
	if v.r.PostForm.Has("state") {
		p.State, p.Why = rom.PlanState(v.form("state")), v.form("why")
	}
	if p.State == rom.Running {
		p.Why = ""
	}
	if v.form("days") == "shown" {
		if days := weekdaysOf(v.r.PostForm["therapy"]); !sameSet(days, from.TherapyDays) {
			p.TherapyDays = days
		}
	}
	if v.form("locks") == "shown" {
		p.Opened, p.Closed = v.exercises("opened", from.Opened), v.exercises("closed", from.Closed)
	}
	r.times(&p)
	p.MayI = r.mayI(from)
	p.Phases = slices.Clone(from.Phases)
	for i, ph := range p.Phases {
		if v.r.PostForm.Has("p." + ph.Key + ".from") {
			p.Phases[i] = r.phase("p."+ph.Key+".", ph)
		}
	}
	return p, r.problem
}

func weekdaysOf(list []string) []time.Weekday {
	var days []time.Weekday
	for _, d := range weekOrder {
		if slices.Contains(list, strconv.Itoa(int(d))) {
			days = append(days, d)
		}
	}
	return days
}

func (r *planReader) phase(at string, from rom.Phase) rom.Phase {
	ph, v := from, r.v
	what := "Phase " + ph.Key + ", "
	ph.From = r.whole(at+"from", what+"first day", 0, 730, from.From)
	ph.PainCap = r.whole(at+"pain", what+"highest pain", 0, 10, from.PainCap)
	ph.Sling = rom.Sling(v.form(at + "sling"))
	switch waived := v.form(at+"waive") == "yes"; {
	case waived && ph.Gate.Waived == "":
		ph.Gate.Waived = v.staff.ID
	case !waived:
		ph.Gate.Waived = ""
	}
	ph.Limits = nil
	for _, l := range from.Limits {
		if row := r.limit(at+"l."+string(l.Motion)+".", what, l); row.Class != rom.Locked {
			ph.Limits = append(ph.Limits, row)
		}
	}
	for _, m := range rom.Motions {
		if from.Limit(m).Class != rom.Locked {
			continue
		}
		row := r.limit(at+"l."+string(m)+".", what, rom.Limit{Motion: m, From: rom.Source{Key: "CLINIC", Mark: rom.Clinic}})
		if row.Class != rom.Locked {
			ph.Limits = append(ph.Limits, row)
		}
	}
	ph.Prescriptions = r.prescriptions(at, what, from, ph)
	ph.Measures = r.measures(at, what, from)
	return ph
}

// limit reads one row; a row that was not shown stays as it is.
func (r *planReader) limit(at, what string, l rom.Limit) rom.Limit {
	v := r.v
	if !v.r.PostForm.Has(at + "class") {
		return l
	}
	what += name(motionNames, l.Motion)
	row := l
	if err := row.Class.UnmarshalText([]byte(v.form(at + "class"))); err != nil {
		r.bad("%s: please choose a class.", what)
		return l
	}
	if row.Class == rom.Locked {
		return row
	}
	s := strings.TrimSpace(strings.TrimSuffix(v.form(at+"ceil"), "°"))
	row.Open = s == ""
	switch {
	case row.Open:
		row.Ceiling, row.Highest = 0, 0
	case l.Motion.ByLevel():
		n, err := strconv.Atoi(s)
		if err != nil || n < int(rom.LevelT1) || n > int(rom.LevelThigh) {
			r.bad("%s: please choose the level from the list.", what)
			return l
		}
		row.Highest = rom.Level(n)
	default:
		d, ok := degreesOf(s)
		if !ok || d > l.Motion.AnatomicalMax() || d < rom.Deg(-30) {
			r.bad("%s: %q is not an angle from -30 to %s degrees.", what, s, l.Motion.AnatomicalMax())
			return l
		}
		row.Ceiling = d
		row.Floor = min(row.Floor, row.Ceiling)
	}
	if row.Class < rom.Active {
		row.ActiveCeil = 0
	} else if !row.Open && row.ActiveCeil > row.Ceiling {
		row.ActiveCeil = row.Ceiling
	}
	if row != l {
		row.From = rom.Source{Key: "CLINIC", Mark: rom.Clinic}
	}
	return row
}

// degreesOf reads a typed angle, with a point or a comma.
func degreesOf(s string) (rom.Degrees, bool) {
	x, err := strconv.ParseFloat(strings.Replace(strings.TrimSpace(strings.TrimSuffix(s, "°")), ",", ".", 1), 64)
	if err != nil || math.Abs(x) > 360 {
		return 0, false
	}
	return rom.FromFloat(x)
}

// rxKey names a prescription within its phase.
func rxKey(x rom.Prescription) string { return string(x.Exercise) + "/" + string(x.Motion) }

func (r *planReader) prescriptions(at, what string, from, now rom.Phase) []rom.Prescription {
	v := r.v
	if v.form(at+"rx") != "shown" {
		return from.Prescriptions
	}
	var out []rom.Prescription
	seen := map[string]bool{}
	for _, key := range v.r.PostForm[at+"x"] {
		id, m, _ := strings.Cut(key, "/")
		if seen[key] || !rom.ExerciseID(id).Valid() || m != "" && !rom.Motion(m).Valid() {
			continue
		}
		seen[key] = true
		if v.form(at+"x."+key+".drop") == "yes" {
			continue
		}
		x := rom.Prescription{Exercise: rom.ExerciseID(id), Motion: rom.Motion(m), From: rom.Source{Key: "CLINIC", Mark: rom.Clinic}}
		if i := slices.IndexFunc(from.Prescriptions, func(y rom.Prescription) bool { return rxKey(y) == key }); i >= 0 {
			x = from.Prescriptions[i]
		}
		named := what + name(exerciseNames, x.Exercise)
		dose := rom.Dose{
			Hold:   r.whole(at+"x."+key+".hold", named+", hold", 0, 600, x.Dose.Hold),
			Reps:   r.whole(at+"x."+key+".reps", named+", repetitions", 1, 100, max(1, x.Dose.Reps)),
			Rest:   r.whole(at+"x."+key+".rest", named+", rest", 0, 600, x.Dose.Rest),
			PerDay: r.whole(at+"x."+key+".day", named+", times a day", 1, 12, max(1, x.Dose.PerDay)),
		}
		if dose != x.Dose {
			x.Dose, x.From = dose, rom.Source{Key: "CLINIC", Mark: rom.Clinic}
		}
		out = append(out, x)
	}
	if id := rom.ExerciseID(v.form(at + "add")); id != "" {
		x := planning.NewPrescription(id, now)
		switch {
		case !id.Valid():
			r.bad("%splease choose an exercise of the list.", what)
		case seen[rxKey(x)]:
			r.bad("%s%s is prescribed already.", what, name(exerciseNames, id))
		default:
			out = append(out, x)
		}
	}
	return out
}

func (r *planReader) whole(field, what string, low, high, was int) int {
	n, err := r.v.number(field, what, low, high)
	if err != nil {
		if r.problem == nil {
			r.problem = err
		}
		return was
	}
	return n
}

// exercises reads ticked exercises. An unchanged choice keeps its order, so
// that it is no difference.
func (v *visit) exercises(field string, was []rom.ExerciseID) []rom.ExerciseID {
	var out []rom.ExerciseID
	for _, id := range rom.Exercises {
		if slices.Contains(v.r.PostForm[field], string(id)) {
			out = append(out, id)
		}
	}
	if sameSet(out, was) {
		return was
	}
	return out
}

// sameSet reports whether two lists without repetitions hold the same.
func sameSet[T comparable](a, b []T) bool {
	return len(a) == len(b) && !slices.ContainsFunc(a, func(x T) bool { return !slices.Contains(b, x) })
}
