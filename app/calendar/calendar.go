package calendar

import (
	"errors"
	"fmt"
	"strconv"
	"strings"
	"time"

	"unsling/engine/rom"
)

// Calendar is one file.
type Calendar struct {
	// Product names the program, as PRODID.
	Product string
	// Stamp is when the file was made, as DTSTAMP.
	Stamp     time.Time
	Reminders []Reminder
}

// Reminder rings every day at one time.
type Reminder struct {
	UID      string // the same for ever
	Sequence int    // 0 at first, one more with each change
	From     rom.Date
	Until    rom.Date // the last day
	Minute   int      // after midnight, where the person is
	Length   int      // minutes that it takes, 1 to 1440
	Summary  string
	About    string
	// Cancelled takes it out of a calendar that has it.
	Cancelled bool
}

// Why a calendar cannot be written.
var (
	ErrEmpty = errors.New("a calendar needs at least one reminder")
	ErrUID   = errors.New("a reminder needs an id of its own")
	ErrTime  = errors.New("a reminder needs a time of the day and a length")
	ErrDays  = errors.New("a reminder needs a first and a last day, in this order")
	ErrWords = errors.New("a reminder needs words")
	ErrStamp = errors.New("a calendar needs the time at which it was made")
)

const day = 24 * 60

func (r Reminder) check() error {
	switch {
	case r.UID == "" || clean(r.UID) != r.UID || strings.ContainsAny(r.UID, "\n\r,;\\"):
		return ErrUID
	case r.Minute < 0 || r.Minute >= day || r.Length < 1 || r.Length > day || r.Sequence < 0:
		return ErrTime
	case r.From.IsZero() || r.Until < r.From:
		return ErrDays
	case strings.TrimSpace(clean(r.Summary)) == "" || strings.TrimSpace(clean(r.About)) == "":
		return ErrWords
	}
	return nil
}

// Text is the file's content. It is the same for the same calendar.
func (c Calendar) Text() (string, error) {
	if len(c.Reminders) == 0 {
		return "", ErrEmpty
	}
	if c.Stamp.IsZero() {
		return "", ErrStamp
	}
	seen := map[string]bool{}
	var w writer
	w.line("BEGIN", "VCALENDAR")
	w.line("VERSION", "2.0")
	w.line("PRODID", escape(c.Product))
	w.line("CALSCALE", "GREGORIAN")
	method := "CANCEL"
	for _, r := range c.Reminders {
		if !r.Cancelled {
			method = "PUBLISH"
		}
	}
	w.line("METHOD", method)
	for _, r := range c.Reminders {
		if err := r.check(); err != nil {
			return "", fmt.Errorf("reminder %s: %w", strconv.Quote(r.UID), err)
		}
		if seen[r.UID] {
			return "", fmt.Errorf("reminder %s: %w", strconv.Quote(r.UID), ErrUID)
		}
		seen[r.UID] = true
		r.write(&w, c.Stamp)
	}
	w.line("END", "VCALENDAR")
	return w.String(), nil
}

func (r Reminder) write(w *writer, stamp time.Time) {
	w.line("BEGIN", "VEVENT")
	w.line("UID", r.UID)
	w.line("DTSTAMP", stamp.UTC().Format("20060102T150405Z"))
	w.line("SEQUENCE", strconv.Itoa(r.Sequence))
	w.line("DTSTART", floating(r.From, r.Minute))
	w.line("DURATION", duration(r.Length))
	// UNTIL is written like DTSTART, and counts in (section 3.3.10).
	w.line("RRULE", "FREQ=DAILY;UNTIL="+floating(r.Until, r.Minute))
	w.line("SUMMARY", escape(r.Summary))
	w.line("DESCRIPTION", escape(r.About))
	w.line("CLASS", "PRIVATE")
	w.line("TRANSP", "TRANSPARENT") // the time is not taken
	if r.Cancelled {
		w.line("STATUS", "CANCELLED")
	} else {
		w.line("STATUS", "CONFIRMED")
		w.line("BEGIN", "VALARM")
		w.line("ACTION", "DISPLAY")
		w.line("DESCRIPTION", escape(r.Summary))
		w.line("TRIGGER", "PT0S")
		w.line("END", "VALARM")
	}
	w.line("END", "VEVENT")
}

func floating(d rom.Date, minute int) string {
	return d.Time().Add(time.Duration(minute) * time.Minute).Format("20060102T150405")
}

func duration(minutes int) string { return "PT" + strconv.Itoa(minutes) + "M" }
