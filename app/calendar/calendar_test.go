package calendar

import (
	"errors"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"unsling/engine/rom"
)

func sample() Calendar {
	return Calendar{
		Product: "-//Unsling//Reminders 1//EN", Stamp: time.Date(2026, 3, 1, 7, 30, 0, 0, time.FixedZone("", 3600)),
		Reminders: []Reminder{
			{UID: "a-1", Sequence: 2, From: rom.MakeDate(2026, 3, 2), Until: rom.MakeDate(2026, 3, 29), Minute: 9*60 + 5, Length: 20, Summary: "A moment for you", About: "Open the app, when you like; no hurry."},
			{UID: "a-2", Sequence: 3, From: rom.MakeDate(2026, 3, 2), Until: rom.MakeDate(2026, 3, 29), Minute: 13 * 60, Length: 20, Summary: "Un momento para usted: ahora o más tarde, cuando le venga bien, señor o señora", About: "x", Cancelled: true},
		},
	}
}

// TestText holds the whole text to what RFC 5545 asks, section by section.
func TestText(t *testing.T) {
	got, err := sample().Text()
	if err != nil {
		t.Fatal(err)
	}
	want := strings.Join([]string{
		"BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:-//Unsling//Reminders 1//EN", "CALSCALE:GREGORIAN", "METHOD:PUBLISH",
		"BEGIN:VEVENT", "UID:a-1", "DTSTAMP:20260301T063000Z", "SEQUENCE:2", "DTSTART:20260302T090500", "DURATION:PT20M",
		"RRULE:FREQ=DAILY;UNTIL=20260329T090500", "SUMMARY:A moment for you", `DESCRIPTION:Open the app\, when you like\; no hurry.`,
		"CLASS:PRIVATE", "TRANSP:TRANSPARENT", "STATUS:CONFIRMED",
		"BEGIN:VALARM", "ACTION:DISPLAY", "DESCRIPTION:A moment for you", "TRIGGER:PT0S", "END:VALARM", "END:VEVENT",
		"BEGIN:VEVENT", "UID:a-2", "DTSTAMP:20260301T063000Z", "SEQUENCE:3", "DTSTART:20260302T130000", "DURATION:PT20M",
		"RRULE:FREQ=DAILY;UNTIL=20260329T130000",
		`SUMMARY:Un momento para usted: ahora o más tarde\, cuando le venga bien\, `, " señor o señora", "DESCRIPTION:x",
		"CLASS:PRIVATE", "TRANSP:TRANSPARENT", "STATUS:CANCELLED", "END:VEVENT", "END:VCALENDAR", "",
	}, "\r\n")
	if got != want {
		t.Errorf("got\n%s\nwant\n%s", got, want)
	}
}

// TestFoldingExample unfolds the example of RFC 5545, section 3.1: what was
// one line must come back as one line.
func TestFoldingExample(t *testing.T) {
	var w writer
	const long = "This is a lo ng description that exists on a long line, and goes on until it is more than seventy-five octets."
	w.line("DESCRIPTION", long)
	if got := strings.ReplaceAll(w.String(), "\r\n ", ""); got != "DESCRIPTION:"+long+"\r\n" {
		t.Errorf("unfolded: %q", got)
	}
	if !strings.Contains(w.String(), "\r\n ") {
		t.Error("a line of more than 75 octets was not folded")
	}
}

// TestAllCancelled: a file that only takes reminders away says so (RFC 5546, 3.2.5).
func TestAllCancelled(t *testing.T) {
	c := sample()
	c.Reminders[0].Cancelled = true
	text, err := c.Text()
	if err != nil || !strings.Contains(text, "METHOD:CANCEL\r\n") || strings.Contains(text, "VALARM") || strings.Contains(text, "CONFIRMED") {
		t.Errorf("%v\n%s", err, text)
	}
}

func TestWhatCannotBeWritten(t *testing.T) {
	change := func(f func(*Calendar)) Calendar { c := sample(); f(&c); return c }
	for name, x := range map[string]struct {
		c    Calendar
		want error
	}{
		"nothing":       {change(func(c *Calendar) { c.Reminders = nil }), ErrEmpty},
		"no stamp":      {change(func(c *Calendar) { c.Stamp = time.Time{} }), ErrStamp},
		"no id":         {change(func(c *Calendar) { c.Reminders[0].UID = "" }), ErrUID},
		"id twice":      {change(func(c *Calendar) { c.Reminders[1].UID = "a-1" }), ErrUID},
		"id with break": {change(func(c *Calendar) { c.Reminders[0].UID = "a\r\nATTENDEE:x" }), ErrUID},
		"25 o'clock":    {change(func(c *Calendar) { c.Reminders[0].Minute = 25 * 60 }), ErrTime},
		"no length":     {change(func(c *Calendar) { c.Reminders[0].Length = 0 }), ErrTime},
		"ends before":   {change(func(c *Calendar) { c.Reminders[0].Until = c.Reminders[0].From - 1 }), ErrDays},
		"no words":      {change(func(c *Calendar) { c.Reminders[0].Summary = " \x00" }), ErrWords},
	} {
		if text, err := x.c.Text(); !errors.Is(err, x.want) || text != "" {
			t.Errorf("%s: %q, %v, want %v", name, text, err, x.want)
		}
	}
}

// unescape reads a TEXT value back.
func unescape(s string) string {
	var b strings.Builder
	for i := 0; i < len(s); i++ {
		if s[i] == '\\' && i+1 < len(s) {
			i++
			if s[i] == 'n' || s[i] == 'N' {
				b.WriteByte('\n')
				continue
			}
		}
		b.WriteByte(s[i])
	}
	return b.String()
}

// FuzzText: whatever the words, the file is whole, and they come back.
func FuzzText(f *testing.F) {
	for _, s := range []string{"plain", "a;b,c\\d", "line\nline\r\nEND:VEVENT", strings.Repeat("ñ", 90), "\x00\x7f", "\xff\xfe", strings.Repeat("😀", 40), "BEGIN:VALARM", "\\n"} {
		f.Add(s, 0)
	}
	f.Fuzz(func(t *testing.T, words string, minute int) {
		c := sample()
		c.Reminders = c.Reminders[:1]
		c.Reminders[0].Summary, c.Reminders[0].Minute = words, minute
		text, err := c.Text()
		if err != nil {
			if !errors.Is(err, ErrWords) && !errors.Is(err, ErrTime) {
				t.Fatal(err)
			}
			return
		}
		if !utf8.ValidString(text) || !strings.HasSuffix(text, "END:VCALENDAR\r\n") {
			t.Fatalf("not whole: %q", text)
		}
		for _, line := range strings.Split(strings.TrimSuffix(text, "\r\n"), "\r\n") {
			if len(line) > most || line == "" || strings.ContainsAny(line, "\r\n\x00") {
				t.Fatalf("line %q", line)
			}
		}
		lines := strings.Split(strings.ReplaceAll(text, "\r\n ", ""), "\r\n")
		if len(lines) != 25 { // the last is empty
			t.Fatalf("%d content lines, want 24 and an end: the words broke out of their value: %q", len(lines), lines)
		}
		got, ok := strings.CutPrefix(lines[12], "SUMMARY:")
		want := strings.NewReplacer("\r\n", "\n", "\r", "\n").Replace(clean(words))
		if !ok || unescape(got) != want {
			t.Fatalf("the words came back as %q, want %q", unescape(got), want)
		}
	})
}
