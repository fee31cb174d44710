package chart

// SVG returns the small trend picture: the readings as a line, the last one as
// a dot with its value, the limit as a thin dashed line.
func (c Spark) SVG() string {
	cv := &canvas{w: 132, h: 36, fs: 15}
	var days, values span
	var ps []Point
	for _, p := range c.Points {
		if plottableDay(p.Day) && plottable(p.Value) {
			ps = append(ps, p)
			days.add(float64(p.Day))
			values.add(v(p.Value))
		}
	}
	if len(ps) == 0 {
		cv.text("chart-quiet", pt{4, 23}, "", c.Words.Empty)
		return cv.svg(c.Words)
	}
	if c.Limit > 0 && plottable(c.Limit) {
		values.add(v(c.Limit))
	}
	if pad := (20 - (values.hi - values.lo)) / 2; pad > 0 && !c.Motion.ByLevel() {
		values.lo, values.hi = values.lo-pad, values.hi+pad // keep noise small
	}
	p := plot{x0: 6, x1: 82, y0: 6, y1: 30}
	p.xs = scale{days.lo, days.hi, p.x0, p.x1}
	p.ys = scale{values.lo, values.hi, p.y1, p.y0}
	if c.Motion.ByLevel() {
		p.ys = scale{values.hi, values.lo, p.y1, p.y0}
	}
	if c.Limit > 0 && plottable(c.Limit) {
		y := p.ys.at(v(c.Limit))
		cv.line("chart-limit-thin", pt{p.x0 - 4, y}, pt{p.x1 + 4, y}, "4 3")
	}
	line := make([]pt, len(ps))
	for i, q := range ps {
		line[i] = p.at(q.Day, v(q.Value))
	}
	cv.poly("chart-own-line", line, false, "")
	last := ps[len(ps)-1]
	cv.dot("chart-own", line[len(line)-1], 3.4)
	cv.text("chart-text", pt{cv.w - 2, 23}, "end", c.Words.value(c.Motion, last.Value))
	return cv.svg(c.Words)
}

// Table returns the same facts as rows; the first row is the header.
func (c Spark) Table() [][]string {
	rows := [][]string{{c.Words.Day, c.Words.Own}}
	for _, p := range c.Points {
		rows = append(rows, []string{c.Words.fullDate(p.Day), c.Words.value(c.Motion, p.Value)})
	}
	return rows
}
