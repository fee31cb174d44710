package clinic

import (
	"errors"
	"net/http"

	"unsling/engine/rom"
	"unsling/server/access"
	"unsling/server/ledger"
	"unsling/sync/wire"
)

// heldPage shows what is kept beside the log: lines that contradict it or
// cannot be read, and what phones sent after they were taken out of service.
type heldPage struct {
	Care    care
	Base    string
	Lines   []heldLine
	Phones  []sealedPhone
	Release bool // this person may let sealed lines in
}

type heldLine struct {
	ledger.Quarantined
	Why  string
	Text string
}

type sealedPhone struct {
	Author ledger.Author
	Lines  []entry
}

// sealedMost bounds how many sealed lines are shown of one phone.
const sealedMost = 200

func (d *Desk) heldPage(v *visit) error {
	f, err := v.file()
	if err != nil {
		return err
	}
	return v.heldShow(http.StatusOK, f, "")
}

func (v *visit) heldShow(status int, f file, problem string) error {
	p := heldPage{Base: "/clinic/patients/" + string(v.patient.ID), Release: v.may(access.ReleaseSealed) == nil}
	p.Care, _ = f.Current(v.episodeOf())
	held, err := v.desk.Store.Quarantine(v.patient.ID)
	if err != nil {
		return err
	}
	for _, q := range held {
		l := heldLine{Quarantined: q, Why: "It cannot be read, or does not follow the line before it."}
		if q.Kind == ledger.Forked {
			l.Why = "Another record of the same number came first: two copies of one phone wrote."
		}
		if rec, err := wire.DecodeStored(q.Bytes); err == nil {
			if body, err := wire.DecodeBody(rec.Kind, rec.V, rec.Body); err == nil {
				l.Text, _ = recordText(body)
			}
		}
		l.At = q.At.In(v.zone)
		p.Lines = append(p.Lines, l)
	}
	for _, a := range f.Phones {
		if a.State != ledger.Revoked {
			continue
		}
		lines, err := v.desk.Store.Sealed(a.ID)
		if err != nil {
			return err
		}
		if len(lines) == 0 {
			continue
		}
		one := sealedPhone{Author: a}
		for _, l := range lines[:min(len(lines), sealedMost)] {
			e := entry{Ref: rom.Ref{Author: l.Author, N: l.N}, Fault: "cannot be read"}
			if rec, err := wire.DecodeStored(l.Bytes); err == nil {
				e.At, e.Kind = rec.At.In(v.zone), rec.Kind
				if body, err := wire.DecodeBody(rec.Kind, rec.V, rec.Body); err == nil {
					e.Text, _ = recordText(body)
					if e.Fault = notCounted(l.Author, rec.Kind, body); e.Fault != "" {
						e.Text += "; "
					}
				}
			}
			one.Lines = append(one.Lines, e)
		}
		p.Phones = append(p.Phones, one)
	}
	return v.showWith(status, "held", frame{Title: "Lines kept aside, " + v.patient.Name, Error: problem, Page: p})
}

// release lets what a phone sent after it was taken out of service into the
// record. Whoever does it says that the patient had the phone then.
func (d *Desk) release(v *visit) error {
	f, err := v.file()
	if err != nil {
		return err
	}
	a, err := d.Store.Author(rom.Author(v.form("author")))
	if err != nil && !errors.Is(err, ledger.ErrUnknown) {
		return err
	}
	if err != nil || a.Patient != v.patient.ID {
		return refuse(http.StatusNotFound, "This phone does not belong to this patient.")
	}
	if v.form("sure") != "yes" {
		return v.heldShow(http.StatusUnprocessableEntity, f, "Please tick that it was the patient who wrote this.")
	}
	lines, err := d.Store.Release(a.ID, v.trail())
	if errors.Is(err, ledger.ErrState) {
		return refuse(http.StatusConflict, "This phone is in use. Nothing of it is kept aside.")
	} else if err != nil {
		return err
	}
	if len(lines) == 0 {
		return v.heldShow(http.StatusConflict, f, "Nothing of this phone is kept aside any more.")
	}
	return v.back("/clinic/patients/"+string(v.patient.ID)+"/records", "released")
}
