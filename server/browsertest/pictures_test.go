package browsertest

import (
	"flag"
	"fmt"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"testing"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
)

var (
	picturesTo   = flag.String("pictures", "", "folder for pictures of every screen and page; without it a few are taken and thrown away")
	picturesOnly = flag.String("pictures-only", "", "take only what contains one of these, with commas, such as phone/week,clinic/plan")
)

// picture is one that was taken.
type picture struct{ Group, Name, Look, File string }

// album is a folder of pictures that grows. Those of the phone come first, since their number is known.
type album struct {
	dir  string
	mu   sync.Mutex
	list []picture
	of   int // how many are to come, 0 where nobody knows
	tell bool
}

func (a *album) add(p picture) {
	a.mu.Lock()
	defer a.mu.Unlock()
	a.list = append(a.list, p)
	n := len(a.list)
	switch {
	case !a.tell || n%50 != 0 && n != a.of:
	case n <= a.of:
		fmt.Printf("  %d of %d pictures of the phone\n", n, a.of)
	default:
		fmt.Printf("  %d more of the clinic\n", n-a.of)
	}
}

// whole takes the picture of a page in its full height, at most 3000 px.
func (p *Page) whole(path string) {
	p.t.Helper()
	var high float64
	p.Eval("Math.min(3000, Math.max(innerHeight, document.documentElement.scrollHeight))", &high)
	var wide float64
	p.Eval("innerWidth", &wide)
	var room float64
	p.Eval("innerHeight", &room)
	res, err := chromedp.Call(p.ctx, page.CaptureScreenshot, page.CaptureScreenshotParams{
		Clip: &page.Viewport{Width: wide, Height: high, Scale: 1}, CaptureBeyondViewport: yes(room < high), OptimizeForSpeed: yes(true),
	})
	if err == nil {
		err = os.MkdirAll(filepath.Dir(path), 0o755)
	}
	if err == nil {
		err = os.WriteFile(path, res.Data, 0o644)
	}
	if err != nil {
		p.t.Fatalf("picture %s: %v", path, err)
	}
}

// tall makes the window as high as the page of the moment.
func (a *actor) tall(shot string) {
	a.t.Helper()
	l := a.at
	a.become(l)
	a.show(shot)
	for range 2 { // what fills a part of the window grows with it
		var high int64
		a.Eval("Math.min(3000, document.documentElement.scrollHeight)", &high)
		a.act("be tall", chromedp.EmulateViewport(l.Width, high, chromedp.EmulateMobile, chromedp.EmulateTouch, chromedp.EmulateScale(1)))
		a.show(shot)
	}
}

func yes(b bool) *bool { return &b }

// pictureLooks are the ways in which every screen of the phone is pictured.
func pictureLooks() []look {
	wide := func(l *look) { l.Width, l.Height = 768, 1024 }
	return []look{
		plain,
		with(func(l *look) { l.Dark = true }),
		with(func(l *look) { l.Lang = "es" }),
		with(func(l *look) { l.Lang, l.Dark = "es", true }),
		with(func(l *look) { l.Text = 32 }),
		with(func(l *look) { l.Text, l.Lang, l.Dark = 32, "es", true }),
		with(func(l *look) { l.Forced = true }),
		with(wide),
		with(func(l *look) { wide(l); l.Lang, l.Dark = "es", true }),
	}
}

// chosen reports whether a moment or page is among those that -pictures-only names.
func chosen(name string) bool {
	if *picturesOnly == "" {
		return true
	}
	for _, part := range strings.Split(*picturesOnly, ",") {
		if strings.Contains(name, part) {
			return true
		}
	}
	return false
}

func slug(s string) string {
	return strings.Trim(regexp.MustCompile(`[^a-z0-9]+`).ReplaceAllString(strings.ToLower(s), "-"), "-")
}

// TestPictures takes a picture of every screen of the phone and of every page of the clinic, and lays them out: index.html,
// contact-phone.png and contact-clinic.png. "make pictures" gives it a folder.
func TestPictures(t *testing.T) {
	a := &album{dir: *picturesTo, tell: *picturesTo != ""}
	few := *picturesTo == ""
	if few {
		a.dir = t.TempDir()
	}
	stage := newStage(t)
	b := Start(t, "")
	a.phone(t, b, stage, few)
	before := len(a.list)
	if !few && (*picturesOnly == "" || strings.Contains(*picturesOnly, "clinic")) {
		a.clinic(t, b)
		if n := len(a.list) - before; *picturesOnly == "" && n < 40 {
			t.Errorf("only %d pictures of the clinic's pages", n)
		}
	}
	a.layOut(t, b)
	if len(a.list) == 0 {
		t.Fatal("no picture was taken")
	}
	if info, err := os.Stat(filepath.Join(a.dir, "contact-phone.png")); err != nil || info.Size() < 2000 {
		t.Errorf("the contact sheet: %v", err)
	}
	if !few {
		fmt.Printf("%d pictures: %s\n", len(a.list), filepath.Join(a.dir, "index.html"))
	}
}

