package clinic

import (
	"errors"
	"slices"
	"sync"
	"time"

	"unsling/engine/review"
	"unsling/engine/rom"
	"unsling/engine/schedule"
	"unsling/server/ledger"
)

// file is one patient with everything judged as of one instant.
type file struct {
	Patient  ledger.Patient
	History  rom.History
	Phones   []ledger.Author
	Episodes []care
	Contact  rom.Date // last contact of any phone; zero for never
	inputs   review.Inputs
}

// care is one episode of a file.
type care struct {
	Episode  rom.Episode
	Plan     rom.Plan
	HasPlan  bool
	Day      schedule.Day
	Findings []review.Finding
}

// Live reports whether anybody monitors the episode.
func (c care) Live() bool { return !c.Episode.State.Ended() }

// current returns the episode that a page shows: the one asked for, else the
// newest that has not ended, else the newest.
func (f file) current(id rom.EpisodeID) (care, bool) {
	var out care
	ok := false
	for _, c := range f.Episodes {
		if c.Episode.ID == id {
			return c, true
		}
		if id == "" && (!ok || c.Live() || !out.Live()) {
			out, ok = c, true
		}
	}
	return out, ok
}

// file opens the patient of this visit and judges it anew.
func (v *visit) file() (file, error) {
	facts, err := v.desk.Store.Facts(v.patient.ID)
	if err != nil {
		return file{}, err
	}
	phones, err := v.desk.Store.Authors(v.patient.ID)
	if err != nil {
		return file{}, err
	}
	return v.judge(ledger.PanelRow{Patient: v.patient, Facts: facts, Phones: phones})
}

func (v *visit) judge(row ledger.PanelRow) (file, error) {
	f := file{Patient: row.Patient, Phones: row.Phones}
	h, err := v.desk.History(row.Facts.Data)
	if err != nil {
		return file{}, err
	}
	f.History = h
	if f.inputs, err = v.inputsFor(row.Phones, row.Patient.ID); err != nil {
		return file{}, err
	}
	for _, p := range f.inputs.Phones {
		f.Contact = max(f.Contact, p.Contact)
	}
	for _, id := range h.EpisodeIDs() {
		e, _ := h.Episode(id)
		c := care{Episode: e, Day: schedule.On(h, id, v.today, v.minute, schedule.With{LastContact: f.Contact})}
		c.Plan, c.HasPlan = h.Plan(id)
		if c.Live() {
			if c.Findings, err = v.handOver(review.Findings(h, id, v.today, f.inputs)); err != nil {
				return file{}, err
			}
		}
		f.Episodes = append(f.Episodes, c)
	}
	return f, nil
}

func hoursOf(c ledger.Clinic) review.Hours {
	var h review.Hours
	for _, x := range c.Hours {
		if x.Day >= time.Sunday && x.Day <= time.Saturday {
			h.Week[x.Day] = review.Span{From: x.From, To: x.To}
		}
	}
	return h
}

// inputsFor are the facts beside the log that the findings rest on.
func (v *visit) inputsFor(phones []ledger.Author, patient rom.PatientID) (review.Inputs, error) {
	return v.desk.inputs(v.clinic, v.at, phones, patient)
}

// Inputs are the facts beside the log of a patient that the findings rest on
// now, as the pages take them, and the day at the clinic.
func (d *Desk) Inputs(patient rom.PatientID) (in review.Inputs, today rom.Date, err error) {
	c, err := d.Store.Clinic()
	if err != nil {
		return in, 0, err
	}
	phones, err := d.Store.Authors(patient)
	if err != nil {
		return in, 0, err
	}
	at := d.Now().In(zoneOf(c))
	in, err = d.inputs(c, at, phones, patient)
	return in, rom.DateOf(at), err
}

// inputs takes the time at the clinic.
func (d *Desk) inputs(c ledger.Clinic, at time.Time, phones []ledger.Author, patient rom.PatientID) (review.Inputs, error) {
	in := review.Inputs{Hours: hoursOf(c), Minute: at.Hour()*60 + at.Minute()}
	for _, p := range phones {
		phone := review.Phone{Author: p.ID, Since: rom.DateOf(p.Enrolled.In(at.Location())), Following: p.Following, Revoked: p.State == ledger.Revoked}
		if !p.LastSeen.IsZero() {
			phone.Contact = rom.DateOf(p.LastSeen.In(at.Location()))
		}
		in.Phones = append(in.Phones, phone)
	}
	held, err := d.Store.Quarantine(patient)
	if err != nil {
		return in, err
	}
	for _, q := range held {
		if q.Kind == ledger.Forked {
			in.Forked = true
		} else {
			in.Quarantined++
		}
	}
	return in, nil
}

