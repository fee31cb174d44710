package trend

import (
	"math"

	"unsling/engine/rom"
)

// Of smooths s as of the end of day. Readings after day are ignored, and so
// is the baseline of an operated arm.
func Of(s Series, day rom.Date, o Options) Summary {
	if s.Surgery == 0 && o.Surgery <= day {
		s.Surgery = o.Surgery
	}
	out := Summary{Key: s.Key, Day: day}
	o.SelfSEM = max(o.SelfSEM, s.ownSEM(day, o))
	ob := observe(s.Key.Motion, s.after(day), o)
	if len(ob) == 0 {
		return out
	}
	f := fitOf(ob, s.Key.Motion.ByLevel())
	at := f.newest()
	if at < 0 {
		return out
	}
	out.fit, out.Known = f, true
	own, clinic := false, false
	for i, x := range f.obs {
		if x.aside {
			out.SetAside = append(out.SetAside, x.points...)
			continue
		}
		own, clinic = own || x.self, clinic || !x.self
		out.Readings += len(x.points)
		if out.First == 0 {
			out.First = x.day
		}
		if n := len(out.Path); n > 0 && out.Path[n-1].Day == x.day {
			out.Path = out.Path[:n-1]
		}
		out.Path = append(out.Path, Band{Day: x.day, Range: f.level(i)})
		if f.steps[i].extra > 0 {
			out.Jumps = append(out.Jumps, x.day)
		}
	}
	out.Days = len(out.Path)
	out.Last = f.obs[at].day
	out.Age = day.Sub(out.Last)
	out.Now = f.level(at)
	out.OwnScale = !clinic
	st := f.steps[at]
	if out.Days >= 3 {
		out.RateKnown = true
		out.PerWeek = rangeOf(7*st.s[1], 7*sd(st.sp[1][1]))
	}
	if own && clinic {
		out.BiasKnown = true
		out.Bias = rangeOf(st.s[2], sd(st.sp[2][2]))
	}
	out.changes()
	out.Plateau = plateauOf(s, f, day)
	return out
}

func (f *fit) level(i int) Range {
	return rangeOf(f.steps[i].s[0], sd(f.steps[i].sp[0][0]))
}

func sd(variance float64) float64 { return math.Sqrt(max(variance, 0)) }

// rangeOf rounds to tenths; what no angle can be is capped at a full turn.
func rangeOf(mid, sd float64) Range {
	return Range{tenths(mid - float64(z95*sd)), tenths(mid), tenths(mid + float64(z95*sd))}
}

func tenths(x float64) rom.Degrees {
	return rom.Degrees(math.Round(10 * min(max(x, -360), 360)))
}
