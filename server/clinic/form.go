package clinic

import (
	"errors"
	"fmt"
	"mime"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"unicode"

	"unsling/engine/rom"
)

// maxBody bounds what one form may send; the largest, a plan of many phases,
// has about 20 KiB.
const maxBody = 256 << 10

// takeForm reads a posted form. Every address of the desk takes this one kind
// of content.
func takeForm(r *http.Request) error {
	kind, _, err := mime.ParseMediaType(r.Header.Get("Content-Type"))
	if kind == "multipart/form-data" && r.URL.Path == importPath {
		err := r.ParseMultipartForm(importBody)
		var tooBig *http.MaxBytesError
		switch {
		case errors.As(err, &tooBig):
			return refuse(http.StatusRequestEntityTooLarge, "The file is larger than 1 MiB. Nothing was changed. Please divide it.")
		case err != nil:
			return refuse(http.StatusBadRequest, "The form could not be read. Please go back and send it again.")
		}
		return nil
	}
	if r.ContentLength != 0 && (err != nil || kind != "application/x-www-form-urlencoded") {
		return refuse(http.StatusUnsupportedMediaType, "This address takes only the forms of these pages.")
	}
	err = r.ParseForm()
	var tooBig *http.MaxBytesError
	if err != nil && !errors.As(err, &tooBig) {
		return refuse(http.StatusBadRequest, "The form could not be read. Please go back and send it again.")
	}
	return err
}

// form returns a posted field as one line.
func (v *visit) form(name string) string { return oneLine(v.r.PostFormValue(name)) }

// text returns a posted field with its line breaks.
func (v *visit) text(name string) string {
	return trim(strings.Map(printable, strings.ReplaceAll(strings.ToValidUTF8(v.r.PostFormValue(name), "\uFFFD"), "\r\n", "\n")))
}

// oneLine takes out what nobody types: control characters, and the marks that
// turn the direction of writing, with which a name could pass for another.
func oneLine(s string) string {
	s = strings.Map(printable, strings.ToValidUTF8(s, "\uFFFD"))
	return strings.Join(strings.Fields(s), " ")
}

func printable(r rune) rune {
	switch {
	case r == '\n' || r == '\t':
		return r
	case unicode.IsControl(r), r >= 0x202A && r <= 0x202E, r >= 0x2066 && r <= 0x2069:
		return -1
	}
	return r
}

func trim(s string) string { return strings.TrimSpace(s) }

// number reads a posted whole number within bounds.
func (v *visit) number(name, what string, low, high int) (int, error) {
	n, err := strconv.Atoi(v.form(name))
	if err != nil || n < low || n > high {
		return 0, refuse(http.StatusUnprocessableEntity, fmt.Sprintf("%s: %q is not a whole number from %d to %d.", what, v.form(name), low, high))
	}
	return n, nil
}

// dateField reads a posted date; zero when it is empty.
func (v *visit) dateField(name, what string) (rom.Date, error) {
	s := v.form(name)
	if s == "" {
		return 0, nil
	}
	d, err := rom.ParseDate(s)
	if err != nil {
		return 0, refuse(http.StatusUnprocessableEntity, fmt.Sprintf("%s: %q is not a date. Write it as 2026-01-31.", what, s))
	}
	return d, nil
}

// episodeOf is the episode that an address names in its query.
func (v *visit) episodeOf() rom.EpisodeID { return rom.EpisodeID(v.r.URL.Query().Get("episode")) }

// posted reports whether the page is a form that came back, and which of
// several forms of the page it was (act, "" for the only one).
func (f frame) posted(act string) bool {
	return f.visit != nil && f.visit.r.Method == http.MethodPost && (act == "" || f.visit.r.PostForm.Get("act") == act)
}

// Posted reports whether the page is a form that came back.
func (f frame) Posted() bool { return f.posted("") }

// OpenedLimit reports whether a motion that the phase locks was given a class
// in a form that came back, so that the page shows the rows of locked motions.
func (f frame) OpenedLimit(at string, ph rom.Phase) bool {
	return f.posted("") && slices.ContainsFunc(rom.Motions, func(m rom.Motion) bool {
		class := f.visit.r.PostForm.Get(at + "l." + string(m) + ".class")
		return ph.Limit(m).Class == rom.Locked && class != "" && class != rom.Locked.String()
	})
}

// Typed returns what was typed into a field of a form that came back, else
// the value that the page would show.
func (f frame) Typed(act, field string, otherwise any) string {
	if f.posted(act) && f.visit.r.PostForm.Has(field) {
		return strings.ToValidUTF8(f.visit.r.PostForm.Get(field), "\uFFFD")
	}
	return fmt.Sprint(otherwise)
}

// Ticked is Typed for boxes and choices.
func (f frame) Ticked(act, field string, value any, otherwise bool) bool {
	if f.posted(act) {
		return slices.Contains(f.visit.r.PostForm[field], fmt.Sprint(value))
	}
	return otherwise
}

// Once is the token of one form, see onces.
func (f frame) Once() string {
	if f.visit == nil {
		return ""
	}
	return f.visit.desk.onceFor(f.visit.staff.ID)
}
