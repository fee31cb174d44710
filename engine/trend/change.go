package trend

import "unsling/engine/rom"

var mdcSource = rom.Source{Key: "PMC6558857", Mark: rom.Read} // the formula; the SEMs have their own

// changes fills Since, Recent and LastReal from the readings that were used.
// Only readings of one rater by one method are compared; when the newest has
// no predecessor of its kind, those of the clinic are compared among each other.
func (s *Summary) changes() {
	at := s.fit.newest()
	newest := s.fit.obs[at]
	var before []obs
	for _, x := range s.fit.obs[:at] {
		if !x.aside && x.by == newest.by && x.method == newest.method {
			before = append(before, x)
		}
	}
	if len(before) == 0 && !newest.self {
		for _, x := range s.fit.obs[:at] {
			if !x.aside && !x.self {
				before = append(before, x)
			}
		}
	}
	if len(before) == 0 {
		return
	}
	s.Since = s.change(before[0], newest)
	best, found := 0, false
	for i, x := range before {
		if n := newest.day.Sub(x.day); n >= 14 && n <= 56 && (!found || apart(n) < apart(newest.day.Sub(before[best].day))) {
			best, found = i, true
		}
	}
	if found {
		s.Recent = s.change(before[best], newest)
	}
	anchor := before[0]
	for _, x := range append(before[1:len(before):len(before)], newest) {
		if c := s.change(anchor, x); c.Real {
			s.LastReal, anchor = c, x
		}
	}
}

func apart(days int) int { return max(days-28, 28-days) }

func (s *Summary) change(a, b obs) Change {
	m := mdc(a, b)
	c := Change{
		Known: true, From: a.day, To: b.day, MDC: tenths(m),
		Real: abs(b.y-a.y) > m, Source: mdcSource,
	}
	c.Before, c.After = tenths(a.y), tenths(b.y)
	if s.Key.Motion.ByLevel() {
		c.LevelBefore, c.LevelAfter = rom.Level(a.y+0.5), rom.Level(b.y+0.5)
	}
	return c
}
