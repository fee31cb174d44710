// Command hello is the least that the UI library can show: the measure for the
// start of the phone's program.
package main

import "github.com/maxence-charriere/go-app/v10/pkg/app"

type hello struct{ app.Compo }

// Render draws one heading.
func (h *hello) Render() app.UI {
	return app.Main().ID("main").Body(app.H1().ID("title").Text("Hello"))
}

func main() {
	app.RouteWithRegexp("^/", func() app.Composer { return &hello{} })
	app.RunWhenOnBrowser()
}
