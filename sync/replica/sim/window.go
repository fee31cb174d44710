package sim

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"iter"
	"time"

	"unsling/engine/rom"
	"unsling/sync/client"
	"unsling/sync/journal"
	"unsling/sync/replica"
	"unsling/sync/wire"
)

// errKilled is what a window sees of the world once it was killed.
var errKilled = errors.New("killed")

// phone is one device: a disk and the windows over it.
type phone struct {
	w       *world
	name    string
	patient rom.PatientID
	disk    *journal.Disk
	windows []*window
	skew    time.Duration // of its clock
	ahead   time.Duration // the most that its clock ever was ahead
	past    *journal.Disk // an earlier state of the disk
	pastAt  int           // records called kept until then
	kept    int           // records called kept
}

func (ph *phone) state() replica.State {
	st, err := journal.LoadState(context.Background(), ph.disk.Open())
	if err != nil {
		panic(err)
	}
	return st
}

func (ph *phone) author() rom.Author { return ph.state().Author }

// window is one start of the app.
type window struct {
	ph      *phone
	w       *world
	store   *faulty
	writer  *journal.Writer
	syncer  *client.Syncer
	folder  replica.Folder
	arrived [][]byte // everything as it came, for runs against rules 11 and 13
	loaded  bool
	session *rom.Plan // of a session that is running
	obeys   rom.Plan
	adopt   bool // a revision is to be recorded as followed
	last    client.Result
	lastErr error

	next  func() (struct{}, bool)
	stop  func()
	yield func(struct{}) bool
	dead  bool
}

func newWindow(ph *phone) *window {
	w := ph.w
	w.runs++
	win := &window{ph: ph, w: w}
	win.store = &faulty{Mem: ph.disk.Open(), win: win}
	start := w.clock
	win.writer = &journal.Writer{
		Store: win.store, Author: journal.Author(win.store), Run: fmt.Sprintf("run-%d", w.runs),
		Mono: func() int64 { return w.clock.Sub(start).Milliseconds() },
		Now:  func() time.Time { return w.clock.Add(ph.skew) },
		Zone: func() string { return "Europe/Madrid" },
		Rev:  func() int { return win.obeys.Rev }, Salt: w.chance.salt,
	}
	win.syncer = &client.Syncer{
		Store: win.store, Server: win, App: "sim", Now: win.writer.Now,
		Following: func() int { return win.obeys.Rev },
		Learned:   win.learn,
		Notice:    func(n replica.Notable) { w.event("%s: %s", ph.name, n) },
	}
	return win
}

// begin starts an operation as a coroutine.
func (win *window) begin(op func()) {
	win.next, win.stop = iter.Pull(func(yield func(struct{}) bool) {
		win.yield = yield
		win.load()
		op()
	})
}

// step lets the operation go on to its next pause.
func (win *window) step() {
	if _, more := win.next(); !more {
		win.next, win.stop, win.yield = nil, nil, nil
	}
}

func (win *window) busy() bool { return win.next != nil }

// finish runs the operation to its end.
func (win *window) finish() {
	for win.busy() {
		win.step()
	}
}

// kill ends the window between two operations; what it knew is gone.
func (win *window) kill() *window {
	if win.busy() {
		win.dead = true
		win.stop()
	}
	return newWindow(win.ph)
}

// pause hands over to the world. After a kill nothing works any more.
func (win *window) pause() error {
	if win.dead {
		return errKilled
	}
	if win.yield != nil && !win.yield(struct{}{}) {
		win.dead = true
		return errKilled
	}
	return nil
}

// load folds what is on the disk, as the app does when it starts.
func (win *window) load() {
	if win.loaded {
		return
	}
	err := win.store.Each(context.Background(), func(r journal.Row) error {
		win.take(r.Line)
		return nil
	})
	if err == nil {
		win.loaded = true
		win.follow()
	}
}

func (win *window) take(line []byte) {
	win.folder.Add(line)
	win.arrived = append(win.arrived, line)
}

func (win *window) learn(lines [][]byte) {
	for _, l := range lines {
		win.take(l)
	}
	win.follow()
}

// follow decides which plan is obeyed, and checks that nothing wider is.
func (win *window) follow() {
	h := win.folder.History()
	ep := episode(win.ph.patient)
	running := win.session
	a, ok := replica.Adopt(h, ep, running)
	if !ok {
		return
	}
	if win.w.broken(10, "wide") && running != nil {
		a = replica.Adoption{Plan: *running}
	}
	win.obeys, win.adopt = a.Plan, a.New
	if running != nil && a.Narrowed {
		win.session = &a.Plan
	}
	newest, _ := h.Plan(ep)
	if newest.State == rom.Stopped && a.Plan.State != rom.Stopped || ceiling(a.Plan) > ceiling(newest) {
		win.w.fail("I10", "%s obeys revision %d although %d permits less", win.ph.name, a.Plan.Rev, newest.Rev)
	}
}

