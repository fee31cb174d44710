package wire

import (
	"bytes"
	"errors"
	"fmt"
	"reflect"
	"strings"
	"testing"
	"time"

	"unsling/engine/rom"
)

func chainOf(t testing.TB, a rom.Author, count int) [][]byte {
	t.Helper()
	var lines [][]byte
	prev := NoPrev
	for n := 1; n <= count; n++ {
		r := sample()
		r.Author, r.N, r.Prev = a, int64(n), prev
		line, err := Encode(r)
		if err != nil {
			t.Fatal(err)
		}
		lines = append(lines, line)
		prev = HashOf(line)
	}
	return lines
}

func TestRequest(t *testing.T) {
	in := Request{
		Header: Header{Proto: 1, App: "1.2", Author: "p", From: 1, Since: Cursor{Seq: 3, Hash: HashOf(nil)}, Epoch: "ep", Following: 7},
		Lines:  chainOf(t, "p", 3), Returned: chainOf(t, "c-old", 2),
	}
	var b bytes.Buffer
	if err := WriteRequest(&b, in); err != nil {
		t.Fatal(err)
	}
	out, err := ReadRequest(&b)
	in.Header.Returned = 2
	if err != nil || !reflect.DeepEqual(in, out) {
		t.Errorf("came back as %+v, %v", out, err)
	}
}

// Framing faults refuse a whole request; a line that is no record does not.
func TestRequestFraming(t *testing.T) {
	lines := chainOf(t, "p", 3)
	head := `{"proto":1,"app":"1","author":"p","from":1,"since":{"seq":0,"hash":""},"epoch":"","following":0}`
	join := func(parts ...string) string { return strings.Join(parts, "\n") + "\n" }
	l := func(i int) string { return string(lines[i]) }
	huge := `{"x":"` + strings.Repeat("x", MaxLine) + `"}`
	many := make([]string, MaxLines+2)
	for i := range many {
		many[i] = "x"
	}
	many[0] = head
	for name, c := range map[string]struct {
		text string
		want Code
	}{
		"good":                    {join(head, l(0), l(1)), ""},
		"no lines":                {join(head), ""},
		"a field of a newer app":  {join(strings.Replace(head, `{`, `{"new":1,`, 1)), ""},
		"a line that is no JSON":  {join(head, l(0), "oops", l(2)), ""},
		"a line cut short":        {join(head, l(0)[:90]), ""},
		"nothing":                 {"", Malformed},
		"no header":               {join(l(0)), Malformed},
		"header without end":      {head, Malformed},
		"last line without end":   {head + "\n" + l(0), Malformed},
		"empty line":              {join(head, "", l(0)), Malformed},
		"lines out of order":      {join(head, l(1), l(0)), Malformed},
		"a line twice":            {join(head, l(0), l(0)), Malformed},
		"somebody else's line":    {join(head, string(chainOf(t, "q", 1)[0])), Malformed},
		"clinic as author":        {join(strings.Replace(head, `"p"`, `"c-1"`, 1)), Malformed},
		"from 0":                  {join(strings.Replace(head, `"from":1`, `"from":0`, 1)), Malformed},
		"more returned than sent": {join(strings.Replace(head, `"from"`, `"returned":1,"from"`, 1)), Malformed},
		"cursor without hash":     {join(strings.Replace(head, `"seq":0`, `"seq":4`, 1)), Malformed},
		"newer protocol":          {join(strings.Replace(head, `"proto":1`, `"proto":2`, 1)), TooNew},
		"long line":               {join(head, huge), TooBig},
		"long header":             {join(strings.Replace(head, `"1"`, `"`+strings.Repeat("1", MaxHeader)+`"`, 1)), TooBig},
		"too many lines":          {join(many...), TooBig},
		"too many bytes":          {join(head, strings.Repeat(strings.Repeat("x", 8000)+"\n", 9)), TooBig},
	} {
		_, err := ReadRequest(strings.NewReader(c.text))
		e, ok := AsError(err)
		if (c.want == "") != (err == nil) || c.want != "" && (!ok || e.Code != c.want) {
			t.Errorf("%s: %v, want %q", name, err, c.want)
		}
	}
}

