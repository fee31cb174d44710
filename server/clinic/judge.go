package clinic

import (
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
		if !ok || c.Live() || !out.Live() {
			out, ok = c, true
		}
	}
	return out, ok
}

// judged keeps what was judged of a log up to a line on a day, so that a list
// of hundreds of patients is not judged again for every page.
type judged struct {
	mu   sync.Mutex
	rows map[rom.PatientID]judgedRow
}

type judgedRow struct {
	seq    int64
	day    rom.Date
	hour   int
	phones string
	file   file
}

// forget drops everything after a change of what is judged besides the log.
func (j *judged) forget() {
	j.mu.Lock()
	defer j.mu.Unlock()
	j.rows = nil
}

// open reads and judges one patient's log.
func (v *visit) open(row ledger.PanelRow) (file, error) {
	j := &v.desk.judged
	print := phonesPrint(row.Phones)
	j.mu.Lock()
	had, ok := j.rows[row.Patient.ID]
	j.mu.Unlock()
	if ok && had.seq == row.Facts.Seq && had.day == v.today && had.hour == v.minute/15 && had.phones == print {
		had.file.Patient = row.Patient
		return had.file, nil
	}
	f, err := v.judge(row)
	if err != nil {
		return file{}, err
	}
	j.mu.Lock()
	defer j.mu.Unlock()
	if j.rows == nil || len(j.rows) > 20_000 {
		j.rows = map[rom.PatientID]judgedRow{}
	}
	j.rows[row.Patient.ID] = judgedRow{row.Facts.Seq, v.today, v.minute / 15, print, f}
	return f, nil
}

func phonesPrint(phones []ledger.Author) string {
	s := ""
	for _, p := range phones {
		s += string(p.ID) + p.LastSeen.Format(time.RFC3339) + string(p.State) + p.FollowingSince.Format(time.RFC3339)
	}
	return s
}

func (v *visit) judge(row ledger.PanelRow) (file, error) {
	f := file{Patient: row.Patient, Phones: row.Phones}
	h, err := v.desk.History(row.Facts.Data)
	if err != nil {
		return file{}, err
	}
	f.History = h
	in, err := v.inputs(row.Phones, row.Patient.ID)
	if err != nil {
		return file{}, err
	}
	for _, p := range in.Phones {
		f.Contact = max(f.Contact, p.Contact)
	}
	for _, id := range h.EpisodeIDs() {
		e, _ := h.Episode(id)
		c := care{Episode: e, Day: schedule.On(h, id, v.today, v.minute, schedule.With{LastContact: f.Contact})}
		c.Plan, c.HasPlan = h.Plan(id)
		if c.Live() {
			c.Findings = review.Findings(h, id, v.today, in)
		}
		f.Episodes = append(f.Episodes, c)
	}
	return f, nil
}

// file opens the patient of this visit.
func (v *visit) file() (file, error) {
	facts, err := v.desk.Store.Facts(v.patient.ID)
	if err != nil {
		return file{}, err
	}
	phones, err := v.desk.Store.Authors(v.patient.ID)
	if err != nil {
		return file{}, err
	}
	return v.open(ledger.PanelRow{Patient: v.patient, Facts: facts, Phones: phones})
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

// inputs are the facts beside the log that the findings rest on.
func (v *visit) inputs(phones []ledger.Author, patient rom.PatientID) (review.Inputs, error) {
	in := review.Inputs{Hours: hoursOf(v.clinic), Minute: v.minute}
	for _, p := range phones {
		phone := review.Phone{Author: p.ID, Since: rom.DateOf(p.Enrolled.In(v.zone)), Following: p.Following, Revoked: p.State == ledger.Revoked}
		if !p.LastSeen.IsZero() {
			phone.Contact = rom.DateOf(p.LastSeen.In(v.zone))
		}
		in.Phones = append(in.Phones, phone)
	}
	held, err := v.desk.Store.Quarantine(patient)
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
