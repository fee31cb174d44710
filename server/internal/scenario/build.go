package scenario

import (
	"context"
	"crypto/sha256"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"io"
	"math/rand/v2"
	"net/http"
	"slices"
	"time"

	"unsling/engine/protocol"
	"unsling/engine/rom"
	"unsling/server/access"
	"unsling/server/ledger"
)

// Store is the part of the ledger that the clinic's side of the scenario uses.
type Store interface {
	ledger.Staffing
	ledger.Patients
	ledger.Phones
	Append(rom.PatientID, []ledger.Draft, *ledger.Base, ledger.Trail) ([]ledger.Line, error)
	Facts(rom.PatientID) (ledger.Facts, error)
}

// Env is where the scenario is played.
type Env struct {
	Store   Store
	Codes   []byte       // HMAC key of invitations
	Base    string       // public address of the server
	HTTP    *http.Client // reaches it
	Clock   *Clock       // the server's clock too
	Today   time.Time    // the instant at which the scenario ends
	Chance  io.Reader    // for ids, keys and salts
	History func([]byte) (rom.History, error)
	Say     func(format string, args ...any) // progress
}

// lead is how many days before surgery a patient is enrolled.
const lead = 14

// Build plays the whole scenario up to Today. The people must have been added
// to the store before, and the clinic set.
func Build(ctx context.Context, e Env) error {
	zone, err := time.LoadLocation(Zone)
	if err != nil {
		return fmt.Errorf("invent a clinic: %w", err)
	}
	today := rom.DateOf(e.Today.In(zone))
	cast := patients()
	first := today
	stories := make([]*story, len(cast))
	for i, p := range cast {
		s := &story{env: e, ctx: ctx, person: p, zone: zone, today: today, surgery: today.Add(-p.day),
			rng: rand.New(rand.NewPCG(uint64(i)+1, 20))}
		s.enrolled = min(s.surgery.Add(-lead), today.Add(-1))
		if p.late {
			s.enrolled = today.Add(-1)
		}
		first = min(first, s.enrolled)
		stories[i] = s
	}
	e.Clock.Set(at(first, 7*60, zone))
	if err := adopt(e, first, zone); err != nil {
		return err
	}
	total := today.Sub(first) + 1
	for d := first; d <= today; d++ {
		var acts []act
		for _, s := range stories {
			acts = append(acts, s.acts(d)...)
		}
		slices.SortStableFunc(acts, func(a, b act) int { return a.minute - b.minute })
		for _, a := range acts {
			when := at(d, a.minute, zone)
			if when.After(e.Today) {
				break
			}
			if err := ctx.Err(); err != nil {
				return err
			}
			e.Clock.Set(when)
			if err := a.do(); err != nil {
				return fmt.Errorf("invent %s on %s: %w", a.who, d, err)
			}
		}
		if n := d.Sub(first) + 1; n%30 == 0 || d == today {
			e.Say("  invented records: day %d of %d", n, total)
		}
	}
	return nil
}

// act is something that happens at a minute of a day.
type act struct {
	minute int
	who    string
	do     func() error
}

// at is the instant of a minute of a day in the zone.
func at(d rom.Date, minute int, zone *time.Location) time.Time {
	t := d.Time()
	return time.Date(t.Year(), t.Month(), t.Day(), 0, minute, 0, 0, zone)
}

// adopt makes every protocol that comes with the program the clinic's own,
// in the name of the invented surgeon.
func adopt(e Env, on rom.Date, zone *time.Location) error {
	for _, p := range protocol.All() {
		own, err := protocol.Adopt(p, Surgeon, on, nil)
		if err != nil {
			return fmt.Errorf("adopt %s: %w", p.ID, err)
		}
		body, err := json.Marshal(own)
		if err != nil {
			return err
		}
		sum := sha256.Sum256(body)
		err = e.Store.Adopt(ledger.Adoption{
			Name: p.ID, Version: 1, By: Surgeon, At: e.Clock.Now().UTC(), Hash: base64.RawURLEncoding.EncodeToString(sum[:]),
			Body: body, Note: "Adopted in the demo by an invented surgeon.",
		}, ledger.Trail{At: e.Clock.Now().UTC(), Actor: string(Surgeon)})
		if err != nil {
			return fmt.Errorf("adopt %s: %w", p.ID, err)
		}
	}
	return nil
}

// AddSpare adds a patient of the scripts' own sign-in: cuff repair, operated
// long enough ago that the passive phase runs, without a phone.
func AddSpare(e Env, n int) (rom.PatientID, error) {
	zone, err := time.LoadLocation(Zone)
	if err != nil {
		return "", err
	}
	today := rom.DateOf(e.Today.In(zone))
	p := person{name: fmt.Sprintf("Spare %02d (invented)", n), born: 1960, side: rom.Right, procedures: []rom.Procedure{rom.CuffRepair}, day: 45, arm: onCourse, spare: true}
	s := &story{env: e, ctx: context.Background(), person: p, zone: zone, today: today, surgery: today.Add(-p.day), rng: rand.New(rand.NewPCG(uint64(n), 21))}
	s.enrolled = today
	if err := s.enrol(); err != nil {
		return "", err
	}
	if err := s.confirm(); err != nil {
		return "", err
	}
	return s.id, s.clearAll()
}

// Invite makes an invitation of the demo for a patient.
func Invite(store ledger.Phones, codes []byte, id string, p rom.PatientID, now time.Time, chance io.Reader) (access.Secrets, error) {
	secrets, row, err := access.NewInvitation(ledger.InDemo, codes, now, chance)
	if err != nil {
		return access.Secrets{}, err
	}
	row.ID, row.Patient, row.By = id, p, Assistant
	return secrets, store.Invite(row, ledger.Trail{At: now.UTC(), Actor: "server"})
}
