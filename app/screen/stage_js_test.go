//go:build js && wasm

package screen

import (
	"flag"
	"os"
	"syscall/js"
	"testing"

	"github.com/maxence-charriere/go-app/v10/pkg/app"

	"unsling/app/words"
)

// These tests, built for the browser and served in place of the phone's
// program, are a stage: the real component in the real page, with the phone
// faked, which a test outside brings to any moment by its name.
//
//	unslingShots()                 the names
//	unslingShow(name, lang, size)  a promise that the moment is drawn
//	unslingRecord(lang)            the file that is shared, as a page
//	unslingPanic()                 ends the program by a fault

// TestMain makes the stage where the page's start script has run, and runs the
// tests everywhere else.
func TestMain(m *testing.M) {
	if js.Global().Get("unslingBoot").Truthy() {
		_ = flag.CommandLine.Parse([]string{"-test.run=^TestStage$", "-test.timeout=0"})
	}
	os.Exit(m.Run())
}

// invented is a picture that the page's policy lets through.
func invented() string {
	const gray = `<svg xmlns="http://www.w3.org/2000/svg" width="900" height="1000" viewBox="0 0 900 1000"><rect width="900" height="1000" fill="#667"/></svg>`
	blob := js.Global().Get("Blob").New([]any{gray}, map[string]any{"type": "image/svg+xml"})
	return js.Global().Get("URL").Call("createObjectURL", blob).String()
}

func TestStage(t *testing.T) {
	if !js.Global().Get("unslingBoot").Truthy() {
		return // not on the page: TestScreens looks at the same moments
	}
	inventedPicture = invented()
	byName := map[string]*App{}
	var names []any
	for _, x := range shots(t) {
		byName[x.name] = x.a
		names = append(names, x.name)
	}
	wait := New((&fakePhone{}).deps())
	root := &Phone{a: wait}
	js.Global().Set("unslingShots", js.FuncOf(func(js.Value, []js.Value) any { return names }))
	js.Global().Set("unslingShow", js.FuncOf(func(_ js.Value, args []js.Value) any {
		name, lang, size := args[0].String(), args[1].String(), args[2].Int()
		return js.Global().Get("Promise").New(js.FuncOf(func(_ js.Value, settle []js.Value) any {
			a, ok := byName[name]
			if !ok {
				settle[1].Invoke("no such moment: " + name)
				return nil
			}
			root.ctx.Dispatch(func(ctx app.Context) {
				a.prefs.Language, a.prefs.Size = words.Lang(lang), size
				a.Attach(root.run, func(path string) { ctx.Dispatch(func(app.Context) { a.Arrive(path, "") }) })
				root.a = a
				ctx.Defer(func(app.Context) { settle[0].Invoke() })
			})
			return nil
		}))
	}))
	js.Global().Set("unslingRecord", js.FuncOf(func(_ js.Value, args []js.Value) any {
		a := byName["week"]
		a.prefs.Language = words.Lang(args[0].String())
		return a.recordPage([]byte(`{"kind":"reading","invented":true}`))
	}))
	js.Global().Set("unslingPanic", js.FuncOf(func(js.Value, []js.Value) any {
		go panic("a fault that nothing catches")
		return nil
	}))
	app.RouteWithRegexp("^/", func() app.Composer { return root })
	app.RunWhenOnBrowser()
}
