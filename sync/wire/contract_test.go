package wire

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"reflect"
	"regexp"
	"strings"
	"testing"
)

// messages are what travels beside the lines, by the name that the contract gives them.
var messages = map[string]any{
	"hello": Hello{}, "enrol": Enrol{}, "enrolled": Enrolled{}, "token": Token{}, "device": NewDevice{}, "leave": Leave{}, "left": Left{},
	"request": Header{}, "reply": Reply{}, "erased": erasedLine{}, "error": Error{},
}

type example struct{ tag, value, text string }

// contract reads the page and its examples.
func contract(t *testing.T) (page string, examples []example) {
	t.Helper()
	b, err := os.ReadFile("CONTRACT.md")
	if err != nil {
		t.Fatal(err)
	}
	page = string(b)
	for _, m := range regexp.MustCompile("(?ms)^```json (message|line|kind)=(.*?)\n(.*?)\n```$").FindAllStringSubmatch(page, -1) {
		examples = append(examples, example{m[1], m[2], m[3]})
	}
	if n := strings.Count(page, "```json"); n != len(examples) || n == 0 {
		t.Fatalf("%d examples, %d of them read", n, len(examples))
	}
	return page, examples
}

// Every kind and version has a section with an example that the program reads, writes again with the same bytes, and names every
// field of it; the page has no kind that there is not.
func TestContractBodies(t *testing.T) {
	page, examples := contract(t)
	seen := map[string]bool{}
	for _, e := range examples {
		if e.tag != "kind" {
			continue
		}
		var k Kind
		var v int
		if _, err := fmt.Sscanf(e.value, "%s v=%d", &k, &v); err != nil {
			t.Fatalf("%q: %v", e.value, err)
		}
		info, ok := Info(k)
		if !ok || v != info.Version {
			t.Errorf("%s %d: there is no such kind", k, v)
			continue
		}
		body, err := DecodeBody(k, v, []byte(e.text))
		if err != nil {
			t.Errorf("%s: %v", k, err)
			continue
		}
		if raw, _, err := EncodeBody(k, body); err != nil || string(raw) != e.text {
			t.Errorf("%s is written again as %s, %v", k, raw, err)
		}
		seen[fmt.Sprint(k, " ", v)] = true
		who := map[bool]string{true: "p", false: ""}[info.Phone] + map[bool]string{true: "/", false: ""}[info.Phone && info.Clinic] + map[bool]string{true: "c", false: ""}[info.Clinic]
		_, section, ok := strings.Cut(page, fmt.Sprintf("\n### %s %d (%s)\n", k, v, who))
		if !ok {
			t.Errorf("%s %d has no section that says who writes it (%s)", k, v, who)
			continue
		}
		section, _, _ = strings.Cut(section, "\n### ")
		if k == KindPlan {
			continue // its form is described, and not field by field
		}
		for _, f := range fieldsOf(reflect.TypeOf(body)) {
			if !regexp.MustCompile("(?m)^\\| `" + regexp.QuoteMeta(f) + "[`.\\[]").MatchString(section) {
				t.Errorf("%s: the field %s is not in its table", k, f)
			}
		}
	}
	for _, k := range Kinds() {
		if !seen[fmt.Sprint(k.Kind, " ", k.Version)] {
			t.Errorf("%s %d has no example", k.Kind, k.Version)
		}
	}
	if sections := regexp.MustCompile(`(?m)^### \w+ \d+ \(`).FindAllString(page, -1); len(sections) != len(seen) {
		t.Errorf("%d sections, %d kinds", len(sections), len(seen))
	}
}

// fieldsOf are the names of a struct's fields in JSON, those of embedded structs included.
func fieldsOf(x reflect.Type) (names []string) {
	for i := range x.NumField() {
		f := x.Field(i)
		name, _, _ := strings.Cut(f.Tag.Get("json"), ",")
		switch {
		case name == "-":
		case name == "" && f.Anonymous:
			names = append(names, fieldsOf(f.Type)...)
		case name != "":
			names = append(names, name)
		}
	}
	return names
}

// Every message has an example with all of its fields and no other.
func TestContractMessages(t *testing.T) {
	_, examples := contract(t)
	seen := map[string]bool{}
	for _, e := range examples {
		if e.tag != "message" {
			continue
		}
		kind, ok := messages[e.value]
		if !ok {
			t.Errorf("%s: there is no such message", e.value)
			continue
		}
		seen[e.value] = true
		d := json.NewDecoder(strings.NewReader(e.text))
		d.DisallowUnknownFields()
		into := reflect.New(reflect.TypeOf(kind))
		if err := d.Decode(into.Interface()); err != nil {
			t.Errorf("%s: %v", e.value, err)
		}
		var has map[string]json.RawMessage
		if err := json.Unmarshal([]byte(e.text), &has); err != nil {
			t.Fatal(err)
		}
		for _, name := range fieldsOf(reflect.TypeOf(kind)) {
			if _, ok := has[name]; !ok {
				t.Errorf("%s: the example lacks %s", e.value, name)
			}
		}
	}
	for name := range messages {
		if !seen[name] {
			t.Errorf("%s has no example", name)
		}
	}
}

// The lines of the example chain on one another and have the hashes that the page says.
func TestContractLines(t *testing.T) {
	_, examples := contract(t)
	prev, n := NoPrev, int64(0)
	for _, e := range examples {
		if e.tag != "line" {
			continue
		}
		rec, err := Decode([]byte(e.text))
		if err != nil {
			t.Fatalf("%v: %s", err, e.text)
		}
		again, err := Encode(rec)
		if n++; err != nil || !bytes.Equal(again, []byte(e.text)) || rec.N != n || rec.Prev != prev || string(HashOf([]byte(e.text))) != e.value {
			t.Errorf("line %d: %v, hash %s", n, err, HashOf([]byte(e.text)))
		}
		prev = HashOf([]byte(e.text))
	}
	if n != 3 {
		t.Errorf("%d lines", n)
	}
}

// The table of codes is the program's, row by row, and every address is named.
func TestContractCodes(t *testing.T) {
	page, _ := contract(t)
	var rows []string
	for _, c := range Codes() {
		rows = append(rows, fmt.Sprintf("| `%s` | %d | %s |", c, c.Status(), c.Sentence()))
	}
	_, table, _ := strings.Cut(page, "\n## Codes\n")
	table, _, _ = strings.Cut(table, "\n## ")
	var got []string
	for line := range strings.SplitSeq(table, "\n") {
		if strings.HasPrefix(line, "| `") {
			got = append(got, line)
		}
	}
	if len(got) != len(rows) {
		t.Errorf("%d rows, %d codes", len(got), len(rows))
	}
	for i := range min(len(got), len(rows)) {
		if !strings.HasPrefix(got[i], rows[i]) {
			t.Errorf("the page has %s, the program %s", got[i], rows[i])
		}
	}
	for _, path := range []string{PathHello, PathEnrol, PathToken, PathDevices, PathExchange, PathLeave} {
		if !strings.Contains(page, path+"`") {
			t.Errorf("%s is not on the page", path)
		}
	}
	for _, n := range []int{MaxLine, MaxFresh, MaxLines, MaxRecords, MaxHeader} {
		if !strings.Contains(page, fmt.Sprint(n)) {
			t.Errorf("the limit %d is not on the page", n)
		}
	}
}
