package screen

import (
	"html"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/maxence-charriere/go-app/v10/pkg/app"

	"unsling/app/chart"
	"unsling/app/figure"
	"unsling/app/words"
	"unsling/engine/gonio"
	"unsling/engine/rom"
	"unsling/engine/session"
)

// shot is one screen at one moment, with invented data.
type shot struct {
	name string
	a    *App
}

// inventedPicture stands for a photograph.
var inventedPicture = "blob:invented"

// shots brings the app to every screen that a patient can see.
func shots(t testing.TB) []shot {
	var out []shot
	add := func(name string, s *scene) { out = append(out, shot{name, s.a}) }
	at := func(place string, s *scene) *scene {
		s.a.Arrive(place, "")
		return s
	}
	unknown := func() *scene {
		s := on(t, 20, 10)
		s.f.facts.Account = Account{}
		s.start()
		return s
	}
	add("enrol", unknown())
	s := unknown()
	s.a.Arrive("/enrol", "invented-secret")
	add("enrol-link", s)
	s = unknown()
	s.a.enrol.code, s.a.enrol.problem = "ABCD", words.Refusal(words.English, "code_unknown")
	add("enrol-refused", s)
	s = unknown()
	s.f.about.Kind, s.f.about.Installed = Apple, false
	s.start()
	add("enrol-tab", s)
	s = unknown()
	s.f.facts.Account = Account{State: Pending, Check: "47"}
	s.start()
	add("enrol-pending", s)
	for i, name := range []string{"welcome", "safety", "consent", "side", "hand", "sound", "install", "keep", "who"} {
		s = on(t, 20, 10)
		s.f.about.Installed = false
		s.a.look()
		s.a.prefs.First = i
		add("first-"+itoa(i)+"-"+name, s)
	}
	s = on(t, 20, 10)
	s.a.prefs.First = firstSide
	s.a.tapSide(rom.Left)
	add("first-wrong-side", s)

	add("now", on(t, 20, 10))
	add("now-first-days", on(t, 3, 10))
	add("now-therapy", on(t, 60, 10))
	rest := on(t, 20, 8)
	rest.a.openMorning()
	rest.a.morningScore(8)
	rest.a.morningWorn("as-asked")
	rest.a.Arrive("/", "")
	add("now-rest-night", rest)
	rest = on(t, 20, 10)
	rest.a.startMain()
	rest.a.sessionPain(8)
	add("now-rest-score", rest)
	rest = inHold(t, 1)
	rest.tick(21 * time.Second)
	rest.a.stopFor(rom.StopTired)
	rest.a.sessionPain(1)
	rest.a.leaveSession()
	rest.a.Arrive("/", "")
	add("now-the-rest", rest)
	s = on(t, 20, 10)
	s.f.facts.History.Notes = []rom.Entry[rom.Note]{{Meta: s.meta(50, operated.Add(19)), Body: rom.Note{Episode: episodeID, Text: "Please bring your sling on Monday.", By: surgeon}}}
	s.a.look()
	add("now-note", s)
	s = on(t, 20, 10)
	s.revise(func(p *rom.Plan) { p.State, p.Why = rom.Paused, "Your wound needs rest." })
	add("now-paused", s)
	s = on(t, 20, 10)
	s.revise(func(p *rom.Plan) { p.State, p.Why = rom.Stopped, "We want to see you first." })
	add("now-stopped", s)
	s = on(t, 20, 10)
	s.f.now = s.f.now.Add(15 * 24 * time.Hour)
	s.a.look()
	add("now-stale", s)
	s = on(t, 20, 10)
	s.f.facts.History = rom.History{}
	s.f.facts.Following = 0
	s.f.facts.Sending.Contact, s.f.facts.Sending.Confirmed = time.Time{}, time.Time{}
	s.episode(rom.Planned)
	s.f.now = operated.Add(-9).Time().Add(10 * time.Hour)
	s.a.look()
	add("now-planned", s)
	s = on(t, 20, 10)
	s.episode(rom.Discharged)
	s.a.look()
	add("now-ended", s)

	run := func(day int) *scene {
		s := on(t, day, 10)
		s.a.startMain()
		return s
	}
	ready := func(day int) *scene {
		s := run(day)
		s.a.sessionPain(2)
		return s
	}
	hold := func() *scene {
		s := ready(20)
		s.a.sessionTap(session.Start)
		s.tick(5 * time.Second)
		s.tick(5 * time.Second)
		s.tick(3 * time.Second)
		return s
	}
	add("session-pain", run(20))
	add("session-ready", ready(20))
	s = ready(20)
	s.tick(2 * time.Second)
	add("session-ready-moving", s)
	s = ready(20)
	s.a.prefs.Still = true
	add("session-ready-still", s)
	s = ready(20)
	s.a.sessionTap(session.Start)
	s.tick(7 * time.Second)
	add("session-move", s)
	add("session-hold", hold())
	s = hold()
	s.a.sessionTap(session.Pause)
	add("session-paused", s)
	s = hold()
	s.tick(21 * time.Second)
	add("session-rest", s)
	s = hold()
	s.a.sessionTap(session.Stop)
	add("session-stop-sheet", s)
	s = hold()
	s.a.stopFor(rom.StopWrong)
	add("session-wrong", s)
	s = hold()
	s.a.stopFor(rom.StopPain)
	add("session-pain-stop", s)
	s = run(3)
	s.a.sessionPain(1)
	s.a.sessionTap(session.Start)
	s.tick(6 * time.Second)
	add("session-rounds", s)
	asking := func() *scene {
		s := hold()
		s.tick(400 * time.Second)
		for s.a.session.view.State != session.Asking {
			s.a.sessionTap(session.Skip)
			s.a.skipFor(rom.SkipTired)
		}
		return s
	}
	add("session-asking", asking())
	s = asking()
	s.a.sessionPain(1)
	add("session-done", s)
	s = hold()
	s.f.full = ErrFull
	s.a.stopFor(rom.StopTired)
	add("session-not-kept", s)

	measure := func() *scene {
		s := on(t, 45, 10)
		s.reading(43, rom.ForwardFlexion, 92)
		s.a.look()
		return at("/measure", s)
	}
	add("measure-choose", measure())
	s = measure()
	s.a.chooseRow(rom.ForwardFlexion, rom.Right)
	add("measure-how", s)
	photo := func() *scene {
		s := measure()
		s.a.chooseRow(rom.ForwardFlexion, rom.Right)
		s.a.measure.wanted = 1
		s.a.chooseWay(0)
		return s
	}
	add("measure-set-up", photo())
	marks := func(elbow rom.Point) *scene {
		s := photo()
		s.f.picture = Picture{URL: inventedPicture, Width: 900, Height: 1000}
		s.a.takePhoto()
		s.a.placeMark(480, 980)
		s.a.placeMark(500, 560)
		s.a.placeMark(elbow.X, elbow.Y)
		return s
	}
	add("measure-marks", marks(rom.Point{X: 780, Y: 520}))
	s = marks(rom.Point{X: 780, Y: 520})
	s.a.useAngle()
	add("measure-result", s)
	for name, x := range map[string]rom.Point{"close": {X: 710, Y: 445}, "over": {X: 590, Y: 300}} {
		s = marks(x)
		s.a.useAngle()
		if name == "over" {
			add("measure-first-set", s)
			s = marks(x)
			s.a.useAngle()
		}
		s.f.pass(time.Second)
		s.a.secondSet()
		for _, m := range []rom.Point{{X: 480, Y: 980}, {X: 500, Y: 560}, x} {
			s.a.placeMark(m.X, m.Y)
		}
		s.a.useAngle()
		add("measure-"+name, s)
	}
	tilt := measure()
	tilt.a.chooseRow(rom.ForwardFlexion, rom.Right)
	tilt.a.chooseWay(1)
	add("measure-tilt-set-up", tilt)
	tilt = measure()
	tilt.a.chooseRow(rom.ForwardFlexion, rom.Right)
	tilt.a.chooseWay(1)
	tilt.a.startTilt()
	tilt.f.pass(layTime * time.Millisecond)
	for i := 0; i < 40; i++ {
		tilt.f.tilt(gonio.Sample{X: 0, Y: -9.81, Z: 0})
	}
	tilt.tick(900 * time.Millisecond)
	add("measure-tilt", tilt)
	out = append(out, moreShots(t)...)
	out = append(out, weekShots(t)...)
	out = append(out, plannedShots(t)...)
	out = append(out, whoShots(t)...)
	add("measure-locked", at("/measure", on(t, 20, 10)))

	far := on(t, 60, 10)
	for i, v := range []int{70, 78, 84, 90, 88, 97, 104} {
		far.reading(20+6*i, rom.ForwardFlexion, v)
		far.reading(20+6*i, rom.ERSide, 8+2*i)
	}
	far.a.look()
	add("so-far", at("/so-far", far))
	add("so-far-empty", at("/so-far", on(t, 3, 10)))
	add("limits", at("/limits", on(t, 20, 10)))
	add("help", at("/help", on(t, 20, 10)))
	s = at("/help", on(t, 20, 10))
	s.a.chooseSign(rom.SignChest)
	add("help-sign", s)
	s = at("/help", on(t, 20, 10))
	s.a.chooseSign(rom.SignWound)
	s.a.sendSign(false)
	add("help-sent", s)
	s = at("/help", on(t, 20, 10))
	s.a.writeNote()
	add("help-note", s)
	s = on(t, 20, 10)
	s.f.facts.Sending.Failed = FailedOffline
	s.f.facts.Sending.Written, s.f.facts.Sending.Unsent = 3, []Waiting{{Kind: "session"}, {Kind: "reading"}, {Kind: "adopted"}}
	s.a.look()
	add("settings", at("/settings", s))
	return append(out, guardShots(t)...)
}

