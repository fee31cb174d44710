package clinic

import (
	"unsling/app/chart"
	"unsling/engine/review"
	"unsling/engine/rom"
)

// gainPictures show, for elevation and for rotation at the side, what became
// of the time held at end range: week by week, dose against gain.
func (v *visit) gainPictures(f file, c care) []picture {
	var out []picture
	for _, m := range []rom.Motion{rom.ForwardFlexion, rom.ERSide} {
		pic := chart.Gain{Size: chart.Wide, Words: chartWords("Dose against gain, " + name(motionNames, m)),
			AxisTime: "minutes held at end range a day", AxisGain: "change of the range in the week"}
		drawn := 0
		for _, w := range review.DoseAgainstGain(f.History, c.Episode.ID, m, v.today, f.Inputs) {
			pic.Weeks = append(pic.Weeks, chart.WeekGain{Week: w.Number, Seconds: w.Seconds, Days: w.Days, Gain: w.Gain, Known: w.GainKnown})
			if w.Days > 0 && w.GainKnown && w.Seconds > 0 {
				drawn++
			}
		}
		if drawn < 3 {
			continue // two weeks show nothing
		}
		one := picture{Key: "gain-" + string(m), Title: "Dose against gain: " + name(motionNames, m), SVG: pic.SVG(), Table: pic.Table(),
			Says: "Each point is one week; the newest is filled. It shows no cause."}
		pic.Size = chart.Narrow
		one.Small = pic.SVG()
		out = append(out, one)
	}
	return out
}
