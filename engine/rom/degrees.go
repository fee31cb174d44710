package rom

import (
	"fmt"
	"math"
	"strconv"
)

// Degrees is an angle in tenths of a degree. Angles are stored as integers
// so that phone and server agree bit for bit. Use Deg for whole degrees.
type Degrees int32

// Deg returns n whole degrees.
func Deg(n int) Degrees { return Degrees(n * 10) }

// FromFloat rounds x degrees to tenths, halves away from zero. ok is false
// for NaN, infinities and anything beyond a full turn; the angle is then 0.
func FromFloat(x float64) (d Degrees, ok bool) {
	if math.IsNaN(x) || math.Abs(x) > 360 {
		return 0, false
	}
	return Degrees(math.Round(x * 10)), true
}

// Float returns the angle in degrees.
func (d Degrees) Float() float64 { return float64(d) / 10 }

// Whole returns the angle rounded to whole degrees, halves away from zero.
// Angles are shown in whole degrees: tenths would claim a precision that no
// method of measurement here has.
func (d Degrees) Whole() int { return int(math.Round(float64(d) / 10)) }

// Floor returns the greatest whole number of degrees that is not above the
// angle. A limit is shown by it: 92.5 shows as 92, since 93 would permit what
// the plan does not.
func (d Degrees) Floor() int { return int(math.Floor(float64(d) / 10)) }

// String prints degrees with one decimal when there is one: "92", "92.5".
func (d Degrees) String() string {
	if d%10 == 0 {
		return strconv.Itoa(int(d / 10))
	}
	return fmt.Sprintf("%.1f", d.Float())
}
