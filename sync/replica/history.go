package replica

import (
	"slices"

	"unsling/engine/rom"
	"unsling/sync/wire"
)

// History returns the fold of all lines taken in. It shares memory with the
// Folder and must not be changed.
func (f *Folder) History() rom.History {
	v := f.resolve()
	list := make([]*folded, 0, len(f.list))
	for _, r := range f.list {
		if _, copied := v.alias[r.Ref]; !copied {
			list = append(list, r)
		}
	}
	slices.SortFunc(list, (*folded).compare)

	h := roomFor(list)
	best := bestSessions(list, v)
	for _, r := range list {
		switch {
		case v.voided[r]:
			h.Voided = append(h.Voided, r.Ref)
		case r.unknown || v.unknown[r]:
			h.Unknown = append(h.Unknown, r.Ref)
		case r.body == nil && v.amended[r].body == nil || v.damaged[r]:
			h.Damaged = append(h.Damaged, r.Ref)
		default:
			put(&h, r, v, best)
		}
	}
	dropEmpty(&h.Sessions)
	dropEmpty(&h.Readings)
	dropEmpty(&h.Pains)
	dropEmpty(&h.Tasks)
	return h
}

func dropEmpty[T any](list *[]rom.Entry[T]) {
	if len(*list) == 0 {
		*list = nil
	}
}

// roomFor returns an empty history with room for the kinds that come by the
// thousand.
func roomFor(list []*folded) rom.History {
	n := map[wire.Kind]int{}
	for _, r := range list {
		n[r.Kind]++
	}
	return rom.History{
		Sessions: room[rom.Session](n[wire.KindSession]), Readings: room[rom.Reading](n[wire.KindReading]),
		Pains: room[rom.Pain](n[wire.KindPain]), Tasks: room[rom.Task](n[wire.KindTask]),
	}
}

// room returns nil for nothing, as appending would.
func room[T any](n int) []rom.Entry[T] {
	if n == 0 {
		return nil
	}
	return make([]rom.Entry[T], 0, n)
}

// put files one record under its kind. What speaks of a copy speaks of the
// record that it repeats.
func put(h *rom.History, r *folded, v verdicts, best map[rom.SessionID]*folded) {
	a := v.amended[r]
	m := rom.Meta{Ref: r.Ref, At: r.At, Rev: r.Rev, Amended: a.ref}
	switch b := a.or(r.body).(type) {
	case rom.Episode:
		h.Episodes = append(h.Episodes, rom.Entry[rom.Episode]{Meta: m, Body: b})
	case rom.Plan:
		h.Plans = append(h.Plans, rom.Entry[rom.Plan]{Meta: m, Body: b})
	case rom.Clearance:
		h.Clearances = append(h.Clearances, rom.Entry[rom.Clearance]{Meta: m, Body: b})
	case rom.Session:
		if best[b.ID] == r {
			h.Sessions = append(h.Sessions, rom.Entry[rom.Session]{Meta: m, Body: b})
		}
	case rom.Reading:
		h.Readings = append(h.Readings, rom.Entry[rom.Reading]{Meta: m, Body: b})
	case rom.Pain:
		h.Pains = append(h.Pains, rom.Entry[rom.Pain]{Meta: m, Body: b})
	case rom.Sign:
		h.Signs = append(h.Signs, rom.Entry[rom.Sign]{Meta: m, Body: b})
	case rom.SlingReport:
		h.Slings = append(h.Slings, rom.Entry[rom.SlingReport]{Meta: m, Body: b})
	case rom.Question:
		h.Questions = append(h.Questions, rom.Entry[rom.Question]{Meta: m, Body: b})
	case rom.Seen:
		b.What = v.original(b.What)
		h.Seens = append(h.Seens, rom.Entry[rom.Seen]{Meta: m, Body: b})
	case rom.Adopted:
		h.Adoptions = append(h.Adoptions, rom.Entry[rom.Adopted]{Meta: m, Body: b})
	case rom.Install:
		h.Installs = append(h.Installs, rom.Entry[rom.Install]{Meta: m, Body: b})
	case rom.Therapy:
		h.Therapies = append(h.Therapies, rom.Entry[rom.Therapy]{Meta: m, Body: b})
	case rom.Visit:
		h.Visits = append(h.Visits, rom.Entry[rom.Visit]{Meta: m, Body: b})
	case rom.Note:
		b.Answers = v.original(b.Answers)
		h.Notes = append(h.Notes, rom.Entry[rom.Note]{Meta: m, Body: b})
	case rom.Score:
		h.Scores = append(h.Scores, rom.Entry[rom.Score]{Meta: m, Body: b})
	case rom.Task:
		h.Tasks = append(h.Tasks, rom.Entry[rom.Task]{Meta: m, Body: b})
	}
}

// bestSessions picks one record per session id: one that was amended before
// one that was not, since a correction is deliberate, then the one with the
// most counted holds, then the greater hash.
func bestSessions(list []*folded, v verdicts) map[rom.SessionID]*folded {
	best := map[rom.SessionID]*folded{}
	for _, r := range list {
		if v.voided[r] {
			continue
		}
		a := v.amended[r]
		s, ok := a.or(r.body).(rom.Session)
		if !ok {
			continue
		}
		other := best[s.ID]
		if other == nil || better(r, other, v) {
			best[s.ID] = r
		}
	}
	return best
}

func better(r, o *folded, v verdicts) bool {
	ra, oa := v.amended[r], v.amended[o]
	if (ra.body != nil) != (oa.body != nil) {
		return ra.body != nil
	}
	rs, _ := ra.or(r.body).(rom.Session)
	os, _ := oa.or(o.body).(rom.Session)
	if rn, on := rs.Counted(), os.Counted(); rn != on {
		return rn > on
	}
	return r.hash > o.hash
}
