package clinic

import (
	"fmt"
	"maps"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"unsling/app/words"
	"unsling/engine/rom"
	"unsling/server/access"
	"unsling/server/ledger"
)

// Keys of the clinic's settings that this file reads and writes.
const (
	settingTherapy  = "therapy_days"   // weekdays as numbers, "1,3,5"
	settingHolidays = "holidays"       // one a line, "2026-12-24 2027-01-01"
	settingLangs    = "langs"          // the first is offered first, "en,es"
	settingUrgent   = "emergency_says" // one or two sentences beside the emergency number
)

// Bounds of what is set here.
const (
	holidaysMost = 8
	urgentMost   = 200 // letters
)

// therapyDefault are the weekdays of therapy that enrolling begins with.
// Three supervised days a week is common practice, no source.
func therapyDefault(c ledger.Clinic) []string {
	if s, ok := c.Settings[settingTherapy]; ok {
		return strings.FieldsFunc(s, func(r rune) bool { return r == ',' })
	}
	return []string{"1", "3", "5"}
}

// langsOffered are the languages that a phone can be enrolled in here.
func langsOffered(c ledger.Clinic) (out []words.Lang) {
	for s := range strings.SplitSeq(c.Settings[settingLangs], ",") {
		if l := words.Lang(s); slices.Contains(words.Langs, l) && !slices.Contains(out, l) {
			out = append(out, l)
		}
	}
	if len(out) == 0 {
		return words.Langs
	}
	return out
}

// langChoices are those languages as a form shows them.
func langChoices(c ledger.Clinic) (out [][2]string) {
	for _, l := range langsOffered(c) {
		out = append(out, [2]string{string(l), l.Name()})
	}
	return out
}

// holidays are the days on which the practice is closed, from today on: a plan
// that is made now carries them, and therapy days among them are home days.
func holidays(c ledger.Clinic, today rom.Date) (out []rom.Break) {
	all, _ := parseHolidays(c.Settings[settingHolidays])
	return slices.DeleteFunc(all, func(b rom.Break) bool { return b.To < today })
}

// parseHolidays reads one holiday a line: a day, or the first and the last. It
// returns the first line that it cannot read.
func parseHolidays(text string) (out []rom.Break, bad string) {
	for line := range strings.SplitSeq(text, "\n") {
		f := strings.Fields(line)
		if len(f) == 0 {
			continue
		}
		from, err := rom.ParseDate(f[0])
		to, err2 := rom.ParseDate(f[len(f)-1])
		if err != nil || err2 != nil || len(f) > 2 || to < from || to.Sub(from) > 60 {
			return nil, strings.TrimSpace(line)
		}
		out = append(out, rom.Break{From: from, To: to, Kind: rom.NoTherapy})
	}
	slices.SortFunc(out, func(a, b rom.Break) int { return a.From.Sub(b.From) })
	return out, ""
}

type customsPage struct {
	Days     []time.Weekday
	Therapy  []string
	Langs    []words.Lang
	Offered  []words.Lang
	First    words.Lang
	Holidays string
	Urgent   string
	Number   string
	Change   bool
}

// Day is how the form names a weekday.
func (p customsPage) Day(d time.Weekday) string { return strconv.Itoa(int(d)) }

// Offers reports whether a language is ticked.
func (p customsPage) Offers(l words.Lang) bool { return slices.Contains(p.Offered, l) }

// Unreviewed reports whether no clinician has signed the texts of l.
func (p customsPage) Unreviewed(l words.Lang) bool { return !words.Reviewed(l) }

// customsPage shows what the clinic begins with at each enrolment.
func (d *Desk) customsPage(v *visit) error { return v.customsShow(http.StatusOK, v.clinic, "") }

func (v *visit) customsShow(status int, c ledger.Clinic, problem string) error {
	offered := langsOffered(c)
	p := customsPage{Days: weekOrder, Therapy: therapyDefault(c), Langs: words.Langs, Offered: offered, First: offered[0],
		Holidays: c.Settings[settingHolidays], Urgent: c.Settings[settingUrgent], Number: v.contact(rom.Contact{Emergency: "112"}).Emergency, Change: v.may(access.SetClinic) == nil}
	return v.showWith(status, "customs", frame{Title: "Days, languages and wording", Here: "settings", Error: problem, Page: p})
}

// customs takes them. Plans in force are not touched.
func (d *Desk) customs(v *visit) error {
	if err := v.may(access.SetClinic); err != nil {
		return err
	}
	c := v.clinic
	if c.Settings = maps.Clone(c.Settings); c.Settings == nil {
		c.Settings = map[string]string{}
	}
	var days, langs []string
	for _, w := range weekOrder {
		if s := strconv.Itoa(int(w)); slices.Contains(v.r.PostForm["therapy"], s) {
			days = append(days, s)
		}
	}
	first := v.form("first")
	for _, l := range words.Langs {
		if slices.Contains(v.r.PostForm["langs"], string(l)) {
			langs = append(langs, string(l))
		}
	}
	problem := ""
	switch {
	case len(langs) == 0:
		problem = "Please offer at least one language."
	case !slices.Contains(langs, first):
		problem = "The language that is offered first must be one of those that are offered."
	default:
		langs = append([]string{first}, slices.DeleteFunc(langs, func(s string) bool { return s == first })...)
	}
	text := v.text("holidays")
	closed, bad := parseHolidays(text)
	switch {
	case problem != "":
	case bad != "":
		problem = fmt.Sprintf("Holidays: %q is not a day, or a first and a last day at most 60 days later. Write it as 2026-12-24 or 2026-12-24 2027-01-01.", bad)
	case len(closed) > holidaysMost:
		problem = fmt.Sprintf("These are more than %d holidays. Take out those that are over.", holidaysMost)
	case len([]rune(v.form("urgent"))) > urgentMost:
		problem = fmt.Sprintf("The wording is too long. Please say it in %d letters.", urgentMost)
	}
	c.Settings[settingTherapy], c.Settings[settingLangs] = strings.Join(days, ","), strings.Join(langs, ",")
	c.Settings[settingHolidays], c.Settings[settingUrgent] = text, v.form("urgent")
	if problem != "" {
		return v.customsShow(http.StatusUnprocessableEntity, c, problem)
	}
	if err := d.Store.SetClinic(c, v.trail()); err != nil {
		return err
	}
	return v.back("/clinic/customs", "settings")
}
