package clinic

import (
	"fmt"
	"math"
	"net/url"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"unsling/engine/rom"
	"unsling/sync/wire"
)

// tokens reads the colours of the light and of the dark scheme out of the
// style sheet.
func tokens(t *testing.T) (light, dark map[string]string) {
	t.Helper()
	css, err := assetFiles.ReadFile("assets/desk.css")
	if err != nil {
		t.Fatal(err)
	}
	roots := regexp.MustCompile(`:root \{([^}]*)\}`).FindAllStringSubmatch(string(css), -1)
	if len(roots) < 2 {
		t.Fatalf("%d sets of colours in the style sheet", len(roots))
	}
	read := func(block string, into map[string]string) map[string]string {
		for _, m := range regexp.MustCompile(`--([a-z-]+): (#[0-9a-f]{6})`).FindAllStringSubmatch(block, -1) {
			into[m[1]] = m[2]
		}
		return into
	}
	light = read(roots[0][1], map[string]string{})
	dark = map[string]string{}
	for k, v := range light {
		dark[k] = v
	}
	return light, read(roots[1][1], dark)
}

// luminance is the relative luminance of WCAG 2.2.
func luminance(hex string) float64 {
	var sum float64
	for i, weight := range []float64{0.2126, 0.7152, 0.0722} {
		n, err := strconv.ParseUint(hex[1+2*i:3+2*i], 16, 8)
		if err != nil {
			panic(err)
		}
		c := float64(n) / 255
		if c <= 0.04045 {
			c /= 12.92
		} else {
			c = math.Pow((c+0.055)/1.055, 2.4)
		}
		sum += weight * c
	}
	return sum
}

func contrast(a, b string) float64 {
	x, y := luminance(a), luminance(b)
	return (max(x, y) + 0.05) / (min(x, y) + 0.05)
}

// WCAG 2.2, 1.4.3 (text 4.5:1) and 1.4.11 (edges of controls 3:1), for every
// pair that the style sheet uses, light and dark.
func TestContrast(t *testing.T) {
	if got := contrast("#ffffff", "#000000"); math.Abs(got-21) > 0.001 {
		t.Fatalf("black on white is %.2f, WCAG says 21", got)
	}
	if got := contrast("#777777", "#ffffff"); math.Abs(got-4.48) > 0.005 { // the well-known grey that just fails
		t.Fatalf("#777 on white is %.3f", got)
	}
	text := [][2]string{
		{"ink", "paper"}, {"ink", "sheet"}, {"soft", "paper"}, {"soft", "sheet"}, {"accent", "paper"}, {"accent", "sheet"}, {"accent", "tint"}, {"on-accent", "accent"},
		{"urgent", "sheet"}, {"urgent", "urgent-tint"}, {"call", "sheet"}, {"call", "call-tint"}, {"watch", "sheet"}, {"ink", "call-tint"},
	}
	edges := [][2]string{{"edge", "sheet"}, {"accent", "sheet"}, {"accent", "paper"}, {"urgent", "sheet"}, {"call", "sheet"}, {"watch", "sheet"}}
	light, dark := tokens(t)
	for name, set := range map[string]map[string]string{"light": light, "dark": dark} {
		for _, p := range text {
			if got := contrast(set[p[0]], set[p[1]]); got < 4.5 {
				t.Errorf("%s: text %s on %s is %.2f:1", name, p[0], p[1], got)
			}
		}
		for _, p := range edges {
			if got := contrast(set[p[0]], set[p[1]]); got < 3 {
				t.Errorf("%s: edge %s on %s is %.2f:1", name, p[0], p[1], got)
			}
		}
	}
}

