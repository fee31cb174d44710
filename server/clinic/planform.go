package clinic

import (
	"fmt"
	"math"
	"net/http"
	"strconv"
	"strings"
	"time"

	"unsling/engine/protocol"
	"unsling/engine/rom"
)

// readPlan reads the plan form over a copy of from. It returns what could be
// read even with an error, so that the form can be shown again.
func (v *visit) readPlan(from rom.Plan) (rom.Plan, error) {
	if err := v.r.ParseForm(); err != nil {
		return from, err
	}
	p := from
	p.Answers = nil
	var problem error
	bad := func(format string, args ...any) {
		if problem == nil {
			problem = refuse(http.StatusUnprocessableEntity, fmt.Sprintf(format, args...))
		}
	}
	whole := func(field, what string, low, high, was int) int {
		s := v.form(field)
		n, err := strconv.Atoi(s)
		if err != nil || n < low || n > high {
			bad("%s: %q is not a whole number from %d to %d.", what, s, low, high)
			return was
		}
		return n
	}
	p.State, p.Why, p.Reason = rom.PlanState(v.form("state")), v.form("why"), v.form("reason")
	if p.State == rom.Running {
		p.Why = ""
	}
	p.TherapyDays = nil
	for _, s := range v.r.PostForm["therapy"] {
		if n, err := strconv.Atoi(s); err == nil && n >= 0 && n < 7 {
			p.TherapyDays = append(p.TherapyDays, time.Weekday(n))
		}
	}
	p.Opened, p.Closed = v.exercises("opened"), v.exercises("closed")
	p.Phases = append([]rom.Phase(nil), from.Phases...)
	for i := range p.Phases {
		ph := &p.Phases[i]
		at := fmt.Sprintf("p%d.", i)
		ph.From = whole(at+"from", "Phase "+ph.Key+", first day", 0, 730, ph.From)
		ph.PainCap = whole(at+"pain", "Phase "+ph.Key+", highest pain", 0, 10, ph.PainCap)
		ph.Sling = rom.Sling(v.form(at + "sling"))
		waived := v.form(at+"waive") == "yes"
		switch {
		case waived && ph.Gate.Waived == "":
			ph.Gate.Waived = v.staff.ID
		case !waived:
			ph.Gate.Waived = ""
		}
		was := ph.Limits
		ph.Limits = nil
		for j, l := range was {
			row, keep, err := v.readLimit(fmt.Sprintf("%sl%d.", at, j), l)
			if err != nil {
				bad("Phase %s, %s: %s", ph.Key, name(motionShort, l.Motion), err.Error())
				row, keep = l, true
			}
			if keep {
				ph.Limits = append(ph.Limits, row)
			}
		}
		rows := ph.Prescriptions
		ph.Prescriptions = nil
		for j, x := range rows {
			f := fmt.Sprintf("%sx%d.", at, j)
			if v.form(f+"drop") == "yes" {
				continue
			}
			what := "Phase " + ph.Key + ", " + name(exerciseNames, x.Exercise)
			d := rom.Dose{
				Hold:   whole(f+"hold", what+", hold", 0, 600, x.Dose.Hold),
				Reps:   whole(f+"reps", what+", repetitions", 1, 100, x.Dose.Reps),
				Rest:   whole(f+"rest", what+", rest", 0, 600, x.Dose.Rest),
				PerDay: whole(f+"day", what+", times a day", 1, 12, x.Dose.PerDay),
			}
			if d != x.Dose {
				x.Dose, x.From = d, rom.Source{Key: "CLINIC", Mark: rom.Clinic}
			}
			ph.Prescriptions = append(ph.Prescriptions, x)
		}
		if id := rom.ExerciseID(v.form(at + "add")); id != "" {
			if !id.Valid() {
				bad("Phase %s: please choose an exercise of the list.", ph.Key)
			} else {
				ph.Prescriptions = append(ph.Prescriptions, newPrescription(id))
			}
		}
	}
	return p, problem
}

// readLimit reads one row; keep is false when it was locked.
func (v *visit) readLimit(at string, l rom.Limit) (row rom.Limit, keep bool, err error) {
	row = l
	if err := row.Class.UnmarshalText([]byte(v.form(at + "class"))); err != nil {
		return l, true, fmt.Errorf("please choose a class")
	}
	if row.Class == rom.Locked {
		return row, false, nil
	}
	if !l.Motion.ByLevel() {
		s := strings.TrimSuffix(v.form(at+"ceil"), "°")
		row.Open = s == ""
		if !row.Open {
			x, err := strconv.ParseFloat(strings.Replace(s, ",", ".", 1), 64)
			d, ok := rom.FromFloat(x)
			if err != nil || !ok || math.Abs(x) > 200 {
				return l, true, fmt.Errorf("%q is not an angle in degrees", s)
			}
			row.Ceiling = d
			row.Floor = min(row.Floor, row.Ceiling)
		} else {
			row.Ceiling = 0
		}
	}
	if row != l {
		row.From = rom.Source{Key: "CLINIC", Mark: rom.Clinic}
	}
	return row, true, nil
}

func (v *visit) exercises(field string) []rom.ExerciseID {
	var out []rom.ExerciseID
	for _, s := range v.r.PostForm[field] {
		if id := rom.ExerciseID(s); id.Valid() {
			out = append(out, id)
		}
	}
	return out
}

// newPrescription is what a clinician begins with when adding an exercise:
// the usual hold of about 20 seconds is common practice, no source.
func newPrescription(id rom.ExerciseID) rom.Prescription {
	x := rom.Prescription{Exercise: id, Dose: rom.Dose{Hold: 20, Reps: 5, Rest: 10, PerDay: 3}, From: rom.Source{Key: "CLINIC", Mark: rom.Clinic}}
	if e, ok := protocol.Lookup(id); ok {
		if len(e.Motions) > 0 {
			x.Motion = e.Motions[0]
		}
		if !e.EndRange {
			x.Dose.Hold = 5
		}
	}
	return x
}
