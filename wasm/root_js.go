//go:build js && wasm

package main

import (
	"github.com/maxence-charriere/go-app/v10/pkg/app"

	"unsling/app/screen"
)

// root stands at every address until the screens can be drawn.
type root struct {
	app.Compo
	path string
}

func newRoot(screen.Deps) app.Composer { return &root{} }

func (r *root) OnNav(ctx app.Context) { r.path = ctx.Page().URL().Path }

func (r *root) Render() app.UI {
	return app.Div().ID("screen").Class("screen").Body(
		app.H1().Text("Unsling"),
		app.P().ID("address").Text(r.path),
	)
}
