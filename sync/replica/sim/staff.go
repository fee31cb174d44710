package sim

import (
	"errors"
	"slices"

	"unsling/engine/rom"
	"unsling/sync/replica"
	"unsling/sync/wire"
)

// staffAct is one act of somebody at the clinic.
func (w *world) staffAct() {
	id := pick(&w.chance, w.ids)
	p := w.server.now.patients[id]
	if w.chance.one(25) {
		w.server.writeRaw(id, wire.KindPlan, newerPlan, []byte(`{"gate":"of a newer program"}`), w.clock)
		return
	}
	h := replica.Fold(p.lines()...)
	switch w.chance.below(6) {
	case 0, 1, 2:
		w.revise(id, h)
	case 3:
		w.server.write(id, wire.KindNote, rom.Note{Episode: episode(id), Text: "see you on Monday", By: "ana"}, w.clock)
	default:
		if len(h.Pains) == 0 {
			return
		}
		e := pick(&w.chance, h.Pains)
		if w.chance.one(2) {
			w.server.write(id, wire.KindVoid, rom.Void{Target: e.Ref, Reason: "wrong patient"}, w.clock)
			return
		}
		w.server.write(id, wire.KindAmend, rom.Amend{Target: e.Ref, Body: painBody(e.Body, w.chance.below(11)), Reason: "said on the phone"}, w.clock)
	}
}

func painBody(b rom.Pain, score int) []byte {
	b.Score = score
	raw, _, err := wire.EncodeBody(wire.KindPain, b)
	if err != nil {
		panic(err)
	}
	return raw
}

func episode(id rom.PatientID) rom.EpisodeID { return rom.EpisodeID("episode of " + id) }

// revise writes the next revision of the plan, from a page that may have been
// opened some time ago.
func (w *world) revise(id rom.PatientID, h rom.History) {
	p := w.server.now.patients[id]
	newest, ok := h.Plan(episode(id))
	last := newest.Rev
	following := 0
	for a, rev := range p.following {
		if r := w.server.rows[a]; r != nil && !r.revoked {
			following = max(following, rev)
		}
	}
	base := last
	if ok && w.chance.one(4) {
		base = pick(&w.chance, h.Plans).Body.Rev // the page is old
	}
	rev, stops := last+1, false
	err := replica.CheckRevision(base, rev, newest.Rev, last, following, false)
	if errors.Is(err, replica.ErrPlanLost) { // a stop is never held up
		rev, stops = max(last, following)+1, true
		err = replica.CheckRevision(base, rev, newest.Rev, last, following, true)
	}
	if err != nil && !w.broken(10, "base") {
		w.event("revision %d from %d refused: %v", rev, base, err)
		return
	}
	plan := rom.Plan{
		Episode: episode(id), Rev: rev, Base: base, State: rom.Running, WakeFrom: 480, WakeTo: 1320, By: "ana", On: 20000,
		Contact: rom.Contact{Phone: "+34 600 000 000"}, Reason: "as seen",
		Phases: []rom.Phase{{
			Key: "protect", Sling: rom.SlingAlways,
			Limits: []rom.Limit{{Motion: rom.ForwardFlexion, Class: rom.Passive, Ceiling: rom.Deg(60 + 10*w.chance.below(8)), From: rom.Source{Key: "CLINIC", Mark: rom.Clinic}}},
		}},
	}
	if w.chance.one(8) || stops {
		plan.State, plan.Why = rom.Stopped, "come and see us"
	}
	if rev <= following {
		w.fail("I10", "revision %d is written while a phone follows %d", rev, following)
	}
	if ref, ok := w.server.write(id, wire.KindPlan, plan, w.clock); ok {
		w.event("plan %d from %d as %v", rev, base, ref)
	}
}