func TestReply(t *testing.T) {
	lines := chainOf(t, "p", 3)
	in := Reply{
		Epoch: "ep", State: Active, Ack: Mark{N: 3, Hash: HashOf(lines[2])}, BackedUp: 2, Seq: 11, More: true,
		Head: Cursor{Seq: 20, Hash: HashOf(nil)}, ServerTime: time.Date(2026, 3, 1, 0, 0, 0, 0, time.UTC),
	}
	log := []LogLine{
		{Seq: 11, Bytes: lines[0], Hash: HashOf(lines[0])},
		{Seq: 12, Erased: true, Hash: HashOf(lines[1])},
		{Seq: 13, Bytes: lines[2], Hash: HashOf(lines[2])},
	}
	var b bytes.Buffer
	if err := WriteReply(&b, in, log); err != nil {
		t.Fatal(err)
	}
	text := b.String()
	out, got, err := ReadReply(&b)
	if err != nil || out != in || !reflect.DeepEqual(got, log) {
		t.Errorf("came back as %+v, %+v, %v", out, got, err)
	}
	for name, bad := range map[string]string{
		"a page of something in between": "<html>\n</html>\n",
		"another erased number":          strings.Replace(text, `"erased":12`, `"erased":13`, 1),
		"unknown state":                  strings.Replace(text, `"active"`, `"odd"`, 1),
		"data for a revoked phone":       strings.Replace(strings.Replace(text, `"active"`, `"revoked"`, 1), `"seq":11`, `"seq":0`, 1),
		"cut short":                      text[:len(text)-9],
	} {
		if _, _, err := ReadReply(strings.NewReader(bad)); !errors.Is(err, Refuse(Malformed)) {
			t.Errorf("%s: %v, want malformed", name, err)
		}
	}
}

func TestFit(t *testing.T) {
	lines := [][]byte{make([]byte, 9), make([]byte, 9), make([]byte, 9)}
	for _, c := range []struct{ most, size, want int }{{3, 30, 3}, {2, 30, 2}, {3, 29, 2}, {3, 9, 0}, {0, 30, 0}} {
		if got := Fit(lines, c.most, c.size); got != c.want {
			t.Errorf("Fit(%d, %d) = %d, want %d", c.most, c.size, got, c.want)
		}
	}
}

// The order, the names and the statuses of codes never change; new ones are
// added at the end of this list.
func TestCodes(t *testing.T) {
	want := strings.Fields(`malformed/400 too_big/413 gap/409 fork/409 unauthorized/401 bad_assertion/401
		unknown_device/401 pending/403 forbidden/403 too_old/426 too_new/501 stale/409 code_unknown/403
		code_expired/403 code_used/403 wrong_pin/403 too_many_tries/403 device_taken/409 too_many/429
		erased/410 not_found/404 bad_method/405 bad_type/415 unavailable/503 internal/500`)
	var got []string
	for _, c := range Codes() {
		got = append(got, fmt.Sprintf("%s/%d", c, c.Status()))
		s := c.Sentence()
		if !c.Known() || !strings.HasSuffix(s, ".") || strings.ToUpper(s[:1]) != s[:1] || len(s) > 130 {
			t.Errorf("%s: %q is not one clear sentence", c, s)
		}
	}
	if !reflect.DeepEqual(got, want) {
		t.Errorf("codes are\n%v\nwant\n%v", got, want)
	}
	if Code("odd").Known() || Code("odd").Status() != 500 {
		t.Error("an unlisted code is taken for a listed one")
	}
	if !errors.Is(fmt.Errorf("x: %w", Refuse(Gap)), &Error{Code: Gap}) || errors.Is(Refuse(Gap), Refuse(Fork)) {
		t.Error("errors do not compare by code")
	}
}

func TestReadMessage(t *testing.T) {
	var h Hello
	if err := ReadMessage(strings.NewReader(` {"epoch":"e","later":1}`+"\n"), &h); err != nil || h.Epoch != "e" {
		t.Errorf("%+v, %v", h, err)
	}
	if err := ReadMessage(strings.NewReader(`{"epoch":`), &h); !errors.Is(err, Refuse(Malformed)) {
		t.Errorf("cut short: %v", err)
	}
	if err := ReadMessage(strings.NewReader(`{"epoch":"`+strings.Repeat("x", MaxMessage)+`"}`), &h); !errors.Is(err, Refuse(TooBig)) {
		t.Errorf("too big: %v", err)
	}
}
