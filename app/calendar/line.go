package calendar

import (
	"strings"
	"unicode"
	"unicode/utf8"
)

// most is the longest line in octets, without its break (RFC 5545, 3.1).
const most = 75

// writer gathers content lines.
type writer struct{ strings.Builder }

// line writes one content line, folded.
func (w *writer) line(name, value string) {
	rest := name + ":" + value
	room := most
	for len(rest) > room {
		cut := room
		for cut > 0 && !utf8.RuneStart(rest[cut]) {
			cut--
		}
		w.WriteString(rest[:cut] + "\r\n ")
		rest = rest[cut:]
		room = most - 1 // the space counts
	}
	w.WriteString(rest + "\r\n")
}

var escapes = strings.NewReplacer(`\`, `\\`, ";", `\;`, ",", `\,`, "\r\n", `\n`, "\n", `\n`, "\r", `\n`)

// escape writes a TEXT value (RFC 5545, 3.3.11).
func escape(s string) string { return escapes.Replace(clean(s)) }

// clean takes away what no text of a calendar may hold: control characters
// but tab and line ends, and broken characters.
func clean(s string) string {
	return strings.Map(func(r rune) rune {
		if r == utf8.RuneError || unicode.IsControl(r) && r != '\t' && r != '\n' && r != '\r' {
			return -1
		}
		return r
	}, s)
}
