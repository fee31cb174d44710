package rom

import "time"

// Date is a civil date, counted in days since 1970-01-01; it has no zone and
// no clock change. The zero Date means "not given".
type Date int32

// DateOf returns the civil date that t shows in t's own location.
func DateOf(t time.Time) Date {
	y, m, d := t.Date()
	return MakeDate(y, m, d)
}

// MakeDate returns the date; out-of-range days and months are normalised as
// in time.Date.
func MakeDate(year int, month time.Month, day int) Date {
	return Date(time.Date(year, month, day, 0, 0, 0, 0, time.UTC).Unix() / 86400)
}

// ParseDate reads "2006-01-02". It refuses years outside 1900 to 2199, which
// in this trade are always a slip of the hand.
func ParseDate(s string) (Date, error) {
	t, err := time.Parse(time.DateOnly, s)
	if err != nil {
		return 0, invalid("date", "is not a date of the form 2026-01-31")
	}
	if y := t.Year(); y < 1900 || y > 2199 {
		return 0, invalid("date", "is not between the years 1900 and 2199")
	}
	return DateOf(t), nil
}

// Time returns midnight UTC of the date, for formatting and weekdays only.
func (d Date) Time() time.Time { return time.Unix(int64(d)*86400, 0).UTC() }

// String prints "2006-01-02", or "" for the zero Date.
func (d Date) String() string {
	if d == 0 {
		return ""
	}
	return d.Time().Format(time.DateOnly)
}

// IsZero reports whether the date was not given.
func (d Date) IsZero() bool { return d == 0 }

// Weekday returns the day of the week.
func (d Date) Weekday() time.Weekday { return d.Time().Weekday() }

// Sub returns the number of days from e to d.
func (d Date) Sub(e Date) int { return int(d) - int(e) }

// Add returns the date n days later.
func (d Date) Add(n int) Date { return d + Date(n) }

// MarshalText implements encoding.TextMarshaler.
func (d Date) MarshalText() ([]byte, error) { return []byte(d.String()), nil }

// UnmarshalText implements encoding.TextUnmarshaler.
func (d *Date) UnmarshalText(b []byte) error {
	if len(b) == 0 {
		*d = 0
		return nil
	}
	p, err := ParseDate(string(b))
	if err != nil {
		return err
	}
	*d = p
	return nil
}
