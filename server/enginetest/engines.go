package enginetest

import "testing"

// Engine is a way to start one engine.
type Engine struct {
	Name string
	// Start starts it in a zone, with what the folder holds of an earlier run, and gives its one tab.
	Start func(t testing.TB, folder, zone string) *Page
	// Keeps says that its storage is in the folder and outlives it.
	Keeps bool
}

// Engines are the engines besides Chromium.
var Engines = []Engine{
	{"Firefox", StartFirefox, true},
	{"WebKitGTK", StartWebKit, false},
}
