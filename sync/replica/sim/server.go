package sim

import (
	"bytes"
	"errors"
	"fmt"
	"maps"
	"slices"
	"time"

	"unsling/engine/rom"
	"unsling/sync/replica"
	"unsling/sync/wire"
)

// errNoAnswer stands for every way in which no answer comes.
var errNoAnswer = errors.New("no answer")

// server is the model of the clinic's server.
type server struct {
	w        *world
	now      *store
	rows     map[rom.Author]*row // who may speak; not part of a backup
	key      []byte
	backups  []*store // since the last verified one, which is the first
	verified *store
	points   []*store // earlier states of the same epoch, for cutting the log
	lives    int
	crash    crash
	pending  []func() // commits that a broken rule put off
}

type crash int

const (
	noCrash crash = iota
	beforeCommit
	afterCommit
)

type row struct {
	patient rom.PatientID
	revoked bool
	told    int64 // the highest acknowledgement told, in this life of the store
}

// store is what is on the server's disk.
type store struct {
	epoch    string
	clinic   rom.Author
	patients map[rom.PatientID]*patient
	enrolled map[rom.Author]bool // which phones the store knows
}

// patient is one patient's log and what belongs to it.
type patient struct {
	log       []entry
	marks     map[rom.Author]wire.Mark
	hashes    map[rom.Ref]wire.Hash // of all that was acknowledged
	aside     []replica.Quarantined
	sealed    map[rom.Ref][]byte
	following map[rom.Author]int
	backedUp  map[rom.Author]int64
	own       life // of this log alone; the zero life is none
}

// life is an epoch and the clinic's author in it. One of a single log counts
// within the store's epoch of.
type life struct {
	of, epoch string
	clinic    rom.Author
}

type entry struct {
	ref    rom.Ref
	line   []byte
	hash   wire.Hash
	back   bool // came back from a phone
	before bool // was there when the phone was revoked
}

func (p *patient) copy() *patient {
	return &patient{
		log: slices.Clone(p.log), marks: maps.Clone(p.marks), hashes: maps.Clone(p.hashes), aside: slices.Clone(p.aside),
		sealed: maps.Clone(p.sealed), following: maps.Clone(p.following), backedUp: maps.Clone(p.backedUp), own: p.own,
	}
}

func newPatient() *patient {
	return &patient{
		marks: map[rom.Author]wire.Mark{}, hashes: map[rom.Ref]wire.Hash{}, sealed: map[rom.Ref][]byte{},
		following: map[rom.Author]int{}, backedUp: map[rom.Author]int64{},
	}
}

func (s *store) copy() *store {
	c := &store{epoch: s.epoch, clinic: s.clinic, patients: map[rom.PatientID]*patient{}, enrolled: maps.Clone(s.enrolled)}
	for id, p := range s.patients {
		c.patients[id] = p.copy()
	}
	return c
}

func newServer(w *world) *server {
	s := &server{w: w, now: &store{patients: map[rom.PatientID]*patient{}, enrolled: map[rom.Author]bool{}}, rows: map[rom.Author]*row{}, key: []byte("clinic")}
	s.newLife()
	return s
}

// draw makes a life that nobody had.
func (s *server) draw() life {
	s.lives++
	s.points = nil
	return life{epoch: fmt.Sprintf("epoch-%d", s.lives), clinic: rom.Author(fmt.Sprintf("c-%d", s.lives))}
}

// life is the one that the patient's log is in.
func (s *server) life(p *patient) life {
	if p.own.epoch != "" && p.own.of == s.now.epoch {
		return p.own
	}
	return life{epoch: s.now.epoch, clinic: s.now.clinic}
}

// rewound begins a new epoch of one log, of which a phone of the present one
// says that it lost its end.
func (s *server) rewound(p *patient, h wire.Header) {
	if h.Epoch != s.life(p).epoch {
		return
	}
	own := s.draw()
	own.of, p.own = s.now.epoch, own
}

// newLife begins a new epoch.
func (s *server) newLife() {
	l := s.draw()
	s.now.epoch, s.now.clinic = l.epoch, l.clinic
	for _, r := range s.rows {
		r.told = 0
	}
}

// commit puts the patient's new state on the disk, unless the server is
// killed before; killed reports that no answer leaves.
func (s *server) commit(id rom.PatientID, p *patient) (killed bool) {
	if s.w.broken(2) {
		s.pending = append(s.pending, func() { s.now.patients[id] = p })
		if s.crash == noCrash {
			if s.w.chance.one(2) {
				s.flush()
			}
			return false
		}
		s.pending, s.crash = nil, noCrash
		return true
	}
	if s.crash == beforeCommit {
		s.crash = noCrash
		return true
	}
	s.now.patients[id] = p
	if s.crash == afterCommit {
		s.crash = noCrash
		return true
	}
	return false
}

