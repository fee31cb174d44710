//go:build js && wasm

package main

import "github.com/maxence-charriere/go-app/v10/pkg/app"

// run mounts the root component at every phone address.
func run() {
	app.RouteWithRegexp("^/", func() app.Composer { return &root{} })
	app.RunWhenOnBrowser()
}

// root is the component that stands at every address until the screens are wired in.
type root struct {
	app.Compo
	path string
}

func (r *root) OnNav(ctx app.Context) { r.path = ctx.Page().URL().Path }

func (r *root) Render() app.UI {
	return app.Div().ID("screen").Class("screen").Body(
		app.H1().Text("Unsling"),
		app.P().ID("address").Text(r.path),
	)
}