// everyPage opens every page of the desk that has one, with a busy patient.
func everyPage(t *testing.T, p *practice) map[string]*answer {
	t.Helper()
	x, ph := pastLimit(t, p)
	e := x.episode()
	ph.write(p.now, wire.KindQuestion, rom.Question{Episode: e.ID, Text: "May I shower?"})
	for i := range 12 {
		at := p.now.AddDate(0, 0, i-12)
		ph.write(at, wire.KindReading, own(e, rom.ForwardFlexion, 60+2*i))
		ph.write(at, wire.KindReading, own(e, rom.ERSide, 5+i))
		before, after := 2, 3
		ph.write(at, wire.KindSession, rom.Session{Episode: e.ID, ID: rom.SessionID(p.id("s")), Due: rom.DateOf(at), Slot: 1, Phase: "passive", Seconds: 600, Ended: rom.Finished, Before: &before, After: &after,
			Items: []rom.SessionItem{{Exercise: rom.TableSlideFlexion, Motion: rom.ForwardFlexion, Dose: rom.Dose{Hold: 20, Reps: 5, Rest: 10, PerDay: 3}, Holds: []rom.Hold{{Tenths: 200, Counted: true}}}}})
	}
	ph.exchange()
	w := p.as(vega)
	for _, day := range []string{"2026-02-20", "2026-02-24", "2026-02-28"} {
		w.taken(w.post(x.base+"/entry/reading", change(t, w.get(x.base+"/entry/reading"), "method", "on", day, "FF-right", "75", "FF-left", "168", "ER0-right", "9", "ER0-left", "60", "HBB-right", "18")))
	}
	form := change(t, w.get(x.base+"/episode"), "other-arm", "act", "other-arm")
	form["motions"] = []string{"FF", "ER0"}
	w.taken(w.post(x.base+"/episode", form))
	out := map[string]*answer{
		"sign-in": (&person{p: p}).get("/clinic/sign-in"), "list": w.get("/clinic/"), "morning": w.get("/clinic/morning"), "records": w.get(x.base + "/records"), "held": w.get(x.base + "/held"), "summary": w.get(x.base + "/summary"), "paper": w.get(x.base + "/entry/paper"),
		"record": w.get(recordAddress(t, w, x, wire.KindReading)), "narrowed list": w.get("/clinic/?mine=1&finding=limit-passed&overdue=1"), "nobody found": w.get("/clinic/?find=zzz"), "patient": w.get(x.base),
		"plan": w.get(x.base + "/plan"), "history": w.get(x.base + "/plan/history"), "episode": w.get(x.base + "/episode"), "team": w.get(x.base + "/team"),
		"explain": w.get(x.base + "/explain"), "reading": w.get(x.base + "/entry/reading"), "therapy": w.get(x.base + "/entry/therapy"), "visit": w.get(x.base + "/entry/visit"),
		"note": w.get(x.base + "/entry/note"), "finding": w.get(x.base + "/finding?episode=" + string(e.ID) + "&key=limit:FF"), "enrol": w.get("/clinic/enrol"),
		"protocols": w.get("/clinic/protocols"), "protocol": w.get("/clinic/protocols/cuff-repair-small-medium"), "settings": w.get("/clinic/settings"), "sorry": w.get("/clinic/nowhere"),
		"phones": w.get(x.base + "/phones"), "scores": w.get(x.base + "/scores"), "handout": w.get(x.base + "/handout"), "correction": w.get(x.base + "/correction"),
		"another": w.get(x.base + "/another"), "handoff": w.get(x.base + "/handoff"), "programme": w.get(x.base + "/programme"),
		"outcomes": w.get("/clinic/outcomes"), "data": w.get("/clinic/data"), "import": w.get("/clinic/import"), "own protocol": w.get("/clinic/protocols/own"),
		"account": w.get("/clinic/account"), "app": w.get("/clinic/account/app"), "emergency": w.get("/clinic/emergency"), "access": w.get(x.base + "/access"),
		"sheet":   w.taken(w.post(x.base+"/invite", url.Values{"kind": {"desk"}, "way": {"beside"}})),
		"preview": w.post(x.base+"/plan", planForm(t, w, x, "act", "preview", "p.passive.l.FF.ceil", "110")),
		"planned": w.get(p.planned(t).base + "/episode"),
	}
	p.adoptText(ownCuff(t, 1, moves(rom.ERSide, -rom.Deg(5))))
	p.adoptText(ownCuff(t, 2, moves(rom.ForwardFlexion, rom.Deg(5))))
	waits := p.running("Di Waits")
	quills := p.as(quill)
	quills.taken(quills.post(waits.base+"/correction", change(t, quills.get(waits.base+"/correction"), "ask", "act", "ask", "side", "left", "reason", "operation note")))
	out["correction that waits"], out["customs"] = w.get(waits.base+"/correction"), w.get("/clinic/customs")
	out["move"], out["versions"], out["own version"] = w.get(x.base+"/protocol"), w.get("/clinic/protocols/harbour-cuff/versions"), w.get("/clinic/protocols/own?from=harbour-cuff")
	for name, a := range out {
		if a.page == nil || a.StatusCode >= 300 && name != "sorry" {
			t.Fatalf("%s: %d", name, a.StatusCode)
		}
	}
	return out
}

func (p *practice) planned(t *testing.T) *patient {
	t.Helper()
	form := enrolForm1("Cy Planned")
	form.Set("surgery", "2026-03-01")
	return p.enrol(form)
}

