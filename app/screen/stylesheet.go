package screen

import _ "embed"

//go:embed phone.css
var phoneSheet string

//go:embed phone_narrow.css
var narrowSheet string

//go:embed phone_measure.css
var measureSheet string

//go:embed phone_days.css
var daysSheet string

// Stylesheet is every class of the screens, for light, dark and forced
// colours, for wide and narrow. The builder of the phone's program gathers the
// files together with those of app/figure and app/chart, in this order.
var Stylesheet = phoneSheet + daysSheet + measureSheet + narrowSheet
