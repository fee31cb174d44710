package main

import (
	"encoding/json"
	"slices"

	"unsling/app/screen"
)

// The people who share this phone have a database each, and nothing in common but the app's own files. Who is there stands in a
// list of chosen letters and names of databases. The list is no truth of its own: a browser writes localStorage late, so that a
// killed one brings an old list back. Letters are kept strictly in each person's own database; every start brings the list in
// step with the databases that are found.

// databases are the names that a person's database may have, for ever, in the order in which they are given out.
var databases = [screen.MostPeople]string{"unsling", "unsling-2", "unsling-3", "unsling-4"}

// person is an entry of the list.
type person struct {
	DB      string `json:"db"`
	Letters string `json:"letters,omitempty"`
}

func known(db string) bool { return slices.Contains(databases[:], db) }

// readPeople reads a list, whoever used the phone last first. whole is false when there was none or anything in it was odd: then
// somebody may be missing. What is odd is left out, letters that nobody could have chosen are none.
func readPeople(text string) (list []person, whole bool) {
	const most = 1000 // characters; a list of ours has fewer than 200
	var raw []person
	if len(text) > most || json.Unmarshal([]byte(text), &raw) != nil || len(raw) == 0 {
		return nil, false
	}
	whole = true
	for _, p := range raw {
		letters, ok := screen.CleanLetters(p.Letters)
		if !known(p.DB) || index(list, p.DB) >= 0 {
			whole = false
			continue
		}
		whole = whole && ok
		list = append(list, person{p.DB, letters})
	}
	return list, whole
}

func writePeople(list []person) string {
	text, err := json.Marshal(list)
	if err != nil { // strings always marshal
		return ""
	}
	return string(text)
}

func index(list []person, db string) int {
	return slices.IndexFunc(list, func(p person) bool { return p.DB == db })
}

// noted gives the list with these letters for a person, who is added at its end when not there.
func noted(list []person, p person) []person {
	list = slices.Clone(list)
	if i := index(list, p.DB); i >= 0 {
		list[i] = p
		return list
	}
	return append(list, p)
}

// without gives the list without a person.
func without(list []person, db string) []person {
	return slices.DeleteFunc(slices.Clone(list), func(p person) bool { return p.DB == db })
}

// first gives the list with a person at its head.
func first(list []person, db string) []person {
	i := index(list, db)
	if i < 0 {
		return list
	}
	return append([]person{list[i]}, without(list, db)...)
}

// inStep brings a list in step with the databases: present are the names of those that are there, found what lies in those that
// were looked into. The letters in a database are those that were kept. Whose database is gone while another's is there has left:
// a browser that makes room removes all of them together. mine is never looked into and stays.
func inStep(list []person, present []string, found []person, mine string) []person {
	list = slices.Clone(list)
	for _, p := range found {
		switch i := index(list, p.DB); {
		case i < 0:
			list = append(list, p)
		case p.Letters != "":
			list[i].Letters = p.Letters
		}
	}
	if len(present) == 0 {
		return list
	}
	return slices.DeleteFunc(list, func(p person) bool { return p.DB != mine && !slices.Contains(present, p.DB) })
}

// room is the name of the next person's database; false when the phone holds as many as it can.
func room(list []person) (string, bool) {
	for _, db := range databases {
		if index(list, db) < 0 {
			return db, true
		}
	}
	return "", false
}

// lost reports whether an empty database means that the browser has removed what was in it: the list names the person. Where
// there is no list, the first database is meant if the phone was used before.
func lost(list []person, whole, before bool, db string) bool {
	if index(list, db) >= 0 {
		return before
	}
	return !whole && before && db == databases[0]
}
