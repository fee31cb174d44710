package chart

import _ "embed"

// Stylesheet is the text of chart.css: the classes with their values for
// light, dark and forced colours. A page's own style sheet includes it or
// sets the same custom properties.
//
//go:embed chart.css
var Stylesheet string
