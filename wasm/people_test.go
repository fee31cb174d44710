package main

import (
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// TestReadPeople: what is odd in the list is left out and makes it one that cannot be trusted; nobody is in it twice.
func TestReadPeople(t *testing.T) {
	one, two := person{"unsling", "AN"}, person{"unsling-2", "BO"}
	for name, c := range map[string]struct {
		text  string
		want  []person
		whole bool
	}{
		"none":           {"", nil, false},
		"two":            {writePeople([]person{two, one}), []person{two, one}, true},
		"no letters":     {`[{"db":"unsling"}]`, []person{{"unsling", ""}}, true},
		"cut":            {`[{"db":"unsling","letters":"AN"},{"db":"unsl`, nil, false},
		"another thing":  {`{"db":"unsling"}`, nil, false},
		"empty":          {`[]`, nil, false},
		"null":           {`null`, nil, false},
		"twice":          {`[{"db":"unsling","letters":"AN"},{"db":"unsling","letters":"X"}]`, []person{one}, false},
		"another's data": {`[{"db":"unsling","letters":"AN"},{"db":"someone-else"},{"db":"../x"},{"db":""}]`, []person{one}, false},
		"hostile":        {`[{"db":"unsling","letters":"<img src=x>"},{"db":"unsling-2","letters":"\u202eBO"}]`, []person{{"unsling", ""}, {"unsling-2", ""}}, false},
		"too many": {`[{"db":"unsling"},{"db":"unsling-2"},{"db":"unsling-3"},{"db":"unsling-4"},{"db":"unsling-5"}]`,
			[]person{{"unsling", ""}, {"unsling-2", ""}, {"unsling-3", ""}, {"unsling-4", ""}}, false},
		"long": {`[{"db":"unsling","letters":"` + strings.Repeat("A", 2000) + `"}]`, nil, false},
	} {
		if got, whole := readPeople(c.text); !slices.Equal(got, c.want) || whole != c.whole {
			t.Errorf("%s: %v %v, want %v %v", name, got, whole, c.want, c.whole)
		}
	}
}

// TestRoomForPeople: names are given out once each, the first is the one of a phone with one person, and a fifth finds none.
func TestRoomForPeople(t *testing.T) {
	var list []person
	for i := range databases {
		db, ok := room(list)
		if !ok || db != databases[i] {
			t.Fatalf("person %d: %q %v", i+1, db, ok)
		}
		list = noted(list, person{DB: db})
	}
	if db, ok := room(list); ok {
		t.Errorf("a fifth person gets %q", db)
	}
	if db, _ := room(without(list, "unsling-2")); db != "unsling-2" {
		t.Errorf("the room of who left goes to %q", db)
	}
	if databases[0] != "unsling" {
		t.Error("a phone of before would not find its records")
	}
}

// TestListIsBroughtInStep: what was found joins what is known, the letters that a person's own database keeps are the truth, and
// who has left is off the list.
func TestListIsBroughtInStep(t *testing.T) {
	an, bo, cy := person{"unsling", "AN"}, person{"unsling-2", "BO"}, person{"unsling-3", "CY"}
	all := []string{"unsling", "unsling-2", "unsling-3"}
	for name, c := range map[string]struct {
		list    []person
		present []string
		found   []person
		mine    string
		want    []person
	}{
		"an old list without letters":     {[]person{{"unsling", ""}, {"unsling-2", ""}}, all[:2], []person{an, bo}, "", []person{an, bo}},
		"letters were chosen anew":        {[]person{an, {"unsling-2", "XX"}}, all[:2], []person{bo}, "unsling", []person{an, bo}},
		"no list":                         {nil, all, []person{an, bo, cy}, "", []person{an, bo, cy}},
		"one is missing":                  {[]person{bo}, all, []person{an, cy}, "unsling-2", []person{bo, an, cy}},
		"a database without letters yet":  {[]person{an, bo}, all[:2], []person{{"unsling-2", ""}}, "unsling", []person{an, bo}},
		"who left, by an old list":        {[]person{an, bo, cy}, all[:2], []person{bo}, "unsling", []person{an, bo}},
		"mine is not made yet":            {[]person{an, bo}, all[:1], []person{an}, "unsling-2", []person{an, bo}},
		"all were removed by the browser": {[]person{an, bo}, nil, nil, "", []person{an, bo}},
		"the order of before stays":       {[]person{bo, an}, all[:2], []person{an, bo}, "", []person{bo, an}},
	} {
		before := slices.Clone(c.list)
		if got := inStep(c.list, c.present, c.found, c.mine); !slices.Equal(got, c.want) {
			t.Errorf("%s: %v, want %v", name, got, c.want)
		}
		if !slices.Equal(c.list, before) {
			t.Errorf("%s: the list that was given has changed", name)
		}
	}
	list := []person{an, bo, cy}
	if got := first(list, "unsling-3"); !slices.Equal(got, []person{cy, an, bo}) {
		t.Errorf("used last: %v", got)
	}
	if got := first(list, "unsling-4"); !slices.Equal(got, list) {
		t.Errorf("somebody who is not there: %v", got)
	}
}

// TestWhoLostRecords: an empty database is a loss for who was here, and none for somebody new.
func TestWhoLostRecords(t *testing.T) {
	both := []person{{"unsling", "AN"}, {"unsling-2", "BO"}}
	for _, c := range []struct {
		name          string
		list          []person
		whole, before bool
		db            string
		want          bool
	}{
		{"a new phone", nil, false, false, "unsling", false},
		{"a phone of one person, emptied", nil, false, true, "unsling", true},
		{"the first of two", both, true, true, "unsling", true},
		{"the second of two", both, true, true, "unsling-2", true},
		{"a third who joins", both, true, true, "unsling-3", false},
		{"a second who joins without a list", nil, false, true, "unsling-2", false},
		{"somebody new in the room of who left", both[1:], true, true, "unsling", false},
	} {
		if got := lost(c.list, c.whole, c.before, c.db); got != c.want {
			t.Errorf("%s: %v", c.name, got)
		}
	}
}

// TestPeopleSurviveAnything: whatever the list is, reading it never gives more than there is room for, nor anybody twice, and what
// was written is read again.
func TestPeopleSurviveAnything(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.OneOf(rapid.String(), rapid.StringMatching(`\[(\{"db":"unsling(-[0-9])?","letters":"[A-Z<>]{0,4}"\},?){0,7}\]`)).Draw(t, "text")
		list, _ := readPeople(text)
		if len(list) > len(databases) {
			t.Fatalf("%d people", len(list))
		}
		for i, p := range list {
			if !known(p.DB) || index(list, p.DB) != i {
				t.Fatalf("%v", list)
			}
		}
		if len(list) == 0 {
			return
		}
		again, whole := readPeople(writePeople(list))
		if !whole || !slices.Equal(again, list) {
			t.Fatalf("%v is read again as %v", list, again)
		}
	})
}
