package replica

import (
	"errors"

	"unsling/engine/rom"
	"unsling/sync/wire"
)

// verdicts is what the corrections in a set of records come to (rule 11).
type verdicts struct {
	alias   map[rom.Ref]rom.Ref // copies under a new author, by what they repeat
	voided  map[*folded]bool
	amended map[*folded]amendment
	damaged map[*folded]bool // corrections that nobody may make or that make no sense
	unknown map[*folded]bool // corrections in a version not known here
}

// amendment is the body that replaces another; the zero value is none.
type amendment struct {
	ref  rom.Ref
	body any
}

func (a amendment) or(body any) any {
	if a.body != nil {
		return a.body
	}
	return body
}

// original returns the record that ref is a copy of, or ref itself.
func (v verdicts) original(ref rom.Ref) rom.Ref {
	if to, copied := v.alias[ref]; copied {
		return to
	}
	return ref
}

// resolver has what resolving needs to look up.
type resolver struct {
	verdicts
	f       *Folder
	parents map[rom.Author]map[rom.Author]bool // whom an author repeats
	repeats map[rom.Ref][]*folded              // the records that say they were another
}

func (f *Folder) resolve() verdicts {
	z := resolver{f: f, verdicts: verdicts{
		voided: map[*folded]bool{}, amended: map[*folded]amendment{},
		damaged: map[*folded]bool{}, unknown: map[*folded]bool{},
	}}
	if f.moved {
		z.findCopies()
	}
	var voids, amends []*folded
	for _, r := range f.list {
		if _, copied := z.alias[r.Ref]; copied {
			continue
		}
		switch r.body.(type) {
		case rom.Void:
			voids = append(voids, r)
		case rom.Amend:
			amends = append(amends, r)
		}
	}
	z.resolveVoids(voids)
	z.resolveAmends(amends)
	return z.verdicts
}

// findCopies drops the records that repeat one that is here (rule 12). What
// repeats keeps its salt, so kind and salt tell that it is the same record
// and not another one that happens to have taken the number. Corrections are
// never dropped: to take back or replace the same thing twice does no harm,
// and each names the record that its author knew.
func (z *resolver) findCopies() {
	type key struct {
		kind wire.Kind
		salt string
	}
	keep := map[key]*folded{}
	z.parents = map[rom.Author]map[rom.Author]bool{}
	z.repeats = map[rom.Ref][]*folded{}
	for _, r := range z.f.list {
		if r.Author.FromClinic() {
			continue // nothing of the clinic's is ever a copy, or has one
		}
		k := key{r.Kind, r.Salt}
		if o := keep[k]; o == nil || firstOf(r, o) {
			keep[k] = r
		}
		if !r.Was.IsZero() && !r.Was.Author.FromClinic() {
			if z.parents[r.Author] == nil {
				z.parents[r.Author] = map[rom.Author]bool{}
			}
			z.parents[r.Author][r.Was.Author] = true
			if r.Kind != wire.KindAmend && r.Kind != wire.KindVoid {
				z.repeats[r.Was] = append(z.repeats[r.Was], r)
			}
		}
	}
	z.alias = map[rom.Ref]rom.Ref{}
	for _, r := range z.f.list {
		if r.Kind == wire.KindAmend || r.Kind == wire.KindVoid {
			continue
		}
		if o := keep[key{r.Kind, r.Salt}]; !r.Was.IsZero() && o != nil && o != r {
			z.alias[r.Ref] = o.Ref
		}
	}
}

// firstOf reports whether r rather than o is the one to keep.
func firstOf(r, o *folded) bool {
	if r.Was.IsZero() != o.Was.IsZero() {
		return r.Was.IsZero()
	}
	return compareRefs(r.Ref, o.Ref) < 0
}

// descends reports whether a is, through any number of forks, a later self of
// b.
func (z *resolver) descends(a, b rom.Author) bool {
	seen := map[rom.Author]bool{a: true}
	queue := []rom.Author{a}
	for len(queue) > 0 {
		for p := range z.parents[queue[0]] {
			if p == b {
				return true
			}
			if !seen[p] {
				seen[p] = true
				queue = append(queue, p)
			}
		}
		queue = queue[1:]
	}
	return false
}

// target returns the record that a correction speaks of under ref, nil if it
// is not here. ok is false if the author may not touch it: a phone corrects
// only what it wrote itself, under whatever name, and the chains of plans and
// episodes are corrected by their next revision alone.
func (z *resolver) target(by *folded, ref rom.Ref) (t *folded, ok bool) {
	author := by.Author
	if !author.FromClinic() && author != ref.Author && !z.descends(author, ref.Author) {
		return nil, false
	}
	t = z.meant(by, ref)
	if t != nil && (t.Kind == wire.KindPlan || t.Kind == wire.KindEpisode) {
		return nil, false
	}
	return t, true
}

// meant returns the record that a correction means by a name. Where one record
// of that name was written in the very run of the app that wrote the correction,
// and no other, it is that one: no copy shares a run. Else a repetition by
// the same author of a record of that name goes first: after a fork another
// copy's record can have the name. Where two copies took one number and the
// author has moved the records of both, it is the one moved last before the
// correction, which was moved along with what it speaks of. Where nothing has
// the name any more, as after a loss, it is the record that says it was it, if
// all that say so are one.
func (z *resolver) meant(by *folded, ref rom.Ref) *folded {
	if t := z.ofRun(by.Run, ref); t != nil {
		return t
	}
	var one, own *folded
	several := false
	for _, r := range z.repeats[ref] {
		kept := z.f.records[z.original(r.Ref)]
		if r.Author == by.Author {
			if own == nil || nearer(r.N, own.N, by.N) {
				own = r
			}
			continue
		}
		several = several || one != nil && one != kept
		one = kept
	}
	if own != nil {
		return z.f.records[z.original(own.Ref)]
	}
	if t := z.f.records[z.original(ref)]; t != nil || several {
		return t
	}
	return one
}

