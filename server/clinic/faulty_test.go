package clinic

import (
	"errors"

	"unsling/engine/rom"
	"unsling/server/ledger"
)

var errBroken = errors.New("the disk does not answer")

// faulty is a store of which single calls fail. fails is asked by the name of
// the call and what it is about.
type faulty struct {
	Store
	fails func(call, about string) bool
}

// breaks puts a fault into the practice's store until mend is called.
func (p *practice) breaks(fails func(call, about string) bool) (mend func()) {
	whole := p.desk.Store
	p.desk.Store = faulty{whole, fails}
	return func() { p.desk.Store = whole }
}

func (s faulty) fault(call, about string) error {
	if s.fails(call, about) {
		return errBroken
	}
	return nil
}

func (s faulty) Team(p rom.PatientID) ([]ledger.Member, error) {
	if err := s.fault("Team", string(p)); err != nil {
		return nil, err
	}
	return s.Store.Team(p)
}

func (s faulty) SetTeam(p rom.PatientID, add, remove []rom.StaffID, trail ledger.Trail) error {
	if err := s.fault("SetTeam", string(p)); err != nil {
		return err
	}
	return s.Store.SetTeam(p, add, remove, trail)
}

func (s faulty) Staff(id rom.StaffID) (ledger.Staff, error) {
	if err := s.fault("Staff", string(id)); err != nil {
		return ledger.Staff{}, err
	}
	return s.Store.Staff(id)
}

func (s faulty) Patient(p rom.PatientID) (ledger.Patient, error) {
	if err := s.fault("Patient", string(p)); err != nil {
		return ledger.Patient{}, err
	}
	return s.Store.Patient(p)
}

func (s faulty) GlassOn(p rom.PatientID) ([]ledger.Glass, error) {
	if err := s.fault("GlassOn", string(p)); err != nil {
		return nil, err
	}
	return s.Store.GlassOn(p)
}

func (s faulty) Breaks() ([]ledger.Glass, error) {
	if err := s.fault("Breaks", ""); err != nil {
		return nil, err
	}
	return s.Store.Breaks()
}

func (s faulty) Facts(p rom.PatientID) (ledger.Facts, error) {
	if err := s.fault("Facts", string(p)); err != nil {
		return ledger.Facts{}, err
	}
	return s.Store.Facts(p)
}

func (s faulty) Quarantine(p rom.PatientID) ([]ledger.Quarantined, error) {
	if err := s.fault("Quarantine", string(p)); err != nil {
		return nil, err
	}
	return s.Store.Quarantine(p)
}
