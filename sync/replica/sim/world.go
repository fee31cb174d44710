package sim

import (
	"context"
	"fmt"
	"time"

	"unsling/engine/rom"
	"unsling/sync/journal"
	"unsling/sync/replica"
	"unsling/sync/wire"
)

// Options says what to run. The zero value is a run with seed 0 and all
// faults.
type Options struct {
	Seed  uint64
	Steps int    // 0 for 400
	Break Break  // the rule to go against; "" for none
	Off   []Kind // faults to leave out
	Log   func(format string, args ...any)
}

// Kind is a kind of trouble.
type Kind string

// Kinds of trouble, to be left out one by one when a run is made smaller.
var Kinds = []Kind{"staff", "server", "kill", "evict", "roll back", "copy", "full", "flip", "clock", "prune", "two windows", "correct", "rejoin"}

// Failure is an invariant that did not hold.
type Failure struct {
	Seed      uint64
	Step      int
	Invariant string
	What      string
}

func (f *Failure) Error() string {
	return fmt.Sprintf("seed %d, step %d: %s: %s", f.Seed, f.Step, f.Invariant, f.What)
}

// world is one run.
type world struct {
	o       Options
	chance  chance
	clock   time.Time
	step    int
	server  *server
	ids     []rom.PatientID
	phones  []*phone
	late    []func() // messages under way for long
	quiet   bool     // the faults have stopped
	off     map[Kind]bool
	batch   int // lines in one answer
	runs    int
	authors int

	old int // an older server runs until this step

	restores, cuts int
	lastPulled     int

	kept    map[string]*keptRecord // by salt
	order   []string
	written map[wire.Hash]bool
	flipped map[rom.Ref]bool
	hurt    map[string]bool // salts of what was flipped, before and after
	clinic  map[rom.Ref][]clinicLine
	voided  map[string]string // salts: what a phone took back, and by what
	watched map[rom.PatientID]*watch
}

// keptRecord is a record that a phone called kept.
type keptRecord struct {
	ph    *phone
	ref   rom.Ref
	index int // among those of the phone
	gone  bool
}

type clinicLine struct {
	patient rom.PatientID
	hash    wire.Hash
	line    []byte
}

// Run plays one seed and returns a *Failure if an invariant did not hold.
func Run(o Options) (err error) {
	if o.Steps == 0 {
		o.Steps = 400
	}
	w := &world{
		o: o, chance: chance{o.Seed*0x9e3779b97f4a7c15 + 1}, clock: time.Date(2026, 2, 1, 7, 0, 0, 0, time.UTC), off: map[Kind]bool{},
		kept: map[string]*keptRecord{}, written: map[wire.Hash]bool{}, flipped: map[rom.Ref]bool{}, hurt: map[string]bool{},
		clinic: map[rom.Ref][]clinicLine{}, voided: map[string]string{}, watched: map[rom.PatientID]*watch{},
	}
	for _, k := range o.Off {
		w.off[k] = true
	}
	defer func() {
		switch r := recover().(type) {
		case nil:
		case *Failure:
			err = r
		default:
			panic(fmt.Sprintf("seed %d, step %d: %v", o.Seed, w.step, r))
		}
	}()
	w.populate()
	for w.step = 1; w.step <= o.Steps; w.step++ {
		w.clock = w.clock.Add(time.Duration(w.chance.below(3600)) * time.Second)
		w.act()
		w.checkServer()
	}
	w.settle()
	w.checkRest()
	return nil
}

func (w *world) fail(invariant, format string, args ...any) {
	panic(&Failure{w.o.Seed, w.step, invariant, fmt.Sprintf(format, args...)})
}

func (w *world) event(format string, args ...any) {
	if w.o.Log != nil {
		w.o.Log("%4d  "+format, append([]any{w.step}, args...)...)
	}
}

func (w *world) newAuthor() rom.Author {
	w.authors++
	return rom.Author(fmt.Sprintf("p-%d", w.authors))
}

func (w *world) populate() {
	w.batch = 1 + w.chance.below(12)
	w.server = newServer(w)
	for i := range 2 {
		id := rom.PatientID(fmt.Sprintf("patient-%d", i+1))
		w.ids = append(w.ids, id)
		w.server.now.patients[id] = newPatient()
		ep := rom.Episode{ID: episode(id), Version: 1, State: rom.Planned, Side: rom.Left, Procedures: rom.Procedures[:1], By: "ana"}
		w.server.write(id, wire.KindEpisode, ep, w.clock)
		w.revise(id, replica.Fold(w.server.now.patients[id].lines()...))
		for range 1 + w.chance.below(2) {
			w.newPhone(id, journal.NewDisk(), true)
		}
	}
}

