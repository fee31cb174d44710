// Package manual holds the pages that a person reads about the running product and that travel inside the program:
// how to look after a server, what is promised and by which test, and what was thought of for its security.
// They are printed by "unsling help PAGE", so that they are at hand where there is no network.
package manual

import _ "embed"

// Page is one text in Markdown, as it is printed.
type Page struct {
	Name string // the word after "unsling help"
	Line string // what it is for, without a full stop
	Text string
}

//go:embed runbook.md
var runbook string

//go:embed promises.md
var promises string

//go:embed security.md
var security string

// Pages are all of them, in the order in which a person meets them.
func Pages() []Page {
	return []Page{
		{"runbook", "look after a server: backup, restore, keys, damage, upgrade", runbook},
		{"promises", "what is promised, by which test, and what is not", promises},
		{"security", "threats, controls, tests, known deviations", security},
	}
}

// Find is the page of that name.
func Find(name string) (Page, bool) {
	for _, p := range Pages() {
		if p.Name == name {
			return p, true
		}
	}
	return Page{}, false
}
