package figure_test

import (
	"flag"
	"fmt"
	"os"
	"strings"
	"testing"

	"unsling/app/figure"
	"unsling/engine/rom"
)

var gallery = flag.String("gallery", "", "write a page with every picture to this file")

// TestGallery writes all pictures for looking at them.
func TestGallery(t *testing.T) {
	w := figure.Words{Title: "t", Now: "now", Aim: "aim", Limit: "limit", Other: "other arm"}
	var b strings.Builder
	b.WriteString(`<!doctype html><meta charset="utf-8"><style>` + figure.Stylesheet + `
body{margin:8px;font:13px sans-serif;background:#fff;color:#222}
@media(prefers-color-scheme:dark){body{background:#14191d;color:#ddd}}
.g{display:grid;grid-template-columns:repeat(4,300px);gap:8px}.c{border:1px solid #8884}</style><div class="g">`)
	n := 0
	for _, id := range rom.Exercises {
		for _, at := range []float64{0, 1} {
			fmt.Fprintf(&b, `<div class="c">%s %v%s</div>`, id, at, figure.Exercise(id, rom.Right, at, figure.Marks{}, w))
			n++
		}
	}
	b.WriteString(`</div>`)
	if n == 0 {
		t.Fatal("no pictures")
	}
	if *gallery != "" {
		if err := os.WriteFile(*gallery, []byte(b.String()), 0o644); err != nil {
			t.Fatal(err)
		}
	}
}
