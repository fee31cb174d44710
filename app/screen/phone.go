package screen

import (
	"net/url"
	"time"

	"github.com/maxence-charriere/go-app/v10/pkg/app"

	"unsling/app/words"
	"unsling/engine/rom"
)

// Phone is the root component: it stands at every address of the phone and
// draws the place that the App is at. Its fields stay unexported, since the
// library overwrites exported ones.
type Phone struct {
	app.Compo
	a     *App
	ctx   app.Context
	ticks func() // stops the quick clock; nil while it does not run
	over  []func()
}

// Routes returns what makes the root component for an address. The library
// wants a new component each time; all of them share one App.
func Routes(a *App) func() app.Composer {
	return func() app.Composer { return &Phone{a: a} }
}

const (
	quick = 100 * time.Millisecond // while a time runs
	slow  = 30 * time.Second       // for the day and the hour
)

// OnMount begins: it reads what is kept and listens for news.
func (p *Phone) OnMount(ctx app.Context) {
	p.ctx = ctx
	p.a.Attach(p.run, func(path string) { ctx.NavigateTo(&url.URL{Path: path}) })
	news := func() { ctx.Dispatch(func(app.Context) { p.guard(p.a.Changed) }) }
	p.over = append(p.over,
		p.a.d.Journal.Subscribe(news),
		p.a.d.Clock.Every(slow, news),
		p.a.d.Platform.OnVisible(func(visible bool) {
			ctx.Dispatch(func(app.Context) {
				p.guard(func() {
					if !visible {
						p.a.Hidden()
						return
					}
					p.a.Back()
				})
			})
		}),
	)
	p.guard(p.a.Start)
}

// OnDismount ends what OnMount began.
func (p *Phone) OnDismount() {
	for _, f := range p.over {
		f()
	}
	if p.ticks != nil {
		p.ticks()
		p.ticks = nil
	}
}

// OnNav follows the address. The secret of an invitation leaves the address
// at once, so that it is not shown, shared or kept in the history.
func (p *Phone) OnNav(ctx app.Context) {
	u := app.Window().URL()
	if u == nil {
		return
	}
	p.guard(func() { p.a.Arrive(u.Path, u.Fragment) })
	if u.Fragment != "" && u.Path == string(PlaceEnrol) {
		app.Window().Get("history").Call("replaceState", nil, "", u.Path)
	}
}

// run does work on a goroutine and then on the UI's thread.
func (p *Phone) run(work, then func()) {
	p.ctx.Async(func() {
		slipped := true
		func() {
			defer func() { _ = recover() }()
			work()
			slipped = false
		}()
		p.ctx.Dispatch(func(app.Context) {
			p.guard(func() {
				then()
				if slipped {
					p.a.say(p.a.t(words.SlipUp), true)
				}
			})
		})
	})
}

// guard runs f so that a fault in it is told and nothing else is lost.
func (p *Phone) guard(f func()) {
	defer func() {
		if recover() != nil {
			p.a.say(p.a.t(words.SlipUp), true)
		}
	}()
	f()
	p.pace()
}

// pace starts or stops the quick clock.
func (p *Phone) pace() {
	switch want := p.a.Ticking(); {
	case want && p.ticks == nil:
		p.ticks = p.a.d.Clock.Every(quick, func() {
			p.ctx.Dispatch(func(ctx app.Context) {
				changed := true
				p.guard(func() { changed = p.a.Tick() })
				if !changed {
					ctx.PreventUpdate()
				}
			})
		})
	case !want && p.ticks != nil:
		p.ticks()
		p.ticks = nil
	}
}

// Render draws the place that is shown.
func (p *Phone) Render() (ui app.UI) {
	defer func() {
		if recover() != nil {
			ui = app.Div().Class("phone").Body(app.Main().Class("main").Body(
				app.P().Class("notice", "alert").Text(p.a.t(words.SlipUp)), p.callLinks()))
		}
	}()
	p.dress()
	return p.frame()
}

// dress sets language and text size on the document.
func (p *Phone) dress() {
	root := app.Window().Get("document").Get("documentElement")
	if !root.Truthy() {
		return
	}
	root.Set("lang", string(p.a.lang()))
	root.Set("className", "size-"+itoa(p.a.prefs.Size))
}

// hand is the class that moves the main buttons to the free hand.
func (p *Phone) hand() string {
	if p.a.prefs.FreeHand == rom.Left {
		return "hand-left"
	}
	return "hand-right"
}
