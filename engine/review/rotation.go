package review

import (
	"fmt"

	"unsling/engine/rom"
	"unsling/engine/trend"
)

var rotationRules = []Rule{
	{
		Name: "rotation-lag", Class: RotationLag, Source: rom.Source{Key: "KELLEY2013", Mark: rom.Derived},
		Says: "elevation has 85 % of its reference while external rotation at the side is short of its own, or of the limit where that is lower, by a quarter and more than MDC95, three weeks into a phase; it ends below a fifth",
		eval: evalLag,
	},
	{
		Name: "too-much-external-rotation", Class: TooMuchER, Source: rom.Source{Key: "P3+P4+GAUNT2010", Mark: rom.Derived},
		Says: "after a subscapularis or labral repair external rotation exceeds that of the other arm by more than MDC95; it ends at half of that",
		eval: evalTooMuchER,
	},
}

// on returns the smoothed level on the newest day of a path up to d.
func on(path []trend.Band, d rom.Date) (rom.Degrees, bool) {
	v, ok := rom.Degrees(0), false
	for _, b := range path {
		if b.Day > d {
			break
		}
		v, ok = b.Mid, true
	}
	return v, ok
}

// lagDays is how long a phase must have lasted before rotation is judged
// against what it permits. Derived.
const lagDays = 21

func evalLag(f *facts, r Rule) []judgement {
	at, locked := f.ceiling(rom.ERSide)
	if locked {
		return []judgement{r.line(rom.ERSide, NotApplicable, "the plan does not permit external rotation at the side now")}
	}
	p := f.course.Pattern(at)
	if !p.Known {
		return []judgement{r.line(rom.ERSide, CannotSay, p.Why)}
	}
	in := []Number{
		num("elevation", deg(p.Elevation.Value)), num("its reference", fmt.Sprintf("%s, %s", deg(p.Elevation.Reference), p.Elevation.Against)),
		num("rotation", deg(p.Rotation.Value)), num("its reference", fmt.Sprintf("%s, %s", deg(p.Rotation.Reference), p.Rotation.Against)),
		num("smallest real difference", p.Rotation.MDC.String()),
	}
	if p.CappedAt != nil {
		in = append(in, num("limit in its place", deg(*p.CappedAt)))
	}
	er := f.course.Summary(f.course.Passive(rom.ERSide)).Path
	el := f.course.Summary(f.course.Passive(p.Elevation.Motion)).Path
	if len(er) < 3 {
		return []judgement{r.line(rom.ERSide, CannotSay, "needs external rotation of three days", in...)}
	}
	// What a phase permits takes time to be reached.
	from := f.on.Since.Add(lagDays)
	var days []trend.Band
	for _, b := range er {
		if b.Day >= from {
			days = append(days, b)
		}
	}
	if len(days) == 0 {
		return []judgement{r.line(rom.ERSide, CannotSay, fmt.Sprintf("no rotation since the phase has lasted %d days", lagDays), in...)}
	}
	short := func(i int, part rom.Degrees) (missing rom.Degrees, behind bool) {
		missing = p.Rotation.Reference - days[i].Mid
		return missing, part*missing >= p.Rotation.Reference
	}
	risen := func(i int, share rom.Degrees) bool {
		v, ok := on(el, days[i].Day)
		return ok && 1000*v >= share*p.Elevation.Reference
	}
	lag, since := held(len(days),
		func(i int) bool { m, behind := short(i, 4); return behind && m > p.Rotation.MDC && risen(i, 850) },
		func(i int) bool { _, behind := short(i, 5); return !behind || !risen(i, 800) })
	if !lag {
		return []judgement{r.line(rom.ERSide, Quiet, p.Why, in...)}
	}
	x := Finding{
		Key: "rotation-lag", Motion: rom.ERSide, Since: days[since].Day, Newest: p.Rotation.On, Numbers: in,
		Severity: Watch, Owner: Therapist, Due: NextVisit, Fingerprint: fmt.Sprintf("lag %d", p.Rotation.Share()/150),
		Staff: fmt.Sprintf("Elevation is %s of %s, but external rotation at the side only %s of %s: rotation lags behind good elevation.",
			deg(p.Elevation.Value), deg(p.Elevation.Reference), deg(p.Rotation.Value), deg(p.Rotation.Reference)),
		Clears: "External rotation within a fifth of its reference.",
	}
	if p.Rotation.Caveat != "" {
		x.Staff += " Reference: " + string(p.Rotation.Against) + "; " + p.Rotation.Caveat + "."
	}
	switch {
	case f.early():
		x.Staff += " Watch, do not push."
	case f.release():
		x.Severity, x.Due = Call, TwoDays
	}
	return []judgement{r.fires(f, x)}
}

func evalTooMuchER(f *facts, r Rule) []judgement {
	guarded := f.e.Has(rom.SubscapularisRepair)
	for _, p := range f.e.Procedures {
		guarded = guarded || p.Labral()
	}
	if !guarded {
		return []judgement{r.line("", NotApplicable, "neither subscapularis nor labrum was repaired")}
	}
	var out []judgement
	for _, m := range []rom.Motion{rom.ERSide, rom.ER20, rom.ER90} {
		s := f.course.Summary(f.course.Passive(m))
		if !s.Known {
			continue
		}
		d := f.course.Deficit(m)
		if d.Against != trend.ByOtherArm {
			out = append(out, r.line(m, CannotSay, "no usable reading of the other arm"))
			continue
		}
		in := []Number{num("operated arm", deg(d.Value)), num("other arm", deg(d.Reference)), num("smallest real difference", d.MDC.String())}
		more := func(i int) rom.Degrees { return s.Path[i].Mid - d.Reference }
		too, since := held(len(s.Path),
			func(i int) bool { return more(i) > d.MDC },
			func(i int) bool { return 2*more(i) < d.MDC })
		if !too {
			out = append(out, r.line(m, Quiet, fmt.Sprintf("%s against %s of the other arm", deg(d.Value), deg(d.Reference)), in...))
			continue
		}
		out = append(out, r.fires(f, Finding{
			Key: "too-much-er:" + string(m), Motion: m, Since: s.Path[since].Day, Newest: s.Last, Numbers: in,
			Severity: Call, Owner: Surgeon, Due: TwoDays, Fingerprint: fmt.Sprintf("more by %d tens", int(-d.Missing)/100), Patient: "limit.over",
			Staff: fmt.Sprintf("%s is %s, %s more than the other arm: the repair in front may have stretched or failed.",
				first(motion(m)), deg(d.Value), deg(-d.Missing)),
			Clears: "A surgeon has examined the shoulder, or half of the excess is gone.",
		}))
	}
	return out
}