// newPhone puts a phone into the world; a fresh one is enrolled.
func (w *world) newPhone(id rom.PatientID, d *journal.Disk, fresh bool) *phone {
	ph := &phone{w: w, name: fmt.Sprintf("phone %d", len(w.phones)+1), patient: id, disk: d}
	w.phones = append(w.phones, ph)
	if fresh {
		ph.enrol()
	}
	for range 2 {
		ph.windows = append(ph.windows, newWindow(ph))
	}
	return ph
}

func (ph *phone) enrol() {
	a := ph.w.newAuthor()
	ph.w.server.enrol(ph.patient, a)
	st := replica.State{Author: a, Epoch: ph.w.server.now.epoch}
	err := ph.disk.Open().Commit(context.Background(), journal.Batch{Meta: journal.StateItems(st, true)})
	if err != nil {
		panic(err)
	}
	ph.w.event("%s of %s enrolled as %s", ph.name, ph.patient, a)
}

func (w *world) revokedPhone(ph *phone) bool {
	r := w.server.rows[ph.author()]
	return r != nil && r.revoked
}

// act lets one thing happen.
func (w *world) act() {
	switch n := w.chance.below(100); {
	case n < 74:
		w.windowAct()
	case n < 83:
		if !w.off["staff"] {
			w.staffAct()
		}
	case n < 92:
		if !w.off["server"] {
			w.serverAct()
		}
	default:
		w.phoneAct(pick(&w.chance, w.phones))
	}
}

// windowAct lets one window go a step further.
func (w *world) windowAct() {
	ph := pick(&w.chance, w.phones)
	win := ph.windows[0]
	if !w.off["two windows"] {
		win = pick(&w.chance, ph.windows)
	}
	if !win.busy() {
		switch w.chance.below(5) {
		case 0, 1:
			win.begin(win.sync)
		case 2:
			if win.session == nil && win.obeys.Rev > 0 {
				plan := win.obeys
				win.session = &plan
			} else {
				win.session = nil
			}
			win.follow()
			return
		default:
			win.begin(func() { win.record(w.chance.below(9)) })
		}
	}
	for range 1 + w.chance.below(12) {
		if win.busy() {
			win.step()
		}
	}
}

// phoneAct is one thing that happens to a phone.
func (w *world) phoneAct(ph *phone) {
	type fate struct {
		kind Kind
		odds int
		do   func()
	}
	fates := []fate{
		{"kill", 6, func() { i := w.chance.below(2); ph.windows[i] = ph.windows[i].kill() }},
		{"evict", 1, ph.evict},
		{"roll back", 3, ph.rollBack},
		{"copy", 1, ph.clone},
		{"full", 2, func() { ph.disk.Limit(w.chance.below(2) * (ph.disk.Size() + w.chance.below(2000))) }},
		{"flip", 1, ph.flip},
		{"clock", 2, func() {
			ph.skew = time.Duration(w.chance.below(400)-100) * 24 * time.Hour
			ph.ahead = max(ph.ahead, ph.skew)
		}},
		{"rejoin", 3, func() {
			if !ph.windows[0].busy() {
				ph.windows[0].begin(ph.windows[0].rejoin)
			}
		}},
		{"prune", 3, func() {
			if !ph.windows[0].busy() {
				ph.windows[0].begin(func() { ph.windows[0].syncer.Prune(context.Background()) })
			}
		}},
	}
	total := 0
	for _, f := range fates {
		total += f.odds
	}
	n := w.chance.below(total)
	for _, f := range fates {
		if n -= f.odds; n < 0 {
			if !w.off[f.kind] {
				f.do()
			}
			return
		}
	}
}

func (ph *phone) restart() {
	for i, win := range ph.windows {
		ph.windows[i] = win.kill()
	}
}

// evict empties the disk; the clinic enrols the phone again.
func (ph *phone) evict() {
	ph.restart()
	ph.disk.Evict()
	ph.disk.Limit(0)
	ph.past = nil
	ph.lose(0)
	ph.w.event("%s: storage evicted", ph.name)
	ph.enrol()
}

// rollBack takes the disk to an earlier state, or remembers the present one.
func (ph *phone) rollBack() {
	if ph.past == nil || ph.w.chance.one(2) {
		ph.past, ph.pastAt = ph.disk.Copy(), ph.kept
		return
	}
	ph.restart()
	ph.disk.Become(ph.past)
	ph.lose(ph.pastAt)
	ph.w.event("%s: disk rolled back", ph.name)
}

// lose excuses the records kept since the phone had so many: the disk lost
// them. Those that the server has are still expected of nobody else.
func (ph *phone) lose(since int) {
	for _, k := range ph.w.kept {
		if k.ph == ph && k.index >= since {
			k.gone = true
		}
	}
}

// clone restores a copy of the phone to another device; both go on.
func (ph *phone) clone() {
	if len(ph.w.phones) >= 7 {
		return
	}
	other := ph.w.newPhone(ph.patient, ph.disk.Copy(), false)
	other.ahead = ph.ahead
	ph.w.event("%s is a copy of %s", other.name, ph.name)
}
