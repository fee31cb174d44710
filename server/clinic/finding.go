package clinic

import (
	"net/http"

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

// officeClasses may be closed by the assistant: they are about reaching
// somebody, not about the shoulder.
var officeClasses = map[review.Class]bool{review.Silent: true, review.CallOverdue: true, review.ClockWrong: true, review.PlanOld: true}

type findingPage struct {
	Care  care
	F     findingView
	Home  string
	Staff []ledger.Staff
}

// findingPage shows one finding with its numbers, its card and its acts.
func (d *Desk) findingPage(v *visit) error {
	_, c, x, err := v.finding()
	if err != nil {
		return err
	}
	names, err := v.staffNames()
	if err != nil {
		return err
	}
	all, err := d.Store.AllStaff()
	if err != nil {
		return err
	}
	return v.show("finding", "Finding", "", findingPage{c, v.findingView(x, names), "/clinic/patients/" + string(v.patient.ID), all})
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
	return file{}, care{}, review.Finding{}, refuse(http.StatusNotFound, "This finding does not stand any more.")
}

// findingAct records what a person did about a finding, for the finding as it
// stood on the person's screen: if it has changed since, it stays open.
func (d *Desk) findingAct(v *visit) error {
	f, c, x, err := v.finding()
	if err != nil {
		return err
	}
	t := rom.Task{Episode: c.Episode.ID, Finding: x.Key, State: v.form("state"), Act: rom.TaskAct(v.form("act")),
		To: rom.StaffID(v.form("to")), Text: v.form("text"), By: v.staff.ID, On: v.today}
	if t.State == "" {
		t.State = x.Fingerprint
	}
	if t.Until, err = v.dateField("until", "Quiet until"); err != nil {
		return err
	}
	act := access.TakeFinding
	switch t.Act {
	case rom.TaskCall, rom.TaskTried:
		act = access.RecordCall
	case rom.TaskDone, rom.TaskSnooze:
		act = access.CloseFinding
		if officeClasses[x.Class] {
			act = access.CloseOffice
		}
	}
	if err := v.may(act); err != nil {
		return err
	}
	if t.Act == rom.TaskDone && t.Text == "" {
		return refuse(http.StatusUnprocessableEntity, "Please say in a few words how this was settled.")
	}
	if t.Act == rom.TaskSnooze && (t.Until <= v.today || t.Until.Sub(v.today) > 60) {
		return refuse(http.StatusUnprocessableEntity, "Please give a date within the next 60 days.")
	}
	dr, err := v.draft(wire.KindTask, t)
	if err != nil {
		return err
	}
	drafts := []ledger.Draft{dr}
	seen, err := v.seenDrafts(f, x.Records)
	if err != nil {
		return err
	}
	if err := v.write(nil, append(drafts, seen...)...); err != nil {
		return err
	}
	return v.back("/clinic/patients/"+string(v.patient.ID)+"?episode="+string(c.Episode.ID), "finding")
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
		dr, err := v.draft(wire.KindSeen, rom.Seen{What: ref, By: v.staff.ID})
		if err != nil {
			return nil, err
		}
		out = append(out, dr)
	}
	return out, nil
}
