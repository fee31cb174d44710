package clinic

import (
	"archive/zip"
	"bytes"
	"strconv"
	"strings"
	"time"

	"unsling/engine/rom"
	"unsling/server/formats/csv"
)

// tables are a patient's records, or those of many, as tables for other
// programs. Patients are named by the id of this program only.
type tables struct {
	episodes, readings, sessions, findings, plans csv.Table
}

const (
	byClinicOrSelf = "the clinic's record, or the patient's phone"
	byPlan         = "the plan, as a clinician wrote it"
)

func newTables() tables {
	who := []csv.Column{
		{Name: "patient", Means: "the patient, by the random id of this program", Unit: "text", Range: "", Source: "this program"},
		{Name: "episode", Means: "the episode of care, by its random id", Unit: "text", Range: "", Source: "this program"},
	}
	with := func(name string, more ...csv.Column) csv.Table {
		return csv.Table{Name: name, Columns: append(append([]csv.Column{}, who...), more...)}
	}
	return tables{
		episodes: with("episodes",
			csv.Column{Name: "state", Means: "how far the episode has come", Unit: "code", Range: "planned, confirmed, active, discharged, withdrawn", Source: "staff"},
			csv.Column{Name: "side", Means: "the operated shoulder", Unit: "code", Range: "left, right", Source: "staff, confirmed by two people"},
			csv.Column{Name: "procedures", Means: "what was done, the main one first, divided by semicolons", Unit: "code", Range: "the procedures of this program", Source: "staff, confirmed by the surgeon"},
			csv.Column{Name: "surgery", Means: "day 0; booked while planned", Unit: "date", Range: "2026-01-31", Source: "staff, confirmed by the surgeon"},
			csv.Column{Name: "confirmed", Means: "when the surgeon confirmed the operation", Unit: "date", Range: "", Source: "surgeon"},
			csv.Column{Name: "born_year", Means: "year of birth", Unit: "a", Range: "1900 and later", Source: "staff"},
			csv.Column{Name: "ended", Means: "when the episode ended", Unit: "date", Range: "", Source: "staff"},
		),
		readings: with("readings",
			csv.Column{Name: "record", Means: "the record: author and number", Unit: "text", Range: "", Source: "this program"},
			csv.Column{Name: "on", Means: "civil date of the reading", Unit: "date", Range: "", Source: byClinicOrSelf},
			csv.Column{Name: "written_at", Means: "when it was written, with the writer's own clock and offset", Unit: "RFC 3339", Range: "", Source: byClinicOrSelf},
			csv.Column{Name: "day", Means: "days since surgery; before it negative; empty without a date", Unit: "d", Range: "", Source: "computed"},
			csv.Column{Name: "side", Means: "the arm that was measured", Unit: "code", Range: "left, right", Source: byClinicOrSelf},
			csv.Column{Name: "operated", Means: "whether it is the operated arm", Unit: "code", Range: "yes, no", Source: "computed"},
			csv.Column{Name: "motion", Means: "the motion with its zero position; ER0 is at the side, ER20 and ER90 at that abduction, and they are never the same", Unit: "code", Range: motionList(), Source: byClinicOrSelf},
			csv.Column{Name: "class", Means: "who did the work", Unit: "code", Range: "passive, active-assisted, active", Source: byClinicOrSelf},
			csv.Column{Name: "method", Means: "how it was measured; photo is the on-screen protractor, eye is an estimate that counts for no change", Unit: "code", Range: "goniometer, inclinometer, photo, tilt, level, eye", Source: byClinicOrSelf},
			csv.Column{Name: "position", Means: "how the patient lay, sat or stood", Unit: "code", Range: "supine, seated, standing, side-lying, prone", Source: byClinicOrSelf},
			csv.Column{Name: "angle", Means: "the angle; empty for hand behind back", Unit: "deg", Range: "-60 to the motion's anatomical end", Source: byClinicOrSelf},
			csv.Column{Name: "standard_error", Means: "its standard error; one standard error either way holds about two in three repeats", Unit: "deg", Range: "0 to 90", Source: "method and spread of the trials"},
			csv.Column{Name: "level", Means: "how high the thumb reaches behind the back; empty for angles", Unit: "code", Range: "T1 to T12, L1 to L5, sacrum, buttock, thigh", Source: byClinicOrSelf},
			csv.Column{Name: "trials", Means: "how many measurements it is made of", Unit: "1", Range: "0 to 9", Source: byClinicOrSelf},
			csv.Column{Name: "glenohumeral", Means: "whether the scapula was held still; never compared with the whole arm", Unit: "code", Range: "yes, no", Source: byClinicOrSelf},
			csv.Column{Name: "anaesthetic", Means: "whether it was taken under anaesthetic", Unit: "code", Range: "yes, no", Source: "the clinic's record"},
			csv.Column{Name: "baseline", Means: "whether it was taken before surgery as a baseline", Unit: "code", Range: "yes, no", Source: byClinicOrSelf},
			csv.Column{Name: "pain", Means: "pain while measured", Unit: "{score}", Range: "0 to 10", Source: byClinicOrSelf},
			csv.Column{Name: "end_feel", Means: "what stopped the movement", Unit: "code", Range: "soft, firm, hard, empty", Source: "clinician"},
			csv.Column{Name: "by", Means: "the member of staff; empty for the patient's own reading", Unit: "text", Range: "", Source: "the clinic's record"},
			csv.Column{Name: "corrected", Means: "whether a later record corrected it; the row has what holds today", Unit: "code", Range: "yes, no", Source: "the clinic's record"},
		),
		sessions: with("sessions",
			csv.Column{Name: "record", Means: "the record: author and number", Unit: "text", Range: "", Source: "this program"},
			csv.Column{Name: "written_at", Means: "when the session ended, by the writer's own clock", Unit: "RFC 3339", Range: "", Source: byClinicOrSelf},
			csv.Column{Name: "due", Means: "the day for which it was asked", Unit: "date", Range: "", Source: byPlan},
			csv.Column{Name: "slot", Means: "which session of the day; 0 for one that was not asked", Unit: "1", Range: "0 to 24", Source: byPlan},
			csv.Column{Name: "phase", Means: "phase of the plan", Unit: "text", Range: "", Source: byPlan},
			csv.Column{Name: "exercise", Means: "one row for each exercise of the session", Unit: "code", Range: "the catalogue of this program", Source: byPlan},
			csv.Column{Name: "motion", Means: "the motion that it serves; empty for hand and scapula", Unit: "code", Range: motionList(), Source: byPlan},
			csv.Column{Name: "asked_repetitions", Means: "repetitions asked", Unit: "{repetitions}", Range: "1 to 100", Source: byPlan},
			csv.Column{Name: "asked_hold", Means: "seconds asked at the end range", Unit: "s", Range: "0 to 600", Source: byPlan},
			csv.Column{Name: "done_repetitions", Means: "repetitions long enough to count", Unit: "{repetitions}", Range: "0 to 100", Source: "the phone's timer, a tap, or a paper log"},
			csv.Column{Name: "held", Means: "seconds of all holds together", Unit: "s", Range: "", Source: "the phone's timer, a tap, or a paper log"},
			csv.Column{Name: "skipped", Means: "why the exercise was left out", Unit: "code", Range: "pain, tired, no-time, no-helper, afraid, no-place, stopped, narrowed, over-limit", Source: "the patient, or this program"},
			csv.Column{Name: "seconds", Means: "the whole session, pauses included", Unit: "s", Range: "0 to 86400", Source: "the phone"},
			csv.Column{Name: "pain_before", Means: "pain before the session", Unit: "{score}", Range: "0 to 10", Source: "the patient"},
			csv.Column{Name: "pain_worst", Means: "worst pain in the session", Unit: "{score}", Range: "0 to 10", Source: "the patient"},
			csv.Column{Name: "pain_after", Means: "pain after the session", Unit: "{score}", Range: "0 to 10", Source: "the patient"},
			csv.Column{Name: "ended", Means: "how it ended", Unit: "code", Range: "finished, stopped, interrupted, by-clinic", Source: "the patient, or this program"},
			csv.Column{Name: "stop", Means: "why the patient stopped", Unit: "code", Range: "too-much-pain, something-wrong, tired, no-time, other", Source: "the patient"},
			csv.Column{Name: "by", Means: "the member of staff who wrote it from paper; empty for a phone", Unit: "text", Range: "", Source: "the clinic's record"},
		),
		findings: with("findings",
			csv.Column{Name: "as_of", Means: "the day for which it was judged; findings are computed anew every day", Unit: "date", Range: "", Source: "computed"},
			csv.Column{Name: "finding", Means: "key of the finding within the episode", Unit: "text", Range: "", Source: "computed"},
			csv.Column{Name: "class", Means: "kind of finding", Unit: "code", Range: "", Source: "computed"},
			csv.Column{Name: "severity", Means: "how pressing", Unit: "code", Range: "", Source: "computed"},
			csv.Column{Name: "motion", Means: "the motion that it is about", Unit: "code", Range: motionList(), Source: "computed"},
			csv.Column{Name: "since", Means: "first day on which the rule held", Unit: "date", Range: "", Source: "computed"},
			csv.Column{Name: "says", Means: "the finding in one sentence with its numbers", Unit: "text", Range: "", Source: "computed"},
			csv.Column{Name: "rule", Means: "name of the rule", Unit: "text", Range: "", Source: "this program"},
			csv.Column{Name: "rule_source", Means: "where the rule comes from and how well it is known", Unit: "text", Range: "KEY read, memory, practice, derived or clinic", Source: "this program"},
			csv.Column{Name: "owner", Means: "whose it is", Unit: "code", Range: "roles of staff", Source: "this program"},
			csv.Column{Name: "answered", Means: "whether staff have answered it as it stands", Unit: "code", Range: "yes, no", Source: "staff"},
			csv.Column{Name: "overdue", Means: "whether it was not answered in time", Unit: "code", Range: "yes, no", Source: "computed"},
		),
		plans: with("plans",
			csv.Column{Name: "revision", Means: "number of the revision, rising", Unit: "1", Range: "1 and more", Source: "this program"},
			csv.Column{Name: "base", Means: "the revision that it replaces; 0 for the first", Unit: "1", Range: "0 and more", Source: "this program"},
			csv.Column{Name: "on", Means: "the day on which it was made", Unit: "date", Range: "", Source: "staff"},
			csv.Column{Name: "by", Means: "the member of staff", Unit: "text", Range: "", Source: "staff"},
			csv.Column{Name: "state", Means: "whether the plan asks anything", Unit: "code", Range: "running, paused, stopped", Source: "staff"},
			csv.Column{Name: "protocols", Means: "the protocols it was made from, with their versions, divided by semicolons", Unit: "text", Range: "", Source: "staff"},
			csv.Column{Name: "reason", Means: "why this revision was made", Unit: "text", Range: "", Source: "staff"},
			csv.Column{Name: "changes", Means: "what is different from the revision before, divided by semicolons; empty for the first", Unit: "text", Range: "", Source: "computed"},
		),
	}
}

