package cases

import (
	"sync"
	"time"

	"unsling/engine/review"
	"unsling/engine/rom"
	"unsling/engine/schedule"
	"unsling/server/ledger"
)

// Store is what of the ledger a judgement reads.
type Store interface {
	Facts(rom.PatientID) (ledger.Facts, error)
	Authors(rom.PatientID) ([]ledger.Author, error)
	Quarantine(rom.PatientID) ([]ledger.Quarantined, error)
	AllStaff() ([]ledger.Staff, error)
}

// Source is where judgements come from. It is safe for use by several goroutines.
type Source struct {
	Store   Store
	History func([]byte) (rom.History, error) // reads the facts that the ledger's fold made
}

// AsOf judges as of one minute at a clinic. It is safe for use by several goroutines.
type AsOf struct {
	At     time.Time // at the clinic
	Today  rom.Date  // at the clinic
	Minute int       // of Today, at the clinic
	Clinic ledger.Clinic

	from Source
	left func() (map[rom.StaffID]bool, error) // who left the clinic, read once
}

// AsOf is the minute of at in the clinic's zone.
func (s Source) AsOf(clinic ledger.Clinic, at time.Time) AsOf {
	local := at.In(Zone(clinic))
	a := AsOf{At: local, Today: rom.DateOf(local), Minute: local.Hour()*60 + local.Minute(), Clinic: clinic, from: s}
	a.left = sync.OnceValues(func() (map[rom.StaffID]bool, error) {
		staff, err := s.Store.AllStaff()
		left := map[rom.StaffID]bool{}
		for _, x := range staff {
			if x.Disabled {
				left[x.ID] = true
			}
		}
		return left, err
	})
	return a
}

// Zone is the zone that the clinic goes by, UTC where it is not known.
func Zone(c ledger.Clinic) *time.Location {
	zone, err := time.LoadLocation(c.Zone)
	if err != nil {
		return time.UTC
	}
	return zone
}

// Hours are the clinic's hours as the engine takes them.
func Hours(c ledger.Clinic) review.Hours {
	var h review.Hours
	for _, x := range c.Hours {
		if x.Day >= time.Sunday && x.Day <= time.Saturday {
			h.Week[x.Day] = review.Span{From: x.From, To: x.To}
		}
	}
	return h
}

// Of reads one patient and judges every episode. It returns ledger.ErrErased for somebody who is gone.
func (a AsOf) Of(p ledger.Patient) (Case, error) {
	phones, err := a.from.Store.Authors(p.ID)
	if err != nil {
		return Case{}, err
	}
	return a.Row(ledger.PanelRow{Patient: p, Phones: phones})
}

// Row is Of for a row of a panel, whose phones are read already. Facts are read anew.
func (a AsOf) Row(row ledger.PanelRow) (Case, error) {
	c, err := a.Read(row)
	if err != nil {
		return Case{}, err
	}
	for _, id := range c.History.EpisodeIDs() {
		e, _ := c.History.Episode(id)
		x := Care{Episode: e, Day: schedule.On(c.History, id, a.Today, a.Minute, schedule.With{LastContact: c.Contact})}
		x.Plan, x.HasPlan = c.History.Plan(id)
		if x.Live() {
			x.Findings = review.Findings(c.History, id, a.Today, c.Inputs)
			if err := a.handOver(x.Findings); err != nil {
				return Case{}, err
			}
		}
		c.Episodes = append(c.Episodes, x)
	}
	return c, nil
}

// Read is Row without judging the episodes.
func (a AsOf) Read(row ledger.PanelRow) (Case, error) {
	c := Case{Patient: row.Patient, Phones: row.Phones}
	facts, err := a.from.Store.Facts(row.Patient.ID)
	if err != nil {
		return Case{}, err
	}
	if c.History, err = a.from.History(facts.Data); err != nil {
		return Case{}, err
	}
	if c.Inputs, err = a.Inputs(row.Phones, row.Patient.ID); err != nil {
		return Case{}, err
	}
	for _, p := range c.Inputs.Phones {
		c.Contact = max(c.Contact, p.Contact)
	}
	return c, nil
}

// Inputs are the facts beside the log of a patient that the findings rest on.
func (a AsOf) Inputs(phones []ledger.Author, p rom.PatientID) (review.Inputs, error) {
	in := review.Inputs{Hours: Hours(a.Clinic), Minute: a.Minute}
	zone := a.At.Location()
	for _, x := range phones {
		phone := review.Phone{
			Author: x.ID, Since: rom.DateOf(x.Enrolled.In(zone)), Following: x.Following, Revoked: x.State == ledger.Revoked,
		}
		if !x.LastSeen.IsZero() {
			phone.Contact = rom.DateOf(x.LastSeen.In(zone))
		}
		in.Phones = append(in.Phones, phone)
	}
	held, err := a.from.Store.Quarantine(p)
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

// handOver gives the findings that somebody had who left the clinic to the deputy, whom a clinic that watches patients
// always has.
func (a AsOf) handOver(all []review.Finding) error {
	for i, x := range all {
		if x.Assigned == "" {
			continue
		}
		left, err := a.left()
		if err != nil {
			return err
		}
		if left[x.Assigned] {
			all[i].Assigned = a.Clinic.Deputy
		}
	}
	return nil
}
