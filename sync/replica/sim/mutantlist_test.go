package sim

// sourceMutants break the rules in the source of the product, rule by rule.
var sourceMutants = []mutant{
	{"1", "a row that is there is written over", []edit{{"journal/mem.go", `if added[r.Key()] || there && !gone[r.Key()] {`, `if added[r.Key()] && (there || true) {`}}},
	{"1", "an append whose connection was lost is taken for kept", []edit{{"journal/writer.go", `case errors.Is(err, ErrClosed) && lost == 0:
			lost++`, `case errors.Is(err, ErrClosed) && lost == 0 && a.Line != nil:
			return a, nil`}}},
	{"1", "who was second takes its own line for written", []edit{{"journal/writer.go", `		case errors.Is(err, ErrExists):
`, `		case errors.Is(err, ErrExists):
			return a, nil
`}}},
	{"1", "a commit that failed is taken for done", []edit{{"client/sync.go", `return replica.NotSaved{}, nil // another`, `return replica.Saved{}, nil // another`}}},
	{"3", "other bytes under a known number are ignored", []edit{{"replica/accept.go", `if was != l.Hash {`, `if was == "" {`}}},
	{"3", "lines after a hole are taken", []edit{{"replica/accept.go", `	lost := h.From > mark.N+1
	if !lost && h.Prev != "" && h.From > 1 {`, `	lost := false
	if !lost && h.Prev != "" && h.From > 1 && h.From <= mark.N+1 {`}}},
	{"3", "the line before is not compared", []edit{{"replica/accept.go", `lost = was != h.Prev //`, `lost = was == "" //`}}},
	{"3", "what follows a fork is stored", []edit{{"replica/accept.go", `				v.Quarantine = append(v.Quarantine, Quarantined{l, Forked})
				return v, nil`, `				v.Quarantine = append(v.Quarantine, Quarantined{l, Forked})
				continue`}}},
	{"4", "an acknowledgement counts whatever its hash", []edit{{"replica/answered.go", `case ack.N == 0 || ack.N <= tail.N && ack.Hash == mine:`, `case ack.N <= tail.N:`}}},
	{"4", "what no verified backup has is pruned", []edit{{"replica/moved.go", `rec.N > min(next.BackedUp, next.Acked.N)`, `rec.N > next.Acked.N`}}},
	{"4", "what is younger than 90 days is pruned", []edit{{"replica/moved.go", ` || e.Now.Sub(rec.At) < KeepFor`, ``}}},
	{"4", "the last line, on which the chain goes on, is pruned", []edit{{"replica/moved.go", ` || i == len(e.Own)-1 ||`, ` ||`}}},
	{"5", "a new epoch starts no new pass", []edit{{"replica/answered.go", `			back = true // the cursor`, `			back = back || false // the cursor`}}},
	{"5", "neither a mark that went back, nor a gap, nor a new epoch starts a pass", []edit{
		{"replica/answered.go", `	back = ack.N < next.Acked.N
`, `	back = false
`}, {"replica/answered.go", `			back = true // the cursor`, `			back = back || false // the cursor`},
		{"replica/refused.go", `	next.Rewound = true
`, ``}}},
	{"5", "a cursor with another hash is taken for good", []edit{{"replica/accept.go", `if h != since.Hash {`, `if h == "" {`}}},
	{"5", "the phone goes on where it was although the log begins anew, in a new epoch", []edit{
		{"replica/answered.go", `case r.Seq == 1 && next.Since.Seq > 0:`, `case false:`},
		{"replica/answered.go", `			back = true // the cursor`, `			back = back || false // the cursor`}}},
	{"6", "a line that is no record blocks the queue", []edit{{"replica/accept.go", `			v.Quarantine = append(v.Quarantine, Quarantined{l, NotARecord})
`, `			return v, nil
`}}},
	{"6", "a line that does not follow its predecessor is stored", []edit{{"replica/accept.go", `case rec.Prev != v.Mark.Prev():`, `case rec.Prev == "":`}}},
	{"6", "what is kept apart is not acknowledged", []edit{{"replica/accept.go", `			v.Quarantine = append(v.Quarantine, Quarantined{l, WrongPrev})
`, `			v.Quarantine = append(v.Quarantine, Quarantined{l, WrongPrev})
			continue
`}}},
	{"6", "a line that the disk has damaged claims another number", []edit{{"journal/read.go", `ok && ref != r.Key() {`, `ok && ref != r.Key() && false {`}}},
	{"7", "the cursor is saved without the records", []edit{{"client/sync.go", `	err = s.Store.Commit(ctx, b)
`, `	err = s.Store.Commit(ctx, journal.Batch{Meta: b.Meta})
	if err == nil {
		b.Meta = nil
		err = s.Store.Commit(ctx, b)
	}
`}}},
	{"7", "a line that the phone has no use for moves no cursor", []edit{{"replica/answered.go", `next.Since = wire.Cursor{Seq: l.Seq, Hash: l.Hash}
`, `if !l.Erased && len(l.Bytes)%7 != 0 {
			next.Since = wire.Cursor{Seq: l.Seq, Hash: l.Hash}
		}
`}}},
	{"8", "a revoked phone does not believe it", []edit{{"replica/answered.go", `		next.Revoked = true
`, ``}}},
	{"8", "a revoked copy asks nothing and never hears of it", []edit{{"replica/refused.go", `p.phase == registering && !p.asked`, `false`}}},
	{"8", "records of a newer kind are not kept", []edit{{"replica/answered.go", `		if rec.Author != next.Author {
`, `		if _, known := wire.Info(rec.Kind); !known {
			continue
		}
		if rec.Author != next.Author {
`}}},
	{"8", "a plan that this app does not read is passed over in silence", []edit{{"replica/newer.go", `case wire.KindPlan, wire.KindEpisode, wire.KindClearance:`, `case wire.KindEpisode, wire.KindClearance:`}}},
	{"10", "a revision from an old page is taken", []edit{{"replica/returned.go", `case base != newest:`, `case base > newest:`}}},
	{"10", "a number is given again", []edit{{"replica/returned.go", `case following > last && !tightens:`, `case false:`},
		{"replica/returned.go", `case rev <= max(last, following):`, `case rev <= last:`}}},
	{"10", "a running session keeps a plan that was narrowed", []edit{{"replica/adopt.go", `if !ok || !newest.Narrows(*running) {`, `if true {`}}},
	{"10", "an old revision is followed", []edit{{"replica/adopt.go", `newest, ok := h.Plan(id)
`, `newest, ok := h.Plan(id)
	for _, e := range h.Plans {
		if e.Body.Episode == id && e.Body.Rev < newest.Rev {
			newest = e.Body
		}
	}
`}}},
	{"11", "a void is undone by a later amendment", []edit{{"replica/history.go", `		case v.voided[r]:
`, `		case v.voided[r] && v.amended[r].body == nil:
`}}},
	{"11", "a phone cannot take back what it wrote under an earlier name", []edit{{"replica/resolve.go", ` && !z.descends(author, ref.Author) {`, ` {`}}},
	{"11", "of two corrections the first that comes wins", []edit{{"replica/resolve.go", `if best.by == nil || c.by.hash > best.by.hash {`, `if best.by == nil {`}}},
	{"11", "the order of records of one instant is that of arrival", []edit{{"replica/fold.go", `	return compareRefs(r.Ref, o.Ref)
`, `	return 0
`}}},
	{"12", "a copy stays a copy", []edit{{"replica/refused.go", `			return p.register(p.from())
`, `			return p.rest(wire.Fork)
`}}},
	{"12", "the tail of a copy is dropped", []edit{{"replica/moved.go", `	p.move(&s, e.Author, wire.Mark{}, e.Own, !p.state.Unknown)
`, ``}}},
	{"12", "what was moved does not say what it was", []edit{{"replica/moved.go", `			rec.Was = was
`, `			_ = was
`}}},
	{"12", "a window may go on under the old name", []edit{{"replica/moved.go", `for _, n := range []int64{last + 1, Barrier} {`, `for _, n := range []int64{} {
		_ = last`}}},
	{"12", "a correction that moves goes on naming the old record", []edit{{"replica/moved.go", `	if !moved {
		return rec.Body
	}
`, `	if !moved || len(names) > 0 {
		return rec.Body
	}
`}}},
	{"12", "readers count what was moved twice", []edit{{"replica/resolve.go", `!r.Was.IsZero() && o != nil && o != r {`, `false && o != nil {`}}},
	{"12", "what an earlier self wrote and the server lost is left behind", []edit{{"replica/moved.go", `	if len(s.Add) == 0 {
		return nil
	}
	for _, b := range e.Strays`, `	if len(s.Add) >= 0 {
		return nil
	}
	for _, b := range e.Strays`}}},
	{"12", "a forgotten phone enrolled anew leaves its records behind", []edit{{"replica/moved.go", `out := p.registered(Registered{Author: e.Author, Own: e.Own})`, `out := p.registered(Registered{Author: e.Author})`}}},
	{"13", "a record counts as often as it arrives", []edit{{"replica/fold.go", `old := f.records[rec.Ref()]`, `old := f.records[rom.Ref{}]`}}},
	{"14", "phones keep the clinic's records to themselves", []edit{{"client/sync.go", `if len(out.Returned) < f.Lines && replica.Before(f.After, r.Key()) {`, `if false {`}}},
	{"14", "neither a pass nor a start of the app gives anything back", []edit{
		{"replica/answered.go", `next.Again, next.Return, next.ReturnAfter = false, true, rom.Ref{}`, `next.Again, next.Return, next.ReturnAfter = false, false, rom.Ref{}`},
		{"replica/step.go", `if e.Check && !p.state.Again`, `if false && !p.state.Again`}}},
	{"14", "a forged record of the clinic is taken", []edit{{"replica/returned.go", `!rec.Author.FromClinic() || !sealed(b) {`, `!rec.Author.FromClinic() {`}}},
	{"14", "records of the clinic come back out of their order", []edit{{"replica/returned.go", `if rec.N != mark.N+1 || rec.Prev != mark.Prev() {`, `if rec.N <= mark.N {`}}},
}
