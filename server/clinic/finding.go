package clinic

import (
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strings"

	"unsling/engine/review"
	"unsling/engine/rom"
	"unsling/server/access"
	"unsling/server/ledger"
	"unsling/sync/wire"
)

var actNames = map[rom.TaskAct]string{
	rom.TaskSeen: "seen", rom.TaskAssign: "assigned", rom.TaskCall: "called and talked", rom.TaskTried: "called, nobody answered",
	rom.TaskSnooze: "quiet until a date", rom.TaskDone: "closed", rom.TaskReopen: "opened again", rom.TaskComment: "comment",
}

func actName(a rom.TaskAct) string { return name(actNames, a) }

type findingPage struct {
	Care care
	F    findingView
	Base string
	Team []ledger.Staff
}

// findingPage shows one finding with its numbers, its card and its acts.
func (d *Desk) findingPage(v *visit) error {
	_, c, x, err := v.finding()
	if err != nil {
		return err
	}
	return v.findingShow(http.StatusOK, c, x, "")
}

func (v *visit) findingShow(status int, c care, x review.Finding, problem string) error {
	names, err := v.staffNames()
	if err != nil {
		return err
	}
	team, err := v.teamRows()
	if err != nil {
		return err
	}
	p := findingPage{c, v.findingView(x, names), "/clinic/patients/" + string(v.patient.ID), team}
	return v.showWith(status, "finding", frame{Title: "Finding, " + v.patient.Name, Error: problem, Page: p})
}

// teamRows are the people of the care team who can act.
func (v *visit) teamRows() ([]ledger.Staff, error) {
	all, err := v.desk.Store.AllStaff()
	if err != nil {
		return nil, err
	}
	return slices.DeleteFunc(all, func(s ledger.Staff) bool {
		return s.Disabled || !slices.ContainsFunc(v.team, func(m ledger.Member) bool { return m.Staff == s.ID })
	}), nil
}

func (v *visit) finding() (file, care, review.Finding, error) {
	f, c, err := v.care()
	if err != nil {
		return file{}, care{}, review.Finding{}, err
	}
	key := v.r.FormValue("key")
	for _, x := range c.Findings {
		if x.Key == key {
			return f, c, x, nil
		}
	}
	return file{}, care{}, review.Finding{}, refuse(http.StatusNotFound, "This finding does not stand any more: its facts have changed. Look at the patient's page.")
}

// findingAct records what a person did about a finding, for the finding as it
// stood on the person's screen: if it has changed since, it stays open.
func (d *Desk) findingAct(v *visit) error {
	f, c, x, err := v.finding()
	if err != nil {
		return err
	}
	drafts, err := v.findingDrafts(f, c, x)
	var s *sorry
	if errors.As(err, &s) {
		return v.findingShow(s.status, c, x, s.text)
	} else if err != nil {
		return err
	}
	lines, err := v.desk.Store.Append(v.patient.ID, drafts, nil, v.trail())
	if err != nil {
		return err
	}
	to := "/clinic/patients/" + string(v.patient.ID) + "?episode=" + string(c.Episode.ID)
	if v.form("from") == fromList {
		to = v.listAddress("q")
	}
	return v.backUndo(to, "finding", rom.Ref{Author: lines[0].Author, N: lines[0].N})
}

// longestSnooze is how many days a finding can be kept quiet.
const longestSnooze = 60

func (v *visit) findingDrafts(f file, c care, x review.Finding) ([]ledger.Draft, error) {
	t := rom.Task{Episode: c.Episode.ID, Finding: x.Key, State: v.form("state"), Act: rom.TaskAct(v.form("act")), Text: v.text("text"), By: v.staff.ID, On: v.today}
	if t.State == "" {
		t.State = x.Fingerprint
	}
	act := access.TakeFinding
	card := review.CardFor(x.Class)
	var err error
	switch t.Act {
	case rom.TaskCall, rom.TaskTried:
		act = access.RecordCall
	case rom.TaskDone, rom.TaskSnooze:
		act = access.CloseFinding
		if card.MayClose(review.Assistant) {
			act = access.CloseOffice
		}
	case rom.TaskAssign:
		t.To = rom.StaffID(v.form("to"))
	case rom.TaskSeen, rom.TaskComment, rom.TaskReopen:
	default:
		return nil, refuse(http.StatusUnprocessableEntity, "Please choose what was done about this.")
	}
	if t.Act == rom.TaskSnooze || t.Act == rom.TaskAssign {
		if t.Until, err = v.dateField("until", "The date"); err != nil {
			return nil, err
		}
	}
	if err := v.may(act); err != nil {
		return nil, err
	}
	switch {
	case (t.Act == rom.TaskDone || t.Act == rom.TaskSnooze) && !card.MayClose(review.Role(v.staff.Role)):
		return nil, refuse(http.StatusForbidden, "Not possible: this finding is closed by "+orList(card.Closes)+".")
	case (t.Act == rom.TaskDone || t.Act == rom.TaskComment || t.Act == rom.TaskReopen) && t.Text == "":
		return nil, refuse(http.StatusUnprocessableEntity, "Please say in a few words what was done.")
	case t.Act == rom.TaskSnooze && (t.Until <= v.today || t.Until.Sub(v.today) > longestSnooze):
		return nil, refuse(http.StatusUnprocessableEntity, fmt.Sprintf("Please give a date within the next %d days.", longestSnooze))
	case t.Act == rom.TaskAssign && !slices.ContainsFunc(v.team, func(m ledger.Member) bool { return m.Staff == t.To }):
		return nil, refuse(http.StatusUnprocessableEntity, "Please choose somebody of the care team.")
	case t.Act == rom.TaskAssign && !t.Until.IsZero() && t.Until < v.today:
		return nil, refuse(http.StatusUnprocessableEntity, "The date lies in the past.")
	case len([]rune(t.Text)) > 1000:
		return nil, refuse(http.StatusUnprocessableEntity, "The text is too long. Please say it in 1000 letters.")
	}
	dr, err := v.draft(wire.KindTask, t)
	if err != nil {
		return nil, err
	}
	seen, err := v.seenDrafts(f, x.Records)
	return append([]ledger.Draft{dr}, seen...), err
}

func orList(roles []review.Role) string {
	var out []string
	for _, r := range roles {
		out = append(out, "the "+string(r))
	}
	return strings.Join(out, " or ")
}

// seenDrafts tell the phone that its reports were read, and by whom: once for
// each report of the patient among refs that nobody has opened yet.
func (v *visit) seenDrafts(f file, refs []rom.Ref) ([]ledger.Draft, error) {
	read := map[rom.Ref]bool{}
	for _, s := range f.History.Seens {
		if s.Body.By != "" {
			read[s.Body.What] = true
		}
	}
	var out []ledger.Draft
	for _, ref := range refs {
		if ref.Author.FromClinic() || read[ref] {
			continue
		}
		read[ref] = true
		dr, err := v.draft(wire.KindSeen, rom.Seen{What: ref, By: v.staff.ID, Signed: v.signature()})
		if err != nil {
			return nil, err
		}
		out = append(out, dr)
	}
	return out, nil
}
