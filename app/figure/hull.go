package figure

import (
	"math"
	"strconv"
	"strings"
)

// ball is a sphere in space. A body part is the hull of its balls, which a
// parallel projection turns into the hull of circles: round at the joints,
// straight between them, from whatever side it is seen.
type ball struct {
	at Vec
	r  float64
}

type circle struct {
	c flat
	r float64
}

// hull writes the outline of the hull of circles as a closed path.
func hull(w *strings.Builder, cs []circle) {
	cs = outer(cs)
	if len(cs) == 0 {
		return
	}
	if len(cs) == 1 {
		c := cs[0]
		w.WriteString("M" + xy(flat{c.c.x - c.r, c.c.y}))
		for _, dx := range []float64{c.r, -c.r} {
			arcTo(w, c.r, false, flat{c.c.x + dx, c.c.y})
		}
		w.WriteString("z")
		return
	}
	// Walk around the support function: at each angle one circle reaches out
	// farthest; find where the next one takes over.
	cur := 0
	for i, c := range cs {
		// Of two that reach out alike the one that leads from there on.
		if d := c.c.x + c.r - cs[cur].c.x - cs[cur].r; d > 1e-6 || d > -1e-6 && c.c.y > cs[cur].c.y {
			cur = i
		}
	}
	first, theta := cur, 0.0
	type turnover struct {
		circle int
		angle  float64
	}
	var path []turnover
	for range 4 * len(cs) {
		next, at := -1, 2*math.Pi
		for j := range cs {
			if j == cur {
				continue
			}
			dx, dy := cs[j].c.x-cs[cur].c.x, cs[j].c.y-cs[cur].c.y
			d := math.Hypot(dx, dy)
			k := (cs[cur].r - cs[j].r) / d
			if d < 1e-9 || math.Abs(k) >= 1 {
				continue
			}
			cross := math.Atan2(dy, dx) - math.Acos(k) // here j overtakes cur
			for cross <= theta+1e-9 {
				cross += 2 * math.Pi
			}
			if cross < at {
				next, at = j, cross
			}
		}
		if next < 0 {
			break
		}
		path = append(path, turnover{cur, at})
		cur, theta = next, at
	}
	if len(path) == 0 {
		hull(w, cs[first:first+1])
		return
	}
	rim := func(i int, a float64) flat {
		s, c := math.Sincos(a)
		return flat{cs[i].c.x + float64(cs[i].r*c), cs[i].c.y + float64(cs[i].r*s)}
	}
	w.WriteString("M" + xy(rim(first, 0)))
	from := 0.0
	for k, p := range path {
		arcTo(w, cs[p.circle].r, p.angle-from > math.Pi, rim(p.circle, p.angle))
		next := cur
		if k+1 < len(path) {
			next = path[k+1].circle
		}
		w.WriteString("L" + xy(rim(next, p.angle)))
		from = p.angle
	}
	arcTo(w, cs[cur].r, 2*math.Pi-from > math.Pi, rim(cur, 2*math.Pi))
	w.WriteString("z")
}

// outer drops circles that lie inside another one.
func outer(cs []circle) []circle {
	var out []circle
	for i, c := range cs {
		inside := false
		for j, o := range cs {
			if i == j {
				continue
			}
			d := math.Hypot(c.c.x-o.c.x, c.c.y-o.c.y)
			if d+c.r < o.r || (d+c.r <= o.r+1e-6 && (c.r < o.r-1e-9 || j < i)) {
				inside = true
				break
			}
		}
		if !inside {
			out = append(out, c)
		}
	}
	return out
}

func arcTo(w *strings.Builder, r float64, large bool, to flat) {
	flag := "0"
	if large {
		flag = "1"
	}
	n := num(r)
	w.WriteString("A" + n + " " + n + " 0 " + flag + " 1 " + xy(to))
}

func polyline(w *strings.Builder, ps []flat, closed bool) {
	for i, p := range ps {
		if i == 0 {
			w.WriteString("M")
		} else {
			w.WriteString("L")
		}
		w.WriteString(xy(p))
	}
	if closed {
		w.WriteString("z")
	}
}

func xy(p flat) string { return num(p.x) + " " + num(p.y) }

// num prints a picture coordinate with one decimal at most.
func num(x float64) string {
	x = math.Round(x*10) / 10
	if x == 0 {
		x = 0 // no negative zero
	}
	return strconv.FormatFloat(x, 'f', -1, 64)
}
