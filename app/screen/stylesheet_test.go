package screen

import (
	"embed"
	"strings"
)

//go:embed *.css
var sheets embed.FS

// Stylesheet is every class of the screens, for light, dark and forced
// colours, for wide and narrow: the style sheets of this folder in the order
// of their names, as the builder of the phone's program gathers them together
// with those of app/figure and app/chart.
var Stylesheet = func() string {
	var all strings.Builder
	list, err := sheets.ReadDir(".")
	if err != nil {
		panic(err) // embedded
	}
	for _, f := range list {
		text, err := sheets.ReadFile(f.Name())
		if err != nil {
			panic(err)
		}
		all.Write(text)
	}
	return all.String()
}()