// Structure for those who cannot see the page, or use no mouse (WCAG 2.2:
// 1.3.1, 2.4.1, 2.4.2, 2.4.6, 3.1.1, 3.3.2, 4.1.2).
func TestStructure(t *testing.T) {
	p := newPractice(t)
	for name, a := range everyPage(t, p) {
		page := a.page
		bad := func(format string, args ...any) { t.Errorf(name+": "+format, args...) }
		if html := page.named("html"); len(html) != 1 || html[0].attr["lang"] != "en" {
			bad("no language")
		}
		if title := page.named("title"); len(title) == 0 || len(title[0].words()) < 8 {
			bad("no title")
		}
		if page.named("a")[0].attr["href"] != "#content" {
			bad("no way past the navigation")
		}
		ids := map[string]bool{}
		last := 0
		ones := 0
		for _, k := range page.all(func(*node) bool { return true }) {
			if id := k.attr["id"]; id != "" {
				if ids[id] {
					bad("id %q twice", id)
				}
				ids[id] = true
			}
			if len(k.name) == 2 && k.name[0] == 'h' && k.name[1] >= '1' && k.name[1] <= '6' {
				level := int(k.name[1] - '0')
				if level > last+1 {
					bad("<%s> %q after <h%d>", k.name, k.words(), last)
				}
				if last = level; level == 1 {
					ones++
				}
				if k.words() == "" {
					bad("an empty <%s>", k.name)
				}
			}
		}
		if ones != 1 {
			bad("%d first headings", ones)
		}
		for _, k := range page.all(func(k *node) bool {
			return slices.Contains([]string{"input", "select", "textarea"}, k.name) && k.attr["type"] != "hidden"
		}) {
			if !labelled(page, k) {
				bad("nobody says what <%s name=%q> is for", k.name, k.attr["name"])
			}
		}
		for _, k := range page.all(func(k *node) bool { return k.name == "button" || k.name == "a" }) {
			if k.words() == "" && k.attr["aria-label"] == "" {
				bad("a <%s> without words", k.name)
			}
		}
		for _, k := range page.named("table") {
			if c := k.named("caption"); len(c) != 1 || c[0].words() == "" {
				bad("a table without caption: %.60s", k.words())
			}
			for _, h := range k.named("th") {
				if h.attr["scope"] == "" {
					bad("a header cell without scope: %s", h.words())
				}
			}
		}
		for _, k := range page.all(func(k *node) bool { return k.attr["aria-labelledby"] != "" || k.attr["aria-describedby"] != "" }) {
			for _, id := range strings.Fields(k.attr["aria-labelledby"] + " " + k.attr["aria-describedby"]) {
				if !ids[id] {
					bad("<%s> points to %q, which is not there", k.name, id)
				}
			}
		}
		for _, k := range page.all(func(k *node) bool { return strings.HasPrefix(k.attr["href"], "#") }) {
			if !ids[k.attr["href"][1:]] {
				bad("a link to %q leads nowhere", k.attr["href"])
			}
		}
		parts := map[*node]bool{} // of a picture, which clip what they hold
		for _, k := range page.named("svg") {
			for _, part := range k.named("svg") {
				parts[part] = parts[part] || part != k
			}
		}
		for _, k := range page.named("svg") {
			if parts[k] {
				continue
			}
			if title := k.named("title"); k.attr["role"] != "img" || len(title) == 0 || title[0].words() == "" {
				bad("a picture without words")
			}
		}
		if name != "sign-in" && !strings.Contains(page.words(), "Invented clinic, invented people.") {
			bad("it does not say that the clinic is invented")
		}
	}
}

func labelled(page, k *node) bool {
	if k.attr["aria-label"] != "" {
		return true
	}
	for up := k.up; up != nil; up = up.up {
		if up.name == "label" && up.words() != "" {
			return true
		}
	}
	id := k.attr["id"]
	return id != "" && slices.ContainsFunc(page.named("label"), func(l *node) bool { return l.attr["for"] == id && l.words() != "" })
}

// Every chart has its table twin, and a chart for narrow columns.
func TestChartsHaveTwins(t *testing.T) {
	p := newPractice(t)
	page := everyPage(t, p)["patient"].page
	pics := page.all(func(k *node) bool { return k.attr["class"] == "box pic" })
	var titles []string
	for _, s := range pics {
		titles = append(titles, s.named("h3")[0].words())
		if n := len(s.named("svg")); n != 2 {
			t.Errorf("%s: %d pictures", s.attr["id"], n)
		}
		if rows := s.named("tr"); len(rows) < 2 {
			t.Errorf("%s: a table of %d rows", s.attr["id"], len(rows))
		}
	}
	for _, want := range []string{"Forward flexion", "External rotation at the side", "Hand behind back", "Rotation against elevation", "Own against clinic: Forward flexion", "Time held at end range, by day", "Pain before and after sessions"} {
		if !slices.Contains(titles, want) {
			t.Errorf("no chart %q among %q", want, titles)
		}
	}
}

