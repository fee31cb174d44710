package words

import (
	"fmt"
	"strconv"
	"time"

	"unsling/engine/rom"
)

var months = [12]Text{
	{"January", "enero"}, {"February", "febrero"}, {"March", "marzo"}, {"April", "abril"},
	{"May", "mayo"}, {"June", "junio"}, {"July", "julio"}, {"August", "agosto"},
	{"September", "septiembre"}, {"October", "octubre"}, {"November", "noviembre"}, {"December", "diciembre"},
}

var shortMonths = [12]Text{
	{"Jan", "ene"}, {"Feb", "feb"}, {"Mar", "mar"}, {"Apr", "abr"}, {"May", "may"}, {"Jun", "jun"},
	{"Jul", "jul"}, {"Aug", "ago"}, {"Sep", "sep"}, {"Oct", "oct"}, {"Nov", "nov"}, {"Dec", "dic"},
}

var weekdays = [7]Text{
	{"Sunday", "domingo"}, {"Monday", "lunes"}, {"Tuesday", "martes"}, {"Wednesday", "miércoles"},
	{"Thursday", "jueves"}, {"Friday", "viernes"}, {"Saturday", "sábado"},
}

// Months returns the short names of the months, for charts.
func Months(l Lang) (out [12]string) {
	for i, m := range shortMonths {
		out[i] = m.In(l)
	}
	return out
}

// Weekday returns the name of the day of the week.
func Weekday(l Lang, d time.Weekday) string { return weekdays[d].In(l) }

// Date returns "Monday 3 March", or in Spanish "lunes 3 de marzo".
func Date(l Lang, d rom.Date) string {
	t := d.Time()
	month := months[t.Month()-1].In(l)
	if l == Spanish {
		month = "de " + month
	}
	return fmt.Sprintf("%s %d %s", Weekday(l, t.Weekday()), t.Day(), month)
}

// ShortDate returns "3 Mar".
func ShortDate(l Lang, d rom.Date) string {
	t := d.Time()
	return strconv.Itoa(t.Day()) + " " + shortMonths[t.Month()-1].In(l)
}

var (
	today     = Text{"today", "hoy"}
	yesterday = Text{"yesterday", "ayer"}
	tomorrow  = Text{"tomorrow", "mañana"}
	onDay     = Text{"on %s", "el %s"}
	dayAtHour = Text{"%s at %s", "%s a las %s"}
)

// Day returns "today", "yesterday", "tomorrow" or "on Monday 3 March".
func Day(l Lang, d, now rom.Date) string {
	switch d.Sub(now) {
	case 0:
		return today.In(l)
	case -1:
		return yesterday.In(l)
	case 1:
		return tomorrow.In(l)
	}
	return onDay.With(l, Date(l, d))
}

// Hour returns "9:05", on the clock of 24 hours.
func Hour(t time.Time) string { return t.Format("15:04") }

// Moment returns "today at 9:05".
func Moment(l Lang, t, now time.Time) string {
	return dayAtHour.With(l, Day(l, rom.DateOf(t), rom.DateOf(now)), Hour(t))
}
