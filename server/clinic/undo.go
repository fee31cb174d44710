package clinic

import (
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"

	"unsling/engine/rom"
	"unsling/server/access"
	"unsling/sync/wire"
)

// undoLife is how long a person may take back an act of the same day without
// giving a reason. Later it is corrected like any other record.
const undoLife = 24 * time.Hour

// fromList marks the forms of the watch list, after which the person is sent
// back there.
const fromList = "list"

// undoing is an act that the page offers to take back.
type undoing struct {
	Ref  rom.Ref
	To   string // address of the form
	Back string // where the person is sent afterwards
}

// backUndo is back with an offer to take the act back.
func (v *visit) backUndo(to, what string, ref rom.Ref) error {
	sep := "?"
	if strings.Contains(to, "?") {
		sep = "&"
	}
	return v.back(to+sep+url.Values{"undo": {string(ref.Author) + "." + strconv.FormatInt(ref.N, 10)}, "of": {string(v.patient.ID)}}.Encode(), what)
}

// For is the patient whom the forms of a page are about. A form that arrives
// at another patient's address is refused.
func (f frame) For() string {
	if f.visit == nil {
		return ""
	}
	return string(f.visit.patient.ID)
}

// FromList reports whether a page was opened from the watch list, to which
// its form goes back.
func (f frame) FromList() bool { return f.visit != nil && f.visit.r.FormValue("from") == fromList }

// ListQuery is the filter of the watch list from which the page was opened.
func (f frame) ListQuery() string { return oneLine(f.visit.r.FormValue("q")) }

// undoing reads the offer out of the page's address.
func (v *visit) undoing() *undoing {
	q := v.r.URL.Query()
	author, num, _ := strings.Cut(q.Get("undo"), ".")
	n, err := strconv.ParseInt(num, 10, 64)
	if err != nil || author == "" || n < 1 || q.Get("of") == "" {
		return nil
	}
	back := ""
	if v.r.URL.Path == "/clinic/" {
		back = fromList
	}
	return &undoing{rom.Ref{Author: rom.Author(author), N: n}, "/clinic/patients/" + url.PathEscape(q.Get("of")) + "/undo", back}
}

// listAddress is the watch list as the person had it: what the form carries
// is read as a filter and written again, so that it leads nowhere else.
func (v *visit) listAddress(field string) string {
	q, err := url.ParseQuery(v.r.PostFormValue(field))
	if err != nil {
		return "/clinic/"
	}
	f := readFilter(q).values()
	if len(f) == 0 {
		return "/clinic/"
	}
	return "/clinic/?" + f.Encode()
}

// undo takes back an act upon a finding by a record that voids it. Both stay
// in the log.
func (d *Desk) undo(v *visit) error {
	f, err := v.file()
	if err != nil {
		return err
	}
	n, _ := strconv.ParseInt(v.form("n"), 10, 64)
	ref := rom.Ref{Author: rom.Author(v.form("author")), N: n}
	i := slices.IndexFunc(f.History.Tasks, func(t rom.Entry[rom.Task]) bool { return t.Ref == ref })
	switch {
	case slices.Contains(f.History.Voided, ref):
		return refuse(http.StatusConflict, "This was taken back already.")
	case i < 0:
		return refuse(http.StatusNotFound, "There is no such act to take back.")
	}
	task := f.History.Tasks[i]
	if task.Body.By != v.staff.ID {
		return refuse(http.StatusForbidden, "Only the person who did this can undo it. A clinician can correct it under “Every record”, with a reason.")
	}
	if v.at.Sub(task.At) > undoLife {
		return refuse(http.StatusConflict, "This was done more than a day ago. A clinician can correct it under “Every record”, with a reason.")
	}
	if err := v.may(access.TakeFinding); err != nil {
		return err
	}
	if err := v.record(wire.KindVoid, rom.Void{Target: ref, Reason: "undone by " + string(v.staff.ID) + ", who did it"}); err != nil {
		return err
	}
	if v.form("back") == fromList {
		return v.back(v.listAddress("q"), "undone")
	}
	return v.back("/clinic/patients/"+string(v.patient.ID)+"?episode="+url.QueryEscape(string(task.Body.Episode)), "undone")
}
