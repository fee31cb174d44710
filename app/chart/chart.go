package chart

import "unsling/engine/rom"

// Size is the width for which a chart is laid out. Charts scale with their
// container; the size keeps the text legible there.
type Size int

// The sizes.
const (
	Narrow Size = iota // phone, 300 to 480 px wide
	Wide               // clinic page, 560 px and wider
	Plain              // phone, for an untrained eye: names in the chart, large text
)

// Axis says how days are labelled.
type Axis int

// The axes.
const (
	ByDate Axis = iota // "3 Mar"
	ByWeek             // weeks since surgery; needs Surgery
)

// Words are the fixed words of a chart in the reader's language. Words of
// series that are not drawn may be empty.
type Words struct {
	Title    string // accessible name, not drawn
	Desc     string // one sentence for those who cannot see it
	Own      string // "your readings"
	Clinic   string // "measured at the clinic"
	Other    string // "other arm"
	Limit    string // "limit"
	Locked   string // "not allowed yet"
	Expected string // "expected range"
	Trend    string // "trend"
	Change   string // "plan changed"
	Surgery  string // "surgery"
	Today    string // "today"
	Week     string // "week"
	Day      string // "day"
	Unknown  string // "no news"
	Rest     string // "rest day"
	Before   string // "before"
	After    string // "after"
	Due      string // "planned"
	Done     string // "done"
	Minutes  string // "min"
	Mean     string // "mean difference"
	Bounds   string // "limits of agreement"
	Empty    string // shown in place of a chart without data
	// Months are short month names from January; an empty one is printed as
	// a number.
	Months [12]string
	// Levels, if given, print vertebral levels from T1 (index 1); an empty
	// one is printed as "T1" to "L5", "S".
	Levels [21]string
}

// Point is one reading on one day. SE is its standard error, 0 for unknown.
// For the hand behind the back Value is a level: rom.Deg(int(level)); so are
// ceilings and ranges of that motion.
type Point struct {
	Day   rom.Date
	Value rom.Degrees
	SE    rom.Degrees
}

// Step is the limit from one day on, until the next step.
type Step struct {
	From    rom.Date
	Ceiling rom.Degrees
	Locked  bool // the motion is not allowed at all
	Free    bool // no limit from here on
}

// Range is what is expected, or what is estimated, on one day. Mid is drawn
// only for a trend.
type Range struct {
	Day            rom.Date
	Low, Mid, High rom.Degrees
}

// Span is a named stretch of days, both ends included.
type Span struct {
	From, To rom.Date
	Name     string // a fixed word, such as the name of a phase
}

// Motion is the chart of one motion over time.
type Motion struct {
	Motion   rom.Motion
	Size     Size
	Large    int // text size of a plain chart, 0 to 2
	Axis     Axis
	Words    Words
	Surgery  rom.Date // zero: not drawn
	Today    rom.Date // zero: not drawn
	From, To rom.Date // zero: from the data
	Own      []Point
	Clinic   []Point
	Other    []Point // one point is a line across; several are joined
	Limit    []Step  // in order of days
	Expected []Range
	Trend    []Range
	Phases   []Span
	Changes  []rom.Date
}

// Spark is the small trend picture of one list row.
type Spark struct {
	Motion rom.Motion
	Words  Words
	Points []Point
	Limit  rom.Degrees // 0: none
}

// DoseDay is what was done on one day. Known is false while nothing has been
// heard of that day: it is drawn hatched, never as zero.
type DoseDay struct {
	Day       rom.Date
	Seconds   int // time held at end range
	Sets, Due int // sets done and planned; Due 0 is a day without a plan
	Known     bool
}

// Dose is the chart of end-range time by day.
type Dose struct {
	Size    Size
	Large   int // text size of a plain chart, 0 to 2
	Axis    Axis
	Words   Words
	Surgery rom.Date
	Today   rom.Date
	Days    []DoseDay
}

// PainDay is the worst pain of one day, 0 to 10; -1 for not given.
type PainDay struct {
	Day           rom.Date
	Before, After int
}

// Pain is the chart of pain by day. Cap is the highest permitted pain, or 0.
type Pain struct {
	Size    Size
	Axis    Axis
	Words   Words
	Surgery rom.Date
	Today   rom.Date
	Cap     int
	Days    []PainDay
}

// Pair is one own reading and the clinic's reading of the same motion.
type Pair struct {
	Own, Clinic rom.Degrees
}

// Agreement plots difference (own less clinic) against mean, after Bland and
// Altman, with the mean difference and the limits of agreement if HasBounds.
type Agreement struct {
	Size                 Size
	Words                Words
	Pairs                []Pair
	Bias, Lower, Upper   rom.Degrees
	HasBounds            bool
	AxisMean, AxisDiffer string // axis titles, fixed words
}

// Share is elevation and external rotation as tenths of a per cent of their
// reference on one day.
type Share struct {
	Day                 rom.Date
	Elevation, Rotation int // per mille of the other arm or the norm
}

// Pattern plots rotation against elevation, both as shares of the reference:
// points below the diagonal are a rotation that lags.
type Pattern struct {
	Size                        Size
	Words                       Words
	Points                      []Share
	AxisElevation, AxisRotation string // axis titles, fixed words
}
