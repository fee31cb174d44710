package figure

import (
	"math"
	"strings"
	"unicode/utf8"

	"unsling/engine/rom"
)

// Room is where a picture will stand on the page. It decides how large the
// words of the legend are in units of the view box, so that they can be read
// at arm's length: never below 14 CSS pixels on a screen of 360 pixels.
type Room int

const (
	Column Room = iota // as wide as the page, at least 13rem high
	Half               // beside another picture, or on a card
	Beside             // as wide as the page, with many marks: the legend stands at the right
	Strip              // low and wide, beside a running timer: the same, larger
)

// Sizes of the words, and the width that words at the right have.
const (
	columnLetter = 24.0
	halfLetter   = 38.0
	besideLetter = 35.0
	besideWidth  = 355.0
	stripLetter  = 70.0
	stripWidth   = 570.0
	letterWidth  = 0.56 // mean width of a letter in sizes of the letter
)

// key is the legend of a picture: the marks with their words and values.
// Beside the picture it adds to the width, under it to the height.
type key struct {
	svg           string
	width, height float64
}

type keyEntry struct {
	word, value string
	glyph       func(flat) string
}

func keyEntries(m Marks, w Words, motion rom.Motion) []keyEntry {
	var out []keyEntry
	add := func(a Angle, word string, glyph func(flat) string, floor bool) {
		if a.Set {
			out = append(out, keyEntry{word, value(a.At, motion, floor), glyph})
		}
	}
	add(m.Now, w.Now, dot, false)
	add(m.Last, w.Last, triangle, false)
	add(m.Aim, w.Aim, ring, true)
	add(m.Limit, w.Limit, bar, true)
	add(m.Other, w.Other, diamond, false)
	return out
}

func (e keyEntry) text() string { return strings.TrimSpace(e.word + " " + e.value) }

// paint writes an entry with its glyph in the middle of the line of letters.
func (e keyEntry) paint(b *strings.Builder, x, y, size float64, text string) {
	k := size / 16
	b.WriteString(`<g transform="translate(` + num(x) + ` ` + num(y) + `) scale(` + num(k) + `)">` + e.glyph(flat{8, 0}) + `</g>`)
	keyText(b, x+size*1.35, y, size, text)
}

func keyText(b *strings.Builder, x, y, size float64, text string) {
	b.WriteString(`<text class="fig-text" x="` + num(x) + `" y="` + num(y+size*0.35) + `" font-size="` + num(size) + `">` + escape(text) + `</text>`)
}

func keyWidth(text string, size float64) float64 {
	return size*1.35 + size*letterWidth*float64(utf8.RuneCountInString(text))
}

func legend(m Marks, w Words, motion rom.Motion) key {
	entries := keyEntries(m, w, motion)
	if len(entries) == 0 {
		return key{}
	}
	switch w.Room {
	case Strip:
		return rightKey(entries, stripLetter, stripWidth)
	case Beside:
		return rightKey(entries, besideLetter, besideWidth)
	case Half:
		return underKey(entries, halfLetter)
	}
	return underKey(entries, columnLetter)
}

// underKey sets two columns where the words are short enough, else one entry
// to a row; an entry that is too long for a row has its value below its word.
func underKey(entries []keyEntry, size float64) key {
	var b strings.Builder
	row := size * 1.4
	x, y := 8.0, 0.0
	for _, e := range entries {
		width := keyWidth(e.text(), size)
		if x > 8 && (x > viewWidth/2+8 || x+width > viewWidth) {
			x, y = 8, y+row
		}
		at := viewHeight + row/2 + y
		if x+width <= viewWidth {
			e.paint(&b, x, at, size, e.text())
		} else {
			e.paint(&b, x, at, fitted(e.word, size, viewWidth-x), e.word)
			y += row
			keyText(&b, x+size*1.35, at+row, size, e.value)
		}
		x = math.Max(viewWidth/2, x+width+size/2)
	}
	return key{svg: b.String(), height: y + row + 4}
}

// rightKey sets the entries at the right of the picture, each word above its
// value where both do not fit into one line.
func rightKey(entries []keyEntry, letter, wide float64) key {
	lines := 0
	for _, e := range entries {
		lines++
		if keyWidth(e.text(), letter) > wide {
			lines++
		}
	}
	row := math.Min(letter*1.35, viewHeight/float64(lines))
	size := math.Min(letter, row/1.2)
	var b strings.Builder
	y := viewHeight/2 - row*float64(lines-1)/2
	for _, e := range entries {
		if keyWidth(e.text(), letter) > wide {
			e.paint(&b, viewWidth, y, fitted(e.word, size, wide), e.word)
			y += row
			keyText(&b, viewWidth+size*1.35, y, size, e.value)
		} else {
			e.paint(&b, viewWidth, y, size, e.text())
		}
		y += row
	}
	return key{svg: b.String(), width: wide}
}

// fitted is the size at which a word that is still too long fits.
func fitted(word string, size, room float64) float64 {
	return math.Min(size, 0.98*size*room/keyWidth(word, size))
}