func ceiling(p rom.Plan) rom.Degrees {
	if p.State == rom.Stopped {
		return 0
	}
	return p.Phases[0].Limit(rom.ForwardFlexion).Ceiling
}

// sync is one run of exchanges.
func (win *window) sync() {
	win.last, win.lastErr = win.syncer.Sync(context.Background())
	if win.lastErr != nil && !errors.Is(win.lastErr, client.ErrNoAnswer) && !win.dead && !win.w.quiet {
		win.w.event("%s: %v", win.ph.name, win.lastErr)
	}
}

// Exchange is the network between the window and the server.
func (win *window) Exchange(_ context.Context, req wire.Request) (wire.Reply, []wire.LogLine, error) {
	none := func(err error) (wire.Reply, []wire.LogLine, error) { return wire.Reply{}, nil, err }
	if st := win.ph.state(); st.Again || st.Return {
		win.w.event("%s: pass %d, again %v, returns %d (%v)", win.ph.name, st.Pull, st.Again, len(req.Returned), st.Return)
	}
	if win.w.broken(14) {
		req.Returned = nil
	}
	req.Returned = append(req.Returned, win.forged()...)
	var b bytes.Buffer
	if err := wire.WriteRequest(&b, req); err != nil {
		panic(err)
	}
	if err := win.pause(); err != nil {
		return none(err)
	}
	w, body, author := win.w, b.Bytes(), req.Header.Author
	if !w.quiet && w.step < w.old {
		return none(wire.Refuse(wire.TooNew))
	}
	again := func() { w.server.exchange(author, body) }
	if !w.quiet {
		switch w.chance.below(14) {
		case 0:
			return none(client.ErrNoAnswer) // lost on the way
		case 1:
			w.late = append(w.late, again) // arrives when nobody waits any more
			return none(client.ErrNoAnswer)
		case 2:
			again() // the answer is lost
			return none(client.ErrNoAnswer)
		case 3:
			again() // doubled
		case 4:
			w.late = append(w.late, again) // doubled, much later
		case 5:
			if len(req.Lines) > 1 {
				return none(wire.Refuse(wire.TooBig)) // says something in between
			}
		case 6:
			return none(wire.Refuse(wire.Unavailable))
		}
	}
	out, err := w.server.exchange(author, body)
	if dead := win.pause(); dead != nil { // the answer is on its way
		return none(dead)
	}
	gap := errors.Is(err, wire.Refuse(wire.Gap))
	if errors.Is(err, errNoAnswer) || gap && w.broken(5, "phone") {
		return none(client.ErrNoAnswer)
	}
	if err != nil {
		return none(err)
	}
	reply, lines, err := wire.ReadReply(bytes.NewReader(out))
	if err != nil {
		panic(err)
	}
	w.lastPulled += len(lines)
	if w.broken(5, "phone") && reply.Ack.N < win.ph.state().Acked.N {
		reply.Ack = win.ph.state().Acked
	}
	if w.broken(4, "prune") {
		reply.BackedUp = 1 << 40
	}
	return reply, lines, nil
}

// forged is now and then a clinic line that the clinic never wrote for this
// patient: with no seal of the clinic's, or one for somebody else.
func (win *window) forged() [][]byte {
	w := win.w
	if w.quiet || !w.chance.one(30) {
		return nil
	}
	key, id := []byte("not the clinic's"), win.ph.patient
	if w.chance.one(2) {
		key, id = w.server.key, w.ids[0]
		if id == win.ph.patient {
			id = w.ids[1]
		}
	}
	p := w.server.now.patients[win.ph.patient]
	clinic := w.server.life(p).clinic
	mark := p.marks[clinic]
	line, err := wire.Seal(wire.Record{
		Author: clinic, N: mark.N + 1, Prev: mark.Prev(), Salt: wire.Salt(w.chance.salt()), Kind: wire.KindNote, V: 1,
		Run: "forger", At: w.clock, TZ: "UTC", Body: []byte(`{"text":"all limits are lifted"}`),
	}, key, id)
	if err != nil {
		panic(err)
	}
	return [][]byte{line}
}

// rejoin is what a person does whose phone the clinic does not know any more.
func (win *window) rejoin() {
	st := win.ph.state()
	if !st.Unknown {
		return
	}
	w := win.w
	a := w.newAuthor()
	w.server.enrol(win.ph.patient, a)
	if err := client.Become(context.Background(), win.store, st, a, w.server.now.epoch); err == nil {
		w.event("%s was not known any more and becomes %s", win.ph.name, a)
	}
}

// Register makes a device of its own of a copy.
func (win *window) Register(_ context.Context, old rom.Author) (rom.Author, error) {
	if err := win.pause(); err != nil {
		return "", err
	}
	w := win.w
	if w.broken(12) {
		return "", client.ErrNoAnswer
	}
	r := w.server.rows[old]
	if r == nil || r.revoked {
		return "", wire.Refuse(wire.Forbidden)
	}
	a := w.newAuthor()
	w.server.enrol(r.patient, a)
	w.event("%s was a copy of %s and becomes %s", win.ph.name, old, a)
	return a, nil
}