func (s *server) flush() {
	for _, f := range s.pending {
		f()
	}
	s.pending = nil
}

// enrol makes a row.
func (s *server) enrol(id rom.PatientID, a rom.Author) {
	s.rows[a] = &row{patient: id}
	s.now.enrolled[a] = true
}

// exchange answers a request whose token is of author.
func (s *server) exchange(author rom.Author, body []byte) ([]byte, error) {
	req, err := wire.ReadRequest(bytes.NewReader(body))
	if err != nil {
		return nil, err
	}
	r := s.rows[author]
	switch {
	case r == nil, !s.now.enrolled[author]:
		return nil, wire.Refuse(wire.UnknownDevice)
	case req.Header.Author != author:
		return nil, wire.Refuse(wire.Malformed)
	}
	id := r.patient
	if s.w.broken(9) && s.w.chance.one(4) {
		id = s.w.ids[s.w.chance.below(len(s.w.ids))] // as if the request could name the patient
	}
	if s.w.broken(6) {
		for _, l := range req.Lines {
			if _, err := wire.Decode(l); err != nil {
				return nil, wire.Refuse(wire.Malformed)
			}
		}
	}
	p := s.now.patients[id].copy()
	reply := wire.Reply{State: wire.Active, ServerTime: s.w.clock}
	v, err := s.accept(p, author, r, req)
	if err != nil {
		return nil, err
	}
	if v.Lost && !r.revoked && !s.w.broken(5, "server") {
		s.w.event("%s was told more than the store has", author)
		s.rewound(p, req.Header)
	}
	s.w.event("%s sends %d from %d, since %d: %d stored, %d aside, %q, mark %d", author, len(req.Lines), req.Header.From,
		req.Header.Since.Seq, len(v.Store), len(v.Quarantine), v.Code, v.Mark.N)
	var lines []wire.LogLine
	proven := false
	if r.revoked {
		reply.State = wire.Revoked
	}
	if !r.revoked || s.w.broken(8, "data") {
		proven = s.takeReturned(id, p, req.Returned)
		if v.Code == "" {
			lines = s.pull(&reply, p, req.Header)
		}
		lost := v.Lost || req.Header.Epoch != "" && req.Header.Epoch != s.life(p).epoch
		if claimed, had := req.Header.Following, p.following[author]; claimed != had {
			p.following[author] = replica.Following(claimed, had, p.lastRevision(), lost)
		}
	}
	killed := s.commit(id, p)
	if proven && s.now.patients[id] == p {
		s.newLife()
	}
	if killed {
		return nil, errNoAnswer
	}
	if v.Code == "" || v.Code == wire.Gap {
		r.told = max(r.told, v.Mark.N)
	}
	if v.Code != "" {
		e := wire.Refuse(v.Code)
		e.Ack = &v.Mark
		return nil, e
	}
	reply.Epoch, reply.Ack, reply.BackedUp = s.life(p).epoch, v.Mark, p.backedUp[author]
	var out bytes.Buffer
	if r.revoked && len(lines) > 0 { // wire.ReadReply would not let it pass
		s.w.fail("I9", "a revoked phone was given %d records", len(lines))
	}
	if err := wire.WriteReply(&out, reply, lines); err != nil {
		panic(err)
	}
	s.w.checkAnswer(r, p, req.Header, reply, lines)
	return out.Bytes(), nil
}

// accept judges the own lines and puts them where they belong.
func (s *server) accept(p *patient, author rom.Author, r *row, req wire.Request) (replica.Verdict, error) {
	stored := func(n int64) (wire.Hash, error) { return p.hashes[rom.Ref{Author: author, N: n}], nil }
	mark := p.marks[author]
	if s.w.broken(3, "gap") && req.Header.From > mark.N+1 && len(req.Lines) > 0 {
		if rec, err := wire.Decode(req.Lines[0]); err == nil {
			mark = wire.Mark{N: rec.N - 1, Hash: rec.Prev}
		}
	}
	if s.w.broken(3, "fork") {
		// As if other bytes under a known number were taken for known.
		stored = func(n int64) (wire.Hash, error) {
			if i := n - req.Header.From; i >= 0 && i < int64(len(req.Lines)) {
				return wire.HashOf(req.Lines[i]), nil
			}
			return "", nil
		}
	}
	v, err := replica.Accept(mark, req.Header, req.Lines, stored)
	if err != nil {
		return v, err
	}
	for _, q := range v.Quarantine {
		if q.Why != replica.Forked && len(s.w.flipped) == 0 {
			s.w.fail("I3", "%s wrote %d well and it was set aside: %s", author, q.N, q.Why)
		}
		if !slices.ContainsFunc(p.aside, func(o replica.Quarantined) bool { return o.Hash == q.Hash }) {
			p.aside = append(p.aside, q)
		}
		if q.Why != replica.Forked {
			p.hashes[rom.Ref{Author: author, N: q.N}] = q.Hash
		}
	}
	for _, l := range v.Store {
		ref := rom.Ref{Author: author, N: l.N}
		p.hashes[ref] = l.Hash
		if r.revoked {
			if !s.w.broken(8, "lost") {
				p.sealed[ref] = l.Bytes
			}
		} else {
			p.log = append(p.log, entry{ref: ref, line: l.Bytes, hash: l.Hash})
		}
	}
	p.marks[author] = v.Mark
	return v, nil
}