// The list stands in the order of urgency, and an ended episode is found by
// name only.
func TestListOrder(t *testing.T) {
	p := newPractice(t)
	calm := p.running("Cal Calm")
	calm.phone()
	ended := p.running("Ed Ended")
	w := p.as(vega)
	w.taken(w.post(ended.base+"/episode", change(t, w.get(ended.base+"/episode"), "discharge", "act", "discharge", "reason", "done")))
	x, _ := pastLimit(t, p)
	hurt := p.running("Hal Hurt")
	ph := hurt.phone()
	ph.write(p.now, wire.KindSign, rom.Sign{Episode: hurt.episode().ID, Sign: rom.SignChest})
	ph.exchange()
	quiet := p.running("Sid Silent")
	quiet.phone()
	p.now = p.now.Add(7 * 24 * time.Hour)
	for _, one := range []*patient{calm, hurt, x} {
		one.p.must(touch(one))
	}
	w = p.as(vega)
	list := w.get("/clinic/")
	got := sections(list)
	if !slices.Contains(got["urgent"], "Hal Hurt") || !slices.Contains(got["urgent"], "Ada Rowe") || !slices.Contains(got["call"], "Sid Silent") {
		t.Errorf("sections: %v", got)
	}
	if strings.Contains(list.page.words(), "Ed Ended") {
		t.Error("an ended episode is on the list")
	}
	if found := w.get("/clinic/?find=ended"); !strings.Contains(found.page.words(), "Ed Ended") {
		t.Error("an ended episode is not found by name")
	}
	if found := w.get("/clinic/?find=n-hal+hurt"); !strings.Contains(found.page.words(), "Hal Hurt") || strings.Contains(found.page.words(), "Ada Rowe") {
		t.Error("not found by number")
	}
	if other := p.as(orr).get("/clinic/"); strings.Contains(other.page.words(), "Hal Hurt") || !strings.Contains(other.page.words(), "No patients yet") {
		t.Error("a stranger's list shows somebody else's patients")
	}
}

// touch lets the patient's phones make contact now.
func touch(x *patient) error {
	phones, err := x.p.store.Authors(x.id)
	for _, a := range phones {
		ph := &phone{x: x, author: a.ID, rev: a.Following, sent: int(a.Mark.N)}
		ph.lines = make([][]byte, ph.sent)
		ph.exchange()
	}
	return err
}

// What is kept of a judgement is dropped when time alone changes it.
func TestListKeepsUpWithTheClock(t *testing.T) {
	p := newPractice(t)
	pastLimit(t, p)
	overdue := func() bool {
		words := p.as(vega).get("/clinic/").page.words()
		return strings.Contains(words, "overdue") && strings.Contains(words, "Therapist, was due")
	}
	for _, c := range []struct {
		at   time.Time
		want bool
	}{
		{monday, false}, {monday.Add(6*time.Hour + 59*time.Minute), false}, {monday.Add(7 * time.Hour), true}, {monday.Add(23 * time.Hour), true},
	} {
		p.now = c.at
		if got := overdue(); got != c.want {
			t.Errorf("at %s: overdue %v", c.at.Format("15:04"), got)
		}
	}
}

// A long list comes in pages; going on from a row loses nobody and shows
// nobody twice, also when the row itself has left the list meanwhile.
func TestLongList(t *testing.T) {
	p := newPractice(t)
	p.adopt(rom.CuffRepair)
	var all []*patient
	for i := range pageRows + 25 {
		form := enrolForm1(fmt.Sprintf("Quiet %03d", i))
		form.Set("surgery", "2026-04-01")
		all = append(all, p.enrol(form))
	}
	w := p.as(vega)
	first := w.get("/clinic/")
	next := first.page.all(func(k *node) bool { return k.attr["rel"] == "next" })
	if got := sections(first)["quiet"]; len(got) != pageRows || len(next) != 1 || !strings.Contains(first.page.words(), "Nothing open · 125") || !strings.Contains(first.page.words(), "1 to 100 of 125") {
		t.Fatalf("%d rows, %d links on", len(got), len(next))
	}
	rest := sections(w.get(next[0].attr["href"]))["quiet"]
	seen := map[string]bool{}
	for _, n := range append(sections(first)["quiet"], rest...) {
		if seen[n] {
			t.Errorf("%s twice", n)
		}
		seen[n] = true
	}
	if len(seen) != len(all) {
		t.Errorf("%d of %d on two pages", len(seen), len(all))
	}
	for _, x := range all { // the last row of the first page ends and leaves the list
		if row, err := p.store.Patient(x.id); err == nil && row.Name == sections(first)["quiet"][pageRows-1] {
			w.taken(w.post(x.base+"/episode", change(t, w.get(x.base+"/episode"), "withdraw", "act", "withdraw", "reason", "moved away")))
		}
	}
	if again := sections(w.get(next[0].attr["href"]))["quiet"]; !slices.Equal(again, rest) {
		t.Errorf("after the row has gone: %v, want %v", again, rest)
	}
}
