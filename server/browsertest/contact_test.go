package browsertest

import (
	"fmt"
	"html"
	"net/http"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
)

// layOut writes index.html, a row for each screen and a column for each look, to open single pictures from; and for each
// group a contact sheet, contact-GROUP.png, to look over all of them at once.
func (a *album) layOut(t *testing.T, b *Browser) {
	t.Helper()
	host := NewHost(t, http.FileServer(http.Dir(a.dir)))
	index := []string{indexHead}
	for _, group := range []string{"Phone", "Clinic"} {
		s := a.sheet(group)
		if len(s.names) == 0 {
			continue
		}
		index = append(index, s.table())
		name := "contact-" + strings.ToLower(group)
		a.write(t, name+".html", s.contact())
		photographSheet(t, b, host.URL()+"/"+name+".html", filepath.Join(a.dir, name+".png"))
	}
	a.write(t, "index.html", strings.Join(index, "\n"))
}

func (a *album) write(t *testing.T, name, text string) {
	t.Helper()
	if err := os.WriteFile(filepath.Join(a.dir, name), []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
}

const indexHead = `<!doctype html><html lang="en"><meta charset="utf-8"><title>Every screen</title><style>
body { font: 14px system-ui, sans-serif; margin: 12px; background: #888; color: #000 }
table { border-collapse: collapse } th, td { vertical-align: top; text-align: left; padding: 3px; font-weight: 500 }
th { max-width: 8em; overflow-wrap: anywhere } img { width: 150px; max-height: 420px; object-fit: cover; object-position: top; display: block }
</style>`

// A contact sheet is as wide as three screens in nine looks; what is below the window of a small phone is cut off.
const (
	sheetWide   = 3440
	sheetAtMost = 16000 // px that Chromium draws in one picture
	contactHead = `<!doctype html><html lang="en"><meta charset="utf-8"><title>Contact sheet</title><style>
body { font: 14px system-ui, sans-serif; margin: 8px; background: #888; color: #000; display: flex; flex-wrap: wrap; gap: 10px }
figure { margin: 0; display: grid; grid-auto-flow: column; gap: 4px } figcaption { grid-column: 1 / span 4 }
img { grid-row: 2; width: 120px; height: 213px; object-fit: cover; object-position: top } img.wide { width: 280px }
</style>`
)

// sheet is what a group's pictures show: names down, looks across.
type sheet struct {
	group        string
	names, looks []string
	files        map[[2]string]string
}

func (a *album) sheet(group string) sheet {
	s := sheet{group: group, files: map[[2]string]string{}}
	for _, p := range a.list {
		if p.Group != group {
			continue
		}
		s.names = append(s.names, p.Name)
		s.looks = append(s.looks, p.Look)
		s.files[[2]string{p.Name, p.Look}] = filepath.ToSlash(p.File)
	}
	slices.Sort(s.names)
	slices.Sort(s.looks)
	s.names, s.looks = slices.Compact(s.names), slices.Compact(s.looks)
	return s
}

func (s sheet) table() string {
	var out strings.Builder
	fmt.Fprintf(&out, "<h1>%s</h1><table><tr><th></th>", s.group)
	for _, l := range s.looks {
		fmt.Fprintf(&out, "<th>%s</th>", html.EscapeString(l))
	}
	for _, n := range s.names {
		fmt.Fprintf(&out, "</tr>\n<tr><th>%s</th>", html.EscapeString(n))
		for _, l := range s.looks {
			out.WriteString("<td>")
			if f := s.files[[2]string{n, l}]; f != "" {
				fmt.Fprintf(&out, `<a href="%s"><img alt="%s" src="%[1]s"></a>`, html.EscapeString(f), html.EscapeString(n+", "+l))
			}
			out.WriteString("</td>")
		}
	}
	out.WriteString("</tr></table>")
	return out.String()
}

func (s sheet) contact() string {
	var out strings.Builder
	out.WriteString(contactHead)
	for _, n := range s.names {
		fmt.Fprintf(&out, "\n<figure><figcaption>%s</figcaption>", html.EscapeString(n))
		for _, l := range s.looks {
			if f := s.files[[2]string{n, l}]; f != "" {
				class := ""
				if strings.Contains(l, "1280") {
					class = "wide"
				}
				fmt.Fprintf(&out, `<img class="%s" alt="%s" src="%s">`, class, html.EscapeString(l), html.EscapeString(f))
			}
		}
		out.WriteString("</figure>")
	}
	return out.String()
}

// photographSheet takes one picture of a whole sheet, smaller where it would be more than a picture can hold.
func photographSheet(t *testing.T, b *Browser, from, to string) {
	t.Helper()
	p := b.NewPage()
	p.act("be wide", chromedp.EmulateViewport(sheetWide, 1000))
	p.Open(from)
	p.Wait("[...document.images].every(i => i.complete)")
	var high float64
	p.Eval("document.documentElement.scrollHeight", &high)
	res, err := chromedp.Call(p.ctx, page.CaptureScreenshot, page.CaptureScreenshotParams{
		Clip: &page.Viewport{Width: sheetWide, Height: high, Scale: min(1, sheetAtMost/high)}, CaptureBeyondViewport: yes(true),
	})
	if err == nil {
		err = os.WriteFile(to, res.Data, 0o644)
	}
	if err != nil {
		t.Fatalf("%s: %v", to, err)
	}
}