func motionList() string {
	list := make([]string, len(rom.Motions))
	for i, m := range rom.Motions {
		list[i] = string(m)
	}
	return strings.Join(list, ", ")
}

// all are the tables with rows in the order of the files.
func (t *tables) all() []csv.Table {
	return []csv.Table{t.episodes, t.readings, t.sessions, t.findings, t.plans}
}

// tablesFile is tables under way: the rows of one patient at a time are
// packed and let go.
type tablesFile struct {
	tables
	files []*growing
}

func newTablesFile() (*tablesFile, error) {
	t := &tablesFile{tables: newTables()}
	readme := newGrowing("README.txt")
	if _, err := readme.Write([]byte(tablesReadme)); err != nil {
		return nil, err
	}
	for _, one := range t.all() {
		g := newGrowing(one.Name + ".csv")
		head := one
		head.Rows = nil
		text, err := head.Lines(true)
		if err == nil {
			_, err = g.Write(text)
		}
		if err != nil {
			return nil, err
		}
		t.files = append(t.files, g)
	}
	dict, err := csv.Dictionary(t.all()...).Bytes()
	if err != nil {
		return nil, err
	}
	last := newGrowing("dictionary.csv")
	if _, err := last.Write(dict); err != nil {
		return nil, err
	}
	t.files = append(t.files, last, readme)
	return t, nil
}