var (
	attribute = regexp.MustCompile(`\s([a-z-]+)=("(?:[^"\\]|\\.)*")`)
	idOf      = regexp.MustCompile(`\sid="([^"]*)"`)
)

// page prints one shot as a whole document.
func document(a *App, class string) string {
	p := &Phone{a: a}
	body := app.HTMLString(p.frame())
	body = strings.ReplaceAll(body, ` disabled="false"`, "") // the page itself sets the property
	body = strings.ReplaceAll(body, `src="blob:invented"`, `src="data:image/svg+xml,`+
		html.EscapeString(`%3Csvg xmlns='http://www.w3.org/2000/svg' width='900' height='1000' viewBox='0 0 900 1000'%3E%3Crect width='900' height='1000' fill='%23667'/%3E%3C/svg%3E`)+`"`)
	return `<!doctype html><html lang="` + string(a.lang()) + `" class="size-` + itoa(a.prefs.Size) + ` ` + class + `"><head><meta charset="utf-8">` +
		`<meta name="viewport" content="width=device-width, initial-scale=1"><title>Unsling</title><style>` + chart.Stylesheet + figure.Stylesheet + Stylesheet + `</style></head><body>` + body + `</body></html>`
}

// TestScreens prints every screen in both languages and looks at what every
// page must have. With UNSLING_GALLERY set to a folder the pages are left
// there to be looked at.
func TestScreens(t *testing.T) {
	dir := os.Getenv("UNSLING_GALLERY")
	list := shots(t)
	if len(list) < 50 {
		t.Fatalf("only %d screens were reached", len(list))
	}
	for _, l := range words.Langs {
		for _, x := range list {
			x.a.prefs.Language = l
			name := x.name + "-" + string(l)
			doc := document(x.a, "")
			checkPage(t, name, doc)
			if dir != "" {
				if err := os.WriteFile(filepath.Join(dir, name+".html"), []byte(doc), 0o644); err != nil {
					t.Fatal(err)
				}
			}
		}
	}
}

