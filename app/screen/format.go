package screen

import (
	"strconv"

	"unsling/engine/rom"
)

func itoa(n int) string { return strconv.Itoa(n) }

// limitAngle writes a limit: it is never rounded up.
func limitAngle(d rom.Degrees) string { return strconv.Itoa(d.Floor()) + "°" }

// angle writes an angle in whole degrees: tenths would claim a precision that
// no method here has.
func angle(d rom.Degrees) string { return strconv.Itoa(d.Whole()) + "°" }
