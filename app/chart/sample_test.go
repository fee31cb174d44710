package chart_test

import (
	"unsling/app/chart"
	"unsling/engine/rom"
)

var surgery = rom.MakeDate(2026, 1, 12)

var words = chart.Words{
	Title: "External rotation", Desc: "A chart", Own: "your readings", Clinic: "measured at the clinic", Other: "other arm",
	Limit: "limit", Locked: "not allowed yet", Expected: "expected range", Trend: "trend", Change: "plan changed",
	Surgery: "surgery", Today: "today", Week: "weeks since surgery", Day: "day", Unknown: "no news", Rest: "rest day", Before: "before", After: "after",
	Due: "planned", Done: "done", Minutes: "minutes held", Mean: "mean difference", Bounds: "limits of agreement", Empty: "No readings yet.",
	Months: [12]string{"Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"},
}

// course is a made-up recovery.
func course(size chart.Size) chart.Motion {
	c := chart.Motion{
		Motion: rom.ERSide, Size: size, Words: words, Surgery: surgery, Today: surgery.Add(86),
		Other: []chart.Point{{Day: surgery.Add(-10), Value: rom.Deg(62), SE: rom.Deg(7)}},
		Limit: []chart.Step{
			{From: surgery, Locked: true}, {From: surgery.Add(14), Ceiling: rom.Deg(20)},
			{From: surgery.Add(42), Ceiling: rom.Deg(30)}, {From: surgery.Add(63), Ceiling: rom.Deg(45)}, {From: surgery.Add(84), Free: true},
		},
		Phases: []chart.Span{
			{From: surgery, To: surgery.Add(41), Name: "Phase 1"}, {From: surgery.Add(42), To: surgery.Add(83), Name: "Phase 2"},
			{From: surgery.Add(84), Name: "Phase 3"},
		},
		Changes: []rom.Date{surgery.Add(30), surgery.Add(63)},
	}
	for i, v := range []int{8, 6, 12, 15, 14, 18, 21, 24, 22, 27, 30, 29, 33, 38} {
		c.Own = append(c.Own, chart.Point{Day: surgery.Add(16 + i*5), Value: rom.Deg(v), SE: rom.Deg(7)})
	}
	for i, v := range []int{10, 19, 28, 36} {
		c.Clinic = append(c.Clinic, chart.Point{Day: surgery.Add(15 + i*21), Value: rom.Deg(v), SE: rom.Deg(4)})
	}
	return c
}

func withBands(c chart.Motion) chart.Motion {
	for i := 0; i <= 70; i += 5 {
		mid := 6 + i*45/100
		c.Trend = append(c.Trend, chart.Range{Day: surgery.Add(16 + i), Low: rom.Deg(mid - 5), Mid: rom.Deg(mid), High: rom.Deg(mid + 5)})
	}
	c.Expected = []chart.Range{
		{Day: surgery.Add(84), Low: rom.Deg(40), High: rom.Deg(62)}, {Day: surgery.Add(130), Low: rom.Deg(50), High: rom.Deg(67)},
	}
	c.Axis = chart.ByWeek
	return c
}

func back() chart.Motion {
	c := chart.Motion{Motion: rom.HandBehindBack, Words: words, Surgery: surgery}
	for i, l := range []int{19, 18, 18, 17, 16, 14, 13} {
		c.Own = append(c.Own, chart.Point{Day: surgery.Add(84 + 9*i), Value: rom.Deg(l)})
	}
	c.Limit = []chart.Step{{From: surgery.Add(80), Ceiling: rom.Deg(13)}}
	c.Other = []chart.Point{{Day: surgery, Value: rom.Deg(8)}}
	return c
}

func dose(size chart.Size, n int) chart.Dose {
	c := chart.Dose{Size: size, Words: words, Surgery: surgery, Today: surgery.Add(20 + n)}
	for i := range n {
		d := chart.DoseDay{Day: surgery.Add(20 + i), Seconds: 240 + (i*97)%300, Sets: i % 4, Due: 3, Known: i%9 < 7}
		if i%7 == 3 {
			d.Due, d.Sets, d.Seconds = 0, 0, 0
		}
		if d.Sets == 0 {
			d.Seconds = 0
		}
		c.Days = append(c.Days, d)
	}
	return c
}

func pain(size chart.Size) chart.Pain {
	c := chart.Pain{Size: size, Words: words, Cap: 3, Today: surgery.Add(45)}
	for i := range 26 {
		c.Days = append(c.Days, chart.PainDay{Day: surgery.Add(20 + i), Before: (i*3)%4 - 1, After: 1 + (i*7)%5})
	}
	return c
}

func agreement(size chart.Size) chart.Agreement {
	c := chart.Agreement{Size: size, Words: words, HasBounds: true, Bias: rom.Deg(3), Lower: rom.Deg(-9), Upper: rom.Deg(15),
		AxisMean: "mean of both", AxisDiffer: "yours less clinic's"}
	for i, d := range []int{4, 9, -2, 6, 1, 11, -5, 3} {
		c.Pairs = append(c.Pairs, chart.Pair{Own: rom.Deg(60 + 9*i + d), Clinic: rom.Deg(60 + 9*i)})
	}
	return c
}

func pattern(size chart.Size) chart.Pattern {
	c := chart.Pattern{Size: size, Words: words, AxisElevation: "elevation", AxisRotation: "rotation"}
	for i, p := range [][2]int{{420, 150}, {520, 210}, {640, 260}, {730, 300}, {820, 370}, {880, 410}} {
		c.Points = append(c.Points, chart.Share{Day: surgery.Add(20 + i*12), Elevation: p[0], Rotation: p[1]})
	}
	return c
}
