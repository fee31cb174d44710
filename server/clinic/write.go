package clinic

import (
	"errors"
	"net/http"

	"unsling/engine/protocol"
	"unsling/engine/rom"
	"unsling/server/ledger"
	"unsling/sync/replica"
	"unsling/sync/wire"
)

// draft makes a clinic record of this visit's instant.
func (v *visit) draft(kind wire.Kind, body any) (ledger.Draft, error) {
	raw, version, err := wire.EncodeBody(kind, body)
	if err != nil {
		var bad *rom.InvalidError
		if errors.As(err, &bad) {
			return ledger.Draft{}, plainly(bad, rom.Plan{})
		}
		return ledger.Draft{}, err
	}
	if len(raw) > protocol.MaxPlanBytes {
		return ledger.Draft{}, refuse(http.StatusUnprocessableEntity, "This is too long to be sent to the phone. Please shorten it.")
	}
	return ledger.Draft{Kind: kind, V: version, Body: raw, At: v.at, Zone: v.clinic.Zone}, nil
}

// write appends records to the patient of this visit.
func (v *visit) write(base *ledger.Base, drafts ...ledger.Draft) error {
	_, err := v.desk.Store.Append(v.patient.ID, drafts, base, v.trail())
	return err
}

// record is draft and write for one body.
func (v *visit) record(kind wire.Kind, body any) error {
	dr, err := v.draft(kind, body)
	if err != nil {
		return err
	}
	return v.write(nil, dr)
}

// shown is the episode that a page is about, and its file: the one that the
// address names, else the newest that has not ended.
func (v *visit) shown() (file, care, error) {
	f, err := v.file()
	if err != nil {
		return file{}, care{}, err
	}
	c, ok := f.Current(v.episodeOf())
	if !ok {
		return file{}, care{}, errNotFound
	}
	return f, c, nil
}

// care returns the episode that a form names, and its file.
func (v *visit) care() (file, care, error) {
	f, err := v.file()
	if err != nil {
		return file{}, care{}, err
	}
	id := rom.EpisodeID(v.r.FormValue("episode"))
	for _, c := range f.Episodes {
		if c.Episode.ID == id || id == "" && len(f.Episodes) == 1 {
			return f, c, nil
		}
	}
	return file{}, care{}, refuse(http.StatusUnprocessableEntity, "This episode does not exist any more. Nothing was changed.")
}

// nextRev is a plan revision above every one this patient ever had, also
// those that only a phone with access remembers after a restore.
func nextRev(f file) int {
	rev := 0
	for _, p := range f.History.Plans {
		rev = max(rev, p.Body.Rev)
	}
	next := rev
	for _, a := range f.Phones {
		if a.State == ledger.Active && a.Following <= rev+replica.LostMost {
			next = max(next, a.Following)
		}
	}
	return next + 1
}
