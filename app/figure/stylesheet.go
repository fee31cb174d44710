package figure

import _ "embed"

// Stylesheet is the text of figure.css: the classes with their values for
// light, dark and forced colours. A page's own style sheet includes it or
// sets the same custom properties.
//
//go:embed figure.css
var Stylesheet string
