// Package words holds all text that a patient reads or hears, in every
// language of the product, in one catalogue.
//
// A Text is written without field names, so that a missing language does not
// compile. Texts are plain: sentences of at most 15 words, reading grade 6 or
// below, danger first, numbers as digits, "you" for the reader. Tests hold
// every text to that. Trade terms stay out; each has a plain phrase here.
//
// Spanish is marked unreviewed until a clinician who speaks it has signed it;
// see Reviewed. It addresses the reader as "usted".
//
// # Decisions
//
//   - Daily questions ("May I drive?") are answered by people per phase and never computed: a question without an
//     answer is not shown.
package words

import (
	"fmt"
	"strings"
)

// Version names the state of the catalogue, so that what a phone showed on a
// day can be found again.
const Version = 4

// Lang is a language of the catalogue, as in BCP 47.
type Lang string

// The languages.
const (
	English Lang = "en"
	Spanish Lang = "es"
)

// Langs lists the languages, the one to fall back on first.
var Langs = []Lang{English, Spanish}

// Name returns the language's own name.
func (l Lang) Name() string {
	if l == Spanish {
		return "Español"
	}
	return "English"
}

// Reviewed reports whether a clinician has signed the texts of l.
func Reviewed(l Lang) bool { return l != Spanish }

// Choose returns the first known language of the preferred ones, which may
// carry a region ("es-MX"), else English.
func Choose(preferred []string) Lang {
	for _, p := range preferred {
		base, _, _ := strings.Cut(strings.ToLower(p), "-")
		for _, l := range Langs {
			if string(l) == base {
				return l
			}
		}
	}
	return English
}

// Text is one text in every language, in the order of Langs. The same verbs
// of package fmt stand in each, in the same order.
type Text struct{ en, es string }

// In returns the text in l.
func (t Text) In(l Lang) string {
	if l == Spanish {
		return t.es
	}
	return t.en
}

// With returns the text in l with its verbs filled.
func (t Text) With(l Lang, args ...any) string { return fmt.Sprintf(t.In(l), args...) }

// IsZero reports whether there is no text.
func (t Text) IsZero() bool { return t.en == "" }

// Count is a text that differs by number: one, and every other number. Both
// may hold one %d.
type Count struct{ one, other Text }

// In returns the text for n in l.
func (c Count) In(l Lang, n int) string {
	t := c.other
	if n == 1 {
		t = c.one
	}
	if strings.Contains(t.In(l), "%d") {
		return t.With(l, n)
	}
	return t.In(l)
}

// Join returns the parts as a list in l: "a, b and c".
func Join(l Lang, parts []string) string {
	switch len(parts) {
	case 0:
		return ""
	case 1:
		return parts[0]
	}
	head, last := strings.Join(parts[:len(parts)-1], ", "), parts[len(parts)-1]
	and := " and "
	if l == Spanish {
		and = " y "
		if strings.HasPrefix(last, "i") {
			and = " e "
		}
	}
	return head + and + last
}

// Capital returns s with its first letter as a capital, to begin a sentence
// with a name of the catalogue.
func Capital(s string) string {
	for i, r := range s {
		return strings.ToUpper(string(r)) + s[i+len(string(r)):]
	}
	return s
}