// serverAct is one thing that happens to the server.
func (w *world) serverAct() {
	s := w.server
	switch w.chance.below(13) {
	case 12:
		w.old = w.step + w.chance.below(30)
		w.event("an older server runs until step %d", w.old)
	case 0:
		s.crash = beforeCommit
	case 1:
		s.crash = afterCommit
	case 2, 3, 4:
		s.points = append(s.points, s.now.copy())
		s.backups = append(s.backups, s.now.copy())
	case 5, 6:
		w.verifyBackup()
	case 7:
		w.restore()
	case 8:
		w.cut()
	case 9:
		w.revoke()
	default:
		if len(w.late) > 0 { // a message that everybody had forgotten
			i := w.chance.below(len(w.late))
			f := w.late[i]
			w.late = slices.Delete(w.late, i, i+1)
			f()
		}
	}
}

// verifyBackup reads the newest backup back; from then on no older one is
// ever restored, and phones learn what is in it.
func (w *world) verifyBackup() {
	s := w.server
	if len(s.backups) == 0 {
		return
	}
	b := s.backups[len(s.backups)-1]
	if b.epoch != s.now.epoch {
		return // of an earlier life; the present one begins a series of its own
	}
	if s.verified != nil && !b.contains(s.verified) {
		return // a backup that has less than the one before is an alarm, and does not take its place
	}
	if !s.now.contains(b) {
		return // the store lost since what this one has; it refuses marks beyond its own
	}
	s.backups, s.verified = []*store{b}, b
	for id, p := range b.patients {
		for a, m := range p.marks {
			s.now.patients[id].backedUp[a] = m.N
			p.backedUp[a] = m.N
		}
	}
	// What a phone may prune from now on is in every state the store may
	// fall back to.
	s.points = nil
	w.event("backup verified")
}

// wasThere marks what the store has of an author that is revoked now: a
// revocation is not part of a backup, so this holds for every copy.
func (s *store) wasThere(a rom.Author) {
	if s == nil {
		return
	}
	for _, p := range s.patients {
		p.log = slices.Clone(p.log)
		for i := range p.log {
			p.log[i].before = p.log[i].before || p.log[i].ref.Author == a
		}
	}
}

// newerPlan is a version of a plan that no program of this version reads.
const newerPlan = 99

// contains reports whether s has all that o has.
func (s *store) contains(o *store) bool {
	for id, p := range o.patients {
		for ref, h := range p.hashes {
			if s.patients[id].hashes[ref] != h {
				return false
			}
		}
	}
	return true
}

func (w *world) restore() {
	s := w.server
	if len(s.backups) == 0 || w.restores >= 2 {
		return
	}
	w.restores++
	s.pending = nil
	s.now = pick(&w.chance, s.backups).copy()
	w.forget()
	s.newLife()
	w.event("backup restored, %s", s.now.epoch)
}

// cut loses the end of the store without anybody noticing.
func (w *world) cut() {
	s := w.server
	if len(s.points) == 0 || w.cuts >= 2 {
		return
	}
	old := pick(&w.chance, s.points)
	if s.verified != nil && !old.contains(s.verified) {
		return // what phones may have pruned is in no question
	}
	w.cuts++
	s.pending = nil
	old = old.copy()
	s.now.patients, s.now.enrolled = old.patients, old.enrolled
	w.forget()
	s.points = nil
	for _, r := range s.rows {
		r.told = 0
	}
	w.event("the store lost its end")
}

// revoke takes one phone of a patient with several out of service.
func (w *world) revoke() {
	if !w.chance.one(4) {
		return
	}
	for _, ph := range w.phones {
		others := 0
		for _, o := range w.phones {
			if o != ph && o.patient == ph.patient && !w.revokedPhone(o) {
				others++
			}
		}
		if r := w.server.rows[ph.author()]; r != nil && !r.revoked && others > 0 {
			r.revoked = true
			for _, s := range append([]*store{w.server.now, w.server.verified}, append(w.server.backups, w.server.points...)...) {
				s.wasThere(ph.author())
			}
			w.event("%s revoked", ph.name)
			return
		}
	}
}

// lastRevision is the highest revision of a plan in the log.
func (p *patient) lastRevision() (last int) {
	for _, e := range p.log {
		if rec, err := wire.Decode(e.line); err == nil && rec.Kind == wire.KindPlan {
			if body, err := wire.DecodeBody(rec.Kind, rec.V, rec.Body); err == nil {
				last = max(last, body.(rom.Plan).Rev)
			}
		}
	}
	return last
}
