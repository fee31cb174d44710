package words

import (
	"math"
	"regexp"
	"strings"
	"testing"
	"unicode"
)

var (
	verb     = regexp.MustCompile(`%[ds]`)
	sentence = regexp.MustCompile(`[.!?:]+(\s|$)`)
)

// sentences splits a text; a text without an end mark is one sentence.
func sentences(s string) []string {
	var out []string
	for _, x := range sentence.Split(s, -1) {
		if len(wordsOf(x)) > 0 {
			out = append(out, x)
		}
	}
	return out
}

func wordsOf(s string) []string {
	return strings.FieldsFunc(verb.ReplaceAllString(s, "7"), func(r rune) bool {
		return !unicode.IsLetter(r) && !unicode.IsDigit(r) && r != '\''
	})
}

var vowels = regexp.MustCompile(`[aeiouy]+`)

// syllables counts groups of vowels, less silent endings: the usual rule of
// thumb for English.
func syllables(word string) int {
	w := strings.ToLower(word)
	if w == "" || unicode.IsDigit(rune(w[0])) {
		return 1
	}
	n := len(vowels.FindAllString(w, -1))
	switch {
	case strings.HasSuffix(w, "ee"), strings.HasSuffix(w, "ees"):
	case strings.HasSuffix(w, "le") && len(w) > 2 && !strings.ContainsRune("aeiouy", rune(w[len(w)-3])):
	case strings.HasSuffix(w, "es") && !strings.HasSuffix(w, "ses") && !strings.HasSuffix(w, "ches") && !strings.HasSuffix(w, "shes"),
		strings.HasSuffix(w, "e"), strings.HasSuffix(w, "ed") && !strings.HasSuffix(w, "ted") && !strings.HasSuffix(w, "ded"):
		n--
	}
	return max(n, 1)
}

// grade is the Flesch-Kincaid grade level: 0.39 words/sentences + 11.8
// syllables/words - 15.59 (Kincaid 1975).
func grade(text string) float64 {
	s, w, syl := counts(text, syllables)
	return 0.39*w/s + 11.8*syl/w - 15.59
}

func counts(text string, count func(string) int) (s, w, syl float64) {
	for _, x := range sentences(text) {
		s++
		for _, y := range wordsOf(x) {
			w++
			syl += float64(count(y))
		}
	}
	return s, w, syl
}

var (
	spanishVowels = regexp.MustCompile(`[aeiouáéíóúü]+`)
	hiatus        = regexp.MustCompile(`[aeoáéó][aeoáéó]|[íú][aeo]|[aeo][íú]`)
)

// silabas counts groups of vowels and splits strong pairs.
func silabas(word string) int {
	w := strings.ToLower(word)
	n := 0
	for _, g := range spanishVowels.FindAllString(w, -1) {
		n += 1 + len(hiatus.FindAllString(g, -1))
	}
	return max(n, 1)
}

// inflesz is the Szigriszt-Pazos index as used by the INFLESZ scale: 206.835 -
// 62.3 syllables/words - words/sentences; 55 to 65 is normal, 65 to 80 quite
// easy (Barrio-Cantalejo 2008; memory).
func inflesz(text string) float64 {
	s, w, syl := counts(text, silabas)
	return 206.835 - 62.3*syl/w - w/s
}

// TestSyllables compares with syllable counts of a dictionary (memory: common
// English and Spanish words as divided in any school dictionary).
func TestSyllables(t *testing.T) {
	for w, want := range map[string]int{
		"arm": 1, "shoulder": 2, "table": 2, "elbow": 2, "exercise": 3, "clinic": 2, "today": 2, "slide": 1,
		"hold": 1, "surgery": 3, "moved": 1, "stopped": 1, "started": 2, "gentle": 2, "emergency": 4, "measure": 2,
		"people": 2, "limits": 2, "degrees": 2, "language": 2,
	} {
		if got := syllables(w); got != want {
			t.Errorf("syllables(%q) = %d, want %d", w, got, want)
		}
	}
	for w, want := range map[string]int{"brazo": 2, "codo": 2, "teléfono": 4, "día": 2, "hacia": 2, "cirujano": 4, "ahora": 3, "cuerpo": 2, "leer": 2} {
		if got := silabas(w); got != want {
			t.Errorf("silabas(%q) = %d, want %d", w, got, want)
		}
	}
}

// TestGrade compares with the arithmetic of the published formula on texts
// counted by hand, and with the order every reader agrees on: the first
// sentence of a nursery rhyme against the first of a constitution.
func TestGrade(t *testing.T) {
	// 2 sentences, 10 words, 10 syllables: 0.39*5 + 11.8*1 - 15.59 = -1.84.
	if got := grade("The cat sat on mats. The dog ran to me."); math.Abs(got-(-1.84)) > 0.01 {
		t.Errorf("grade of ten one-syllable words = %.2f, want -1.84", got)
	}
	hard := grade("We the people of the United States, in order to form a more perfect union, establish justice, insure domestic tranquility, provide for the common defense, promote the general welfare, and secure the blessings of liberty to ourselves and our posterity, do ordain and establish this constitution.")
	if hard < 15 {
		t.Errorf("grade of a constitution = %.1f, want 15 or more", hard)
	}
}