// judged keeps what the watch list shows of a log up to a line, so that a
// list of hundreds of patients is not judged again for every page. It keeps
// no histories: they would fill the memory of a small machine.
type judged struct {
	mu   sync.Mutex
	rows map[rom.PatientID]judgedRow
}

type judgedRow struct {
	seq    int64
	day    rom.Date
	held   int // lines set aside
	phones string
	from   int  // minute of day when it was judged
	until  int  // first minute of day at which time alone may change it
	ended  bool // nobody watches any more: no day changes it
	briefs []brief
}

const judgedMost = 20_000

// forget drops everything after a change of what is judged besides the logs.
func (j *judged) forget() {
	j.mu.Lock()
	defer j.mu.Unlock()
	j.rows = nil
}

func (j *judged) get(id rom.PatientID) (judgedRow, bool) {
	j.mu.Lock()
	defer j.mu.Unlock()
	row, ok := j.rows[id]
	return row, ok
}

func (j *judged) put(id rom.PatientID, row judgedRow) {
	j.mu.Lock()
	defer j.mu.Unlock()
	if j.rows == nil || len(j.rows) >= judgedMost {
		j.rows = map[rom.PatientID]judgedRow{}
	}
	j.rows[id] = row
}

// panelBriefs judges a panel, what is new of it on all processors. The result
// has the order of the panel.
func (v *visit) panelBriefs(panel []ledger.PanelRow) ([][]brief, error) {
	out := make([][]brief, len(panel))
	var stale []int
	for i := range panel {
		if had, ok := v.fresh(panel[i]); ok {
			out[i] = had.briefs
			continue
		}
		stale = append(stale, i)
	}
	err := inParallel(len(stale), func(n int) (err error) {
		i := stale[n]
		out[i], err = v.judgeBriefs(panel[i])
		return err
	})
	if err != nil {
		return nil, err
	}
	return out, nil
}

// fresh returns what is kept of a patient if it still holds.
func (v *visit) fresh(row ledger.PanelRow) (judgedRow, bool) {
	had, ok := v.desk.judged.get(row.Patient.ID)
	return had, ok && had.seq == row.Facts.Seq && had.held == row.Quarantined && had.phones == phonesPrint(row.Phones) &&
		(had.ended || had.day == v.today && had.from <= v.minute && v.minute < had.until)
}

func (v *visit) judgeBriefs(row ledger.PanelRow) ([]brief, error) {
	facts, err := v.desk.Store.Facts(row.Patient.ID)
	if errors.Is(err, ledger.ErrErased) {
		return nil, nil // since the list was read
	} else if err != nil {
		return nil, err
	}
	row.Facts = facts
	f, err := v.judge(row)
	if err != nil {
		return nil, err
	}
	keep := judgedRow{
		seq: row.Facts.Seq, day: v.today, held: row.Quarantined, phones: phonesPrint(row.Phones), from: v.minute, until: 24 * 60,
		ended: !slices.ContainsFunc(f.Episodes, care.Live),
	}
	// The hours of the day at which something falls due: the clinic's own,
	// and those of the findings.
	edges := []int{hoursOf(v.clinic).Week[v.today.Weekday()].From, hoursOf(v.clinic).Week[v.today.Weekday()].To}
	for _, c := range f.Episodes {
		keep.briefs = append(keep.briefs, briefOf(f, c))
		for _, x := range c.Findings {
			if x.By.On == v.today {
				edges = append(edges, x.By.Minute)
			}
		}
	}
	for _, at := range edges {
		if at > v.minute {
			keep.until = min(keep.until, at)
		}
	}
	v.desk.judged.put(row.Patient.ID, keep)
	return keep.briefs, nil
}

// phonesPrint changes whenever something of the phones does that is judged.
func phonesPrint(phones []ledger.Author) string {
	b := make([]byte, 0, 64*len(phones))
	for _, p := range phones {
		b = append(b, p.ID...)
		b = append(b, p.State...)
		b = p.LastSeen.AppendFormat(b, time.RFC3339)
		b = p.FollowingSince.AppendFormat(b, time.RFC3339)
	}
	return string(b)
}