func checkPage(t *testing.T, name, doc string) {
	t.Helper()
	body := doc[strings.Index(doc, "<body>"):]
	for _, m := range attribute.FindAllStringSubmatch(body, -1) {
		if m[1] == "style" {
			t.Errorf("%s: a style attribute, which the policy drops: %s", name, m[0])
		}
		if strings.HasPrefix(m[1], "on") {
			t.Errorf("%s: an inline handler: %s", name, m[0])
		}
	}
	seen := map[string]bool{}
	for _, m := range idOf.FindAllStringSubmatch(body, -1) {
		if seen[m[1]] {
			t.Errorf("%s: id %q twice", name, m[1])
		}
		seen[m[1]] = true
	}
	if n := strings.Count(body, "<h1"); n != 1 {
		t.Errorf("%s: %d headings of the first rank", name, n)
	}
	if strings.Contains(body, "%!") {
		t.Errorf("%s: a text lacks its number: %s", name, body[strings.Index(body, "%!"):][:40])
	}
	if !strings.Contains(body, `id="help"`) && !strings.HasPrefix(name, "help") {
		t.Errorf("%s: no way to help", name)
	}
	if strings.Contains(body, "></button>") || strings.Contains(body, "></h1>") {
		t.Errorf("%s: a button or heading without words", name)
	}
}
