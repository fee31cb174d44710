package screen

import _ "embed"

// Stylesheet is the text of phone.css: every class of the screens, for light,
// dark and forced colours. The builder of the phone's program gathers it
// together with those of app/figure and app/chart.
//
//go:embed phone.css
var Stylesheet string
