package chart

import (
	"math"
	"strconv"
)

// plainDays is how many days a plain chart of the dose shows; the table has
// them all.
const plainDays = 14

// plainSVG is a line a day, today last: the day, a bar for the time held, and
// in words how long it was, that it was a day of rest, or that there is no
// news of it. What was planned and not done is left open.
func (c Dose) plainSVG() string {
	cv := plainCanvas(c.Large)
	var days []DoseDay
	most := 60.0
	for _, d := range c.Days {
		if !plottableDay(d.Day) {
			continue
		}
		days = append(days, d)
	}
	if len(days) == 0 {
		return cv.empty(c.Words)
	}
	days = days[max(0, len(days)-plainDays):]
	left, right := 0.0, 0.0
	for _, d := range days {
		left = max(left, cv.labelWidth(c.dayName(d)))
		if word, quiet := c.doseWord(d); !quiet {
			right = max(right, cv.labelWidth(word))
		}
		if d.Known {
			most = max(most, clampSeconds(d.Seconds))
		}
	}
	row := 1.45 * cv.fs
	cv.h = row*float64(len(days)) + 6
	x0 := left + 8
	x1 := max(x0+20, cv.w-4-right-8)
	cv.line("chart-axis", pt{x0, 2}, pt{x0, cv.h - 4}, "")
	for i, d := range days {
		y := float64(row*float64(i)) + 4
		base := y + row/2 + 0.35*cv.fs - 1
		class := "chart-text"
		if d.Day == c.Today {
			class = "chart-name"
		}
		cv.text(class, pt{left, base}, "end", c.dayName(d))
		word, quiet := c.doseWord(d)
		if quiet {
			cv.text("chart-quiet", pt{x0 + 8, base}, "", word)
			continue
		}
		x := x0
		if d.Seconds > 0 {
			x = x0 + max(3, float64(clampSeconds(d.Seconds)/most*(x1-x0)))
			cv.rect("chart-bar", x0, y+2, x, y+row-3)
		}
		cv.text(class, pt{x + 8, base}, "", word)
	}
	return cv.svg(c.Words)
}

func (c Dose) dayName(d DoseDay) string {
	if d.Day == c.Today && c.Words.Today != "" {
		return c.Words.Today
	}
	return c.Words.date(d.Day)
}

// doseWord says a day in a word or two; quiet is one without work.
func (c Dose) doseWord(d DoseDay) (word string, quiet bool) {
	switch minutes := int(math.Round(clampSeconds(d.Seconds) / 60)); {
	case !d.Known:
		return c.Words.Unknown, true
	case d.Seconds > 0 && minutes == 0:
		return "< 1 " + c.Words.Minutes, false
	case d.Seconds > 0:
		return strconv.Itoa(minutes) + " " + c.Words.Minutes, false
	case d.Sets > 0:
		return c.Words.Done, false
	case d.Due == 0:
		return c.Words.Rest, true
	}
	return "\u2013", true
}