// patient packs everything of one patient.
func (t *tablesFile) patient(f file, today rom.Date) error {
	t.add(f, today)
	for i, one := range t.all() {
		text, err := one.Lines(false)
		if err == nil {
			_, err = t.files[i].Write(text)
		}
		if err != nil {
			return err
		}
	}
	for _, one := range []*csv.Table{&t.episodes, &t.readings, &t.sessions, &t.findings, &t.plans} {
		one.Rows = one.Rows[:0]
	}
	return nil
}

// bytes is the archive.
func (t *tablesFile) bytes() ([]byte, error) {
	var out bytes.Buffer
	z := zip.NewWriter(&out)
	for _, g := range t.files {
		if err := g.into(z); err != nil {
			return nil, err
		}
	}
	err := z.Close()
	return out.Bytes(), err
}

const tablesReadme = `Records as tables, for a spreadsheet or a statistics program.

episodes.csv, readings.csv, sessions.csv, findings.csv, plans.csv; what every
column means, its unit, its range and its source stands in dictionary.csv.
RFC 4180, UTF-8; open it as UTF-8. A cell that a spreadsheet would take for a
formula begins with an apostrophe. Records that were taken back are not here;
corrected ones stand as they are today. Findings are those of today.

Patients are named by an id of this program only; with dates, procedures and
reasons in them these files are still health data about people. Keep them as
the law demands. Unsling supports the clinic's judgement and makes no diagnosis.
`