// takeReturned reports whether a line of the store's present life came back,
// which proves that the store lost its end.
func (s *server) takeReturned(id rom.PatientID, p *patient, lines [][]byte) (proven bool) {
	back, err := replica.AcceptReturned(
		func(a rom.Author) (wire.Mark, error) { return p.marks[a], nil }, lines,
		func(l []byte) bool { return wire.Sealed(l, s.key, id) })
	if err != nil {
		panic(err)
	}
	for _, l := range back {
		p.log = append(p.log, entry{ref: l.Ref, line: l.Bytes, hash: l.Hash, back: true})
		p.hashes[l.Ref] = l.Hash
		p.marks[l.Ref.Author] = wire.Mark{N: l.Ref.N, Hash: l.Hash}
		s.w.event("the clinic's %v came back", l.Ref)
		proven = proven || l.Ref.Author == s.now.clinic
	}
	return proven
}

// pull reads what the phone lacks, in small pieces so that there are many.
func (s *server) pull(reply *wire.Reply, p *patient, h wire.Header) []wire.LogLine {
	reply.Head = p.head()
	from, lost, err := replica.Resume(h.Since, reply.Head, func(seq int64) (wire.Hash, error) { return p.log[seq-1].hash, nil })
	if err != nil {
		panic(err)
	}
	if lost && s.w.broken(5, "server") {
		from, lost = min(h.Since.Seq, reply.Head.Seq)+1, false
		reply.Seq = h.Since.Seq + 1
	} else {
		reply.Seq = from
	}
	if lost {
		s.w.event("the server sees that it lost records")
		s.rewound(p, h)
	}
	var lines []wire.LogLine
	for seq := from; seq <= reply.Head.Seq && len(lines) < s.w.batch; seq++ {
		e := p.log[seq-1]
		lines = append(lines, wire.LogLine{Seq: seq, Bytes: e.line, Hash: e.hash})
	}
	reply.More = from+int64(len(lines))-1 < reply.Head.Seq
	return lines
}

func (p *patient) head() wire.Cursor {
	if len(p.log) == 0 {
		return wire.Cursor{}
	}
	return wire.Cursor{Seq: int64(len(p.log)), Hash: p.log[len(p.log)-1].hash}
}

func (p *patient) lines() [][]byte {
	var out [][]byte
	for _, e := range p.log {
		out = append(out, e.line)
	}
	return out
}

// write appends a clinic record.
func (s *server) write(id rom.PatientID, k wire.Kind, body any, at time.Time) (rom.Ref, bool) {
	raw, v, err := wire.EncodeBody(k, body)
	if err != nil {
		panic(err)
	}
	return s.writeRaw(id, k, v, raw, at)
}

func (s *server) writeRaw(id rom.PatientID, k wire.Kind, v int, raw []byte, at time.Time) (rom.Ref, bool) {
	p := s.now.patients[id].copy()
	clinic := s.life(p).clinic
	mark := p.marks[clinic]
	line, err := wire.Seal(wire.Record{
		Author: clinic, N: mark.N + 1, Prev: mark.Prev(), Salt: wire.Salt(s.w.chance.salt()), Kind: k, V: v,
		Run: "server", At: at, TZ: "Europe/Madrid", Body: raw,
	}, s.key, id)
	if err != nil {
		panic(err)
	}
	ref, hash := rom.Ref{Author: clinic, N: mark.N + 1}, wire.HashOf(line)
	p.log = append(p.log, entry{ref: ref, line: line, hash: hash})
	p.hashes[ref] = hash
	p.marks[clinic] = wire.Mark{N: ref.N, Hash: hash}
	killed := s.commit(id, p)
	s.flush()
	if s.now.patients[id] == p {
		s.w.wroteClinic(id, ref, hash, line)
	}
	return ref, !killed
}