// ofRun returns the record of a name, or repeated from it, that was written in
// a run, if it is one; nil else.
func (z *resolver) ofRun(run string, ref rom.Ref) (one *folded) {
	if len(z.repeats[ref]) == 0 {
		return nil // there is nothing to choose between
	}
	several := false
	take := func(r *folded) {
		if r == nil || r.Run != run {
			return
		}
		kept := z.f.records[z.original(r.Ref)]
		several = several || one != nil && one != kept
		one = kept
	}
	take(z.f.records[ref])
	for _, r := range z.repeats[ref] {
		take(r)
	}
	if several {
		return nil
	}
	return one
}

// nearer reports whether number a rather than b is the last before n, or,
// where none is before it, the first behind.
func nearer(a, b, n int64) bool {
	if (a < n) != (b < n) {
		return a < n
	}
	return a < n && a > b || a > n && a < b
}

// resolveVoids: a void wins for ever; there is no voiding a void. Taking back
// one record of a session takes back the others of the same session.
func (z *resolver) resolveVoids(voids []*folded) {
	sessions := map[rom.SessionID]bool{}
	for _, r := range voids {
		t, ok := z.target(r, r.body.(rom.Void).Target)
		switch {
		case !ok || t != nil && t.Kind == wire.KindVoid:
			z.damaged[r] = true
		case t != nil:
			z.voided[t] = true
			if s, is := t.body.(rom.Session); is {
				sessions[s.ID] = true
			}
		}
	}
	if len(sessions) == 0 {
		return
	}
	for _, r := range z.f.list {
		if s, is := r.body.(rom.Session); is && sessions[s.ID] {
			z.voided[r] = true
		}
	}
}

// candidate is an amendment that could take effect.
type candidate struct {
	by   *folded
	body any
}

func (z *resolver) resolveAmends(amends []*folded) {
	perRoot := map[*folded][]candidate{}
	superseded := map[*folded]bool{}
	for _, r := range amends {
		if z.voided[r] {
			continue
		}
		root, path, ok := z.root(r)
		switch {
		case !ok:
			z.damaged[r] = true
			continue
		case root == nil || root.unknown || !root.permitted():
			continue
		}
		a := r.body.(rom.Amend)
		body, err := wire.DecodeBody(root.Kind, max(1, a.V), a.Body)
		switch {
		case errors.Is(err, wire.ErrNotUnderstood):
			z.unknown[r] = true
			continue
		case err != nil || !Counts(r.Author, root.Kind, body):
			z.damaged[r] = true
			continue
		}
		for _, p := range path {
			superseded[p] = true
		}
		perRoot[root] = append(perRoot[root], candidate{r, body})
	}
	for root, list := range perRoot {
		if w, ok := z.winner(list, superseded); ok {
			z.amended[root] = amendment{w.by.Ref, w.body}
		}
	}
}

// root follows an amendment of an amendment to the record that both speak
// of. path are the amendments in between. root is nil if something is not
// here yet; ok is false if the author may not, or if there is no end.
func (z *resolver) root(r *folded) (root *folded, path []*folded, ok bool) {
	seen := map[*folded]bool{r: true}
	by, ref := r, r.body.(rom.Amend).Target
	for {
		t, may := z.target(by, ref)
		switch {
		case !may:
			return nil, nil, false
		case t == nil:
			return nil, nil, true
		case t.Kind == wire.KindVoid || seen[t]:
			return nil, nil, false
		case t.Kind != wire.KindAmend:
			return t, path, true
		}
		a, is := t.body.(rom.Amend)
		if !is {
			return nil, nil, true // an amendment that is damaged or not understood
		}
		seen[t] = true
		path = append(path, t)
		by, ref = t, a.Target
	}
}

// winner: what was amended again is out; then the clinic over phones, the
// latest in each chain, a later self over an earlier one, the greater hash.
func (z *resolver) winner(list []candidate, superseded map[*folded]bool) (candidate, bool) {
	latest := map[rom.Author]candidate{}
	clinic := false
	for _, c := range list {
		if superseded[c.by] {
			continue
		}
		clinic = clinic || c.by.Author.FromClinic()
		if o, ok := latest[c.by.Author]; !ok || c.by.N > o.by.N {
			latest[c.by.Author] = c
		}
	}
	var best candidate
	for pass := 0; pass < 2 && best.by == nil; pass++ { // the second only if selves run in a circle
		for a, c := range latest {
			if a.FromClinic() != clinic || pass == 0 && z.outlived(a, latest) {
				continue
			}
			if best.by == nil || c.by.hash > best.by.hash {
				best = c
			}
		}
	}
	return best, best.by != nil
}

func (z *resolver) outlived(a rom.Author, latest map[rom.Author]candidate) bool {
	for b := range latest {
		if b != a && z.descends(b, a) {
			return true
		}
	}
	return false
}