func yes(b bool) string {
	if b {
		return "yes"
	}
	return "no"
}

func optional(n *int) string {
	if n == nil {
		return ""
	}
	return strconv.Itoa(*n)
}

func refText(r rom.Ref) string { return string(r.Author) + "/" + strconv.FormatInt(r.N, 10) }

// add appends everything of one patient.
func (t *tables) add(f file, today rom.Date) {
	id := string(f.Patient.ID)
	episodes := map[rom.EpisodeID]rom.Episode{}
	for _, c := range f.Episodes {
		e := c.Episode
		episodes[e.ID] = e
		procedures := make([]string, len(e.Procedures))
		for i, p := range e.Procedures {
			procedures[i] = string(p)
		}
		born := ""
		if e.BornYear > 0 {
			born = strconv.Itoa(e.BornYear)
		}
		t.episodes.Add(id, string(e.ID), string(e.State), string(e.Side), strings.Join(procedures, "; "), e.Surgery.String(), e.ConfirmedOn.String(), born, e.Ended.String())
		for _, x := range c.Findings {
			t.findings.Add(id, string(e.ID), today.String(), x.Key, string(x.Class), x.Severity.String(), string(x.Motion), x.Since.String(), x.Staff, x.Rule, x.Source.String(), string(x.Owner), yes(x.Quiet), yes(x.Overdue))
		}
	}
	for _, x := range f.History.Readings {
		t.reading(id, x, episodes[x.Body.Episode])
	}
	for _, x := range f.History.Sessions {
		t.session(id, x)
	}
	before := map[rom.EpisodeID]*rom.Plan{}
	for _, x := range f.History.Plans {
		p := x.Body
		var refs, changes []string
		for _, r := range p.Protocol {
			refs = append(refs, r.ID+" version "+strconv.Itoa(r.Version))
		}
		if old := before[p.Episode]; old != nil {
			for _, d := range old.Diff(p) {
				changes = append(changes, changeText(d))
			}
		}
		before[p.Episode] = &p
		t.plans.Add(id, string(p.Episode), strconv.Itoa(p.Rev), strconv.Itoa(p.Base), p.On.String(), string(p.By), string(p.State), strings.Join(refs, "; "), p.Reason, strings.Join(changes, "; "))
	}
}

func (t *tables) reading(id string, x rom.Entry[rom.Reading], e rom.Episode) {
	r, on := x.Body, readOn(x)
	day, angle, level := "", "", ""
	if !e.Surgery.IsZero() {
		day = strconv.Itoa(on.Sub(e.Surgery))
	}
	if r.Motion.ByLevel() {
		level = r.Level.String()
	} else {
		angle = r.Angle.String()
	}
	t.readings.Add(id, string(r.Episode), refText(x.Ref), on.String(), x.At.Format(time.RFC3339), day, string(r.Side), yes(r.Side == e.Side), string(r.Motion), r.Class.String(), string(r.Method), string(r.Position),
		angle, r.SE.String(), level, strconv.Itoa(len(r.Trials)), yes(r.Glenohumeral), yes(r.Anaesthetic), yes(r.Baseline), optional(r.Pain), string(r.EndFeel), string(r.By), yes(!x.Amended.IsZero()))
}

func (t *tables) session(id string, x rom.Entry[rom.Session]) {
	s := x.Body
	for _, it := range s.Items {
		done, tenths := 0, 0
		for _, h := range it.Holds {
			tenths += h.Tenths
			if h.Counted {
				done++
			}
		}
		t.sessions.Add(id, string(s.Episode), refText(x.Ref), x.At.Format(time.RFC3339), s.Due.String(), strconv.Itoa(s.Slot), s.Phase, string(it.Exercise), string(it.Motion), strconv.Itoa(it.Dose.Reps), strconv.Itoa(it.Dose.Hold),
			strconv.Itoa(done), rom.Degrees(tenths).String(), string(it.Skipped), strconv.Itoa(s.Seconds), optional(s.Before), optional(s.Worst), optional(s.After), string(s.Ended), string(s.Stop), string(s.By))
	}
}