// phone pictures the phone's screens.
func (a *album) phone(t *testing.T, b *Browser, stage *Host, few bool) {
	looks := pictureLooks()
	if few {
		looks = looks[:2]
	}
	tabs := []*actor{enterStage(t, b, stage), enterStage(t, b, stage)}
	if !few && *picturesOnly == "" {
		a.of = len(looks) * len(tabs[0].shots)
	}
	work := make(chan look)
	var wg sync.WaitGroup
	for _, tab := range tabs {
		wg.Add(1)
		go func() {
			defer wg.Done()
			tab.Eval(`{ const s = new CSSStyleSheet(); s.replaceSync(".bar { position: static !important }"); document.adoptedStyleSheets = [s]; }`, nil) // the picture is longer than a window
			for l := range work {
				tab.become(l)
				for i, shot := range tab.shots {
					if few && i%20 != 0 || !chosen("phone/"+shot) {
						continue
					}
					tab.show(shot)
					if l.Text != 16 { // a picture beyond the window would be one of usual letters
						tab.tall(shot)
					}
					file := filepath.Join("phone", slug(l.String()), shot+".png")
					tab.whole(filepath.Join(a.dir, file))
					a.add(picture{"Phone", shot, l.String(), file})
				}
			}
		}()
	}
	for _, l := range looks {
		work <- l
	}
	close(work)
	wg.Wait()
}

// pageIDs are the parts of an address that name one patient, one record, one protocol.
var pageIDs = regexp.MustCompile(`/(patients|entry|protocols|invitations|findings|staff|episodes)/[^/?]+`)

// clinic walks over all links of the clinic's pages, for several roles, and pictures one page of each kind.
func (a *album) clinic(t *testing.T, b *Browser) {
	h := openHouse(t)
	seen := map[string]bool{}
	for _, staff := range h.Staff {
		w := &watch{origin: h.URL()}
		d := newDesk(b, w)
		if !seen["/clinic/sign-in"] {
			seen["/clinic/sign-in"] = true
			d.Open(h.URL() + "/clinic/")
			a.clinicPage(d, "sign-in")
		}
		if !d.tryIn(h, staff.Login) {
			continue
		}
		queue := []string{"/clinic/"}
		for len(queue) > 0 {
			at := queue[0]
			queue = queue[1:]
			kind := pageIDs.ReplaceAllString(at, "/$1/one")
			kind, _, _ = strings.Cut(kind, "?")
			if seen[kind] || strings.Contains(kind, "sign-out") || !chosen(kind) && kind != "/clinic/" && !strings.HasSuffix(kind, "/one") {
				continue
			}
			if err := d.TryOpen(h.URL() + at); err != nil {
				t.Logf("%s: %v", at, err)
				continue
			}
			var page bool
			d.Eval("!!document.querySelector('h1')", &page)
			if !page {
				continue
			}
			seen[kind] = true
			var links []string
			d.Eval("[...document.querySelectorAll('a[href]')].map(a => a.href)", &links)
			for _, l := range links {
				if u, err := url.Parse(l); err == nil && strings.HasPrefix(l, h.URL()+"/clinic/") {
					next := u.Path
					if u.RawQuery != "" {
						next += "?" + u.RawQuery
					}
					queue = append(queue, next)
				}
			}
			a.clinicPage(d, slug(strings.TrimPrefix(kind, "/clinic/")+" "+staff.Login))
		}
		d.Close()
	}
}

// tryIn signs in; people without a password for this page are passed over.
func (p *screenPage) tryIn(h *house, login string) (in bool) {
	p.Open(h.URL() + "/clinic/")
	p.Type("input[name=login]", login)
	p.Type("input[name=password]", h.password(login))
	p.Eval("[...document.querySelectorAll('button')].find((b) => b.innerText.trim() === 'Sign in').click()", nil)
	p.Wait("document.querySelector('h1') && (!document.querySelector('input[name=password]') || document.querySelector('[role=alert]:not([hidden])'))")
	return !p.has("input[name=password]")
}

func (a *album) clinicPage(d *screenPage, name string) {
	for _, l := range []struct {
		wide, high int64
		dark       bool
	}{{1280, 800, false}, {1280, 800, true}, {360, 640, false}, {360, 640, true}} {
		scheme, what := "light", fmt.Sprintf("%dx%d", l.wide, l.high)
		if l.dark {
			scheme = "dark"
			what += " dark"
		}
		d.act("be so wide", chromedp.EmulateViewport(l.wide, l.high))
		if _, err := chromedp.Call(d.ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}}}); err != nil {
			d.t.Fatal(err)
		}
		file := filepath.Join("clinic", slug(what), name+".png")
		d.whole(filepath.Join(a.dir, file))
		a.add(picture{"Clinic", name, what, file})
	}
}
