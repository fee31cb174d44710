package trend

import (
	"fmt"

	"unsling/engine/rom"
)

// moment is a published mean and standard deviation at one time.
type moment struct {
	day      int
	mean, sd float64
}

// ha2021 is the control group (n = 72) of HA2021 Table 3, passive motion after
// arthroscopic cuff repair, read. External rotation is taken for that at the
// side; the table does not name its position. Months are 365.25/12 days.
var ha2021 = map[rom.Motion][]moment{
	rom.ForwardFlexion: {{91, 138.9, 24.0}, {183, 160.6, 10.0}, {731, 163.9, 8.1}},
	rom.ERSide:         {{91, 51.0, 10.8}, {183, 59.7, 7.8}, {731, 60.6, 6.3}},
	rom.HandBehindBack: {{91, 12.8, 1.8}, {183, 10.3, 2.4}, {731, 10.1, 2.2}},
}

// published interpolates the control group's course in a straight line
// between its times; there is nothing before month 3 and after month 24.
func published(m rom.Motion, day int) (moment, bool) {
	row := ha2021[m]
	for i := 1; i < len(row); i++ {
		a, b := row[i-1], row[i]
		if day < a.day || day > b.day {
			continue
		}
		w := float64(day-a.day) / float64(b.day-a.day)
		return moment{day, a.mean + float64(w*(b.mean-a.mean)), a.sd + float64(w*(b.sd-a.sd))}, true
	}
	return moment{}, false
}

// staged is one row of a staged goal: the lower bound is expected, the upper
// protects.
type staged struct {
	week      int
	low, high int // degrees; high 0 means normal
}

// The staged goals of THIGPEN2016 (cuff) and GAUNT2010 (anterior labrum). All
// values are from memory and must be confirmed in the papers.
var (
	thigpen = map[Key][]staged{
		{Motion: rom.ForwardFlexion, Class: rom.Passive}: {{2, 60, 90}, {6, 90, 120}, {9, 130, 155}, {12, 140, 0}},
		{Motion: rom.ER20, Class: rom.Passive}:           {{2, 0, 20}, {6, 20, 30}, {9, 30, 45}, {12, 30, 0}},
		{Motion: rom.ER90, Class: rom.Passive}:           {{9, 45, 60}, {12, 75, 0}},
		{Motion: rom.ForwardFlexion, Class: rom.Active}:  {{9, 80, 120}, {12, 120, 0}},
	}
	gaunt = map[Key][]staged{
		{Motion: rom.ForwardFlexion, Class: rom.Passive}: {{3, 90, 90}, {6, 135, 135}, {9, 155, 155}},
		{Motion: rom.ER20, Class: rom.Passive}:           {{3, 10, 30}, {6, 35, 50}, {9, 50, 65}},
		{Motion: rom.ER90, Class: rom.Passive}:           {{6, 45, 45}, {9, 75, 75}},
		{Motion: rom.ForwardFlexion, Class: rom.Active}:  {{6, 115, 115}, {9, 145, 145}},
	}
)

// Expectation is what a published source says of a motion at a time. It is a
// picture for clinicians; the surgeon's limits stand above it.
type Expectation struct {
	Known bool
	// ByMean is true with a mean and SD; then Z may be given. Otherwise Low
	// and High are a staged goal: a range, with no statement on how many
	// patients lie in it. High is 0 where the goal is the normal range.
	ByMean    bool
	Mean, SD  rom.Degrees // tenths of a level for hand behind back
	Low, High rom.Degrees
	Day       int // day after surgery that the numbers speak of
	Source    rom.Source
	Note      string
}

// Expect returns what is published for key on day n after surgery of e: a
// mean and SD from month 3 on after cuff repair, the newest staged goal that is
// complete before that, and nothing where there is nothing.
func Expect(e rom.Episode, k Key, n int) Expectation {
	if k.Glenohumeral || n < 0 {
		return Expectation{}
	}
	plain := Key{Motion: k.Motion, Class: k.Class}
	cuff := len(e.Procedures) > 0 && e.Procedures[0].Cuff()
	if cuff && k.Class == rom.Passive {
		if m, ok := published(k.Motion, n); ok {
			x := Expectation{
				Known: true, ByMean: true, Mean: tenths(m.mean), SD: tenths(m.sd), Day: n,
				Low: tenths(m.mean - float64(z95*m.sd)), High: tenths(m.mean + float64(z95*m.sd)),
				Source: rom.Source{Key: "HA2021", Mark: rom.Read},
				Note:   "control group, mostly not stiff before surgery; in a straight line between months 3, 6 and 24",
			}
			return x
		}
	}
	var rows []staged
	src := rom.Source{Mark: rom.Memory}
	switch {
	case cuff:
		rows, src.Key = thigpen[plain], "THIGPEN2016"
	case len(e.Procedures) > 0 && e.Procedures[0] == rom.AnteriorLabralRepair:
		rows, src.Key = gaunt[plain], "GAUNT2010"
	}
	for i := len(rows) - 1; i >= 0; i-- {
		if r := rows[i]; n >= 7*r.week {
			return Expectation{
				Known: true, Low: rom.Deg(r.low), High: rom.Deg(r.high), Day: 7 * r.week, Source: src,
				Note: fmt.Sprintf("staged goal for week %d, from memory; missing it is no sign of stiffness by itself", r.week),
			}
		}
	}
	return Expectation{}
}

// Z returns how many SDs value lies above the mean, times ten; ok is false
// without a mean and SD, so always before month 3. For hand behind back the
// value is in tenths of a level and a positive Z is worse.
func (x Expectation) Z(value rom.Degrees) (tenth int, ok bool) {
	if !x.Known || !x.ByMean || x.SD <= 0 {
		return 0, false
	}
	return int(tenths((value - x.Mean).Float() / x.SD.Float())), true
}
