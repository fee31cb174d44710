package chart_test

import (
	"flag"
	"fmt"
	"os"
	"strings"
	"testing"

	"unsling/app/chart"
	"unsling/engine/rom"
)

var gallery = flag.String("gallery", "", "write a page with every chart to this file")

// TestGallery writes all charts for looking at them.
func TestGallery(t *testing.T) {
	var narrow, wide []string
	for _, s := range []chart.Size{chart.Narrow, chart.Wide} {
		one := course(s)
		one.Own, one.Clinic, one.Limit, one.Phases, one.Changes = one.Own[:1], nil, one.Limit[1:2], nil, nil
		one.Today = 0
		svgs := []string{
			course(s).SVG(), withBands(course(s)).SVG(), back().SVG(), one.SVG(), chart.Motion{Words: words, Size: s}.SVG(),
			dose(s, 30).SVG(), dose(s, 120).SVG(), pain(s).SVG(), agreement(s).SVG(), pattern(s).SVG(),
			chart.Spark{Words: words, Motion: rom.ERSide, Points: course(s).Own, Limit: rom.Deg(45)}.SVG(),
		}
		if s == chart.Narrow {
			narrow = svgs
		} else {
			wide = svgs
		}
	}
	for large := range 3 {
		early := plainCourse(large)
		early.Own, early.Clinic, early.Axis, early.Today = early.Own[:2], nil, chart.ByDate, surgery.Add(22)
		clinic := withBands(plainCourse(large))
		clinic.Trend, clinic.Today, clinic.Clinic = nil, surgery.Add(140), course(chart.Plain).Clinic
		narrow = append(narrow, plainCourse(large).SVG(), early.SVG(), clinic.SVG(), plainBack(large).SVG(), plainDose(large).SVG())
	}
	var b strings.Builder
	b.WriteString(`<!doctype html><meta charset="utf-8"><style>` + chart.Stylesheet + `
body{margin:8px;background:#fff}@media(prefers-color-scheme:dark){body{background:#14191d}}
.n{display:grid;grid-template-columns:repeat(4,328px);gap:14px}.w{display:grid;grid-template-columns:repeat(2,720px);gap:14px}</style>`)
	for i, part := range [][]string{narrow, wide} {
		fmt.Fprintf(&b, `<div class="%s">`, []string{"n", "w"}[i])
		for _, s := range part {
			if s == "" {
				t.Fatal("an empty chart")
			}
			b.WriteString(`<div>` + s + `</div>`)
		}
		b.WriteString(`</div>`)
	}
	if *gallery != "" {
		if err := os.WriteFile(*gallery, []byte(b.String()), 0o644); err != nil {
			t.Fatal(err)
		}
	}
}
