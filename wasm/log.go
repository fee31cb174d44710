package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"strconv"
	"sync"
	"sync/atomic"
	"time"

	"unsling/app/screen"
	"unsling/engine/rom"
	"unsling/sync/client"
	"unsling/sync/journal"
	"unsling/sync/replica"
	"unsling/sync/wire"
)

// keptPrefix marks the small values of the screens among those of the journal.
const keptPrefix = "app."

// phoneLog is the journal as the screens see it: the disk, and one snapshot of what it says. It is a screen.Journal.
type phoneLog struct {
	store   journal.Store
	writer  *journal.Writer
	version string
	now     func() time.Time
	wrote   func() // told after each append, to send it

	mu     sync.Mutex // guards what follows; never held while the disk works
	folder *replica.Folder
	facts  screen.Facts
	subs   map[int]func()
	lastID int

	at      mark       // how far the folder has the disk; what lies beyond was written by another window
	reading sync.Mutex // one reading of the disk at a time
	reads   bool       // a reading is under way
	late    [][]byte   // learned since it began

	looks  atomic.Int64 // how many looks have begun
	looked int64        // which of them the facts are of; guarded by mu

	ended  atomic.Bool    // the phone was emptied: nothing is read any more
	writes sync.WaitGroup // what is being written for the screens
}

// parts are what the program gives to the log: who writes, clock and chance.
type parts struct {
	version string
	run     string // this start of the app
	mono    func() int64
	now     func() time.Time
	zone    func() string
	salt    func() [16]byte
}

func newLog(store journal.Store, p parts) *phoneLog {
	l := &phoneLog{store: store, version: p.version, now: p.now, folder: &replica.Folder{}}
	l.writer = &journal.Writer{
		Store: store, Author: journal.Author(store), Run: p.run, Mono: p.mono, Now: p.now, Zone: p.zone, Salt: p.salt,
		Rev: func() int { return l.Facts().Following },
	}
	return l
}

// read reads the whole disk: at the start, and when another window may have written.
func (l *phoneLog) read(ctx context.Context) error {
	if l.ended.Load() {
		return nil
	}
	l.reading.Lock()
	defer l.reading.Unlock()
	l.mu.Lock()
	l.reads = true
	l.mu.Unlock()
	at, err := l.mark(ctx) // before the lines: what comes in between is read once more
	var folder *replica.Folder
	if err == nil {
		folder, err = journal.Fold(ctx, l.store)
	}
	l.took(at, folder, err)
	if err != nil {
		return l.trouble(err)
	}
	return l.look(ctx)
}

// took replaces the folder by one that was read, with what came in meanwhile.
func (l *phoneLog) took(at mark, folder *replica.Folder, err error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if err == nil {
		l.at = at
		for _, line := range l.late {
			folder.Add(line)
		}
		l.folder = folder
	}
	l.reads, l.late = false, nil
}

// end is called before the disk is emptied: what is read after it would be taken for a loss.
func (l *phoneLog) end() {
	l.ended.Store(true)
	l.reading.Lock() // until a reading that is under way is over
	defer l.reading.Unlock()
}

// look makes a new snapshot from the folder and the small values on the disk.
func (l *phoneLog) look(ctx context.Context) error {
	turn := l.looks.Add(1)
	st, err := journal.LoadState(ctx, l.store)
	if err != nil {
		return l.trouble(err)
	}
	in, err := client.Load(ctx, l.store)
	if err != nil {
		return l.trouble(err)
	}
	sending, err := l.unsent(ctx, st)
	if err != nil {
		return l.trouble(err)
	}
	history, newer := l.folded()
	l.change(func(f *screen.Facts) {
		if turn < l.looked { // one that began later has been here: what was received must not wait again
			return
		}
		l.looked = turn
		f.Loaded = true
		if f.Trouble == screen.TroubleFull {
			f.Trouble = screen.TroubleNone
		}
		f.Account = accountOf(in, st)
		f.History, f.NeedsUpdate = history, newer
		f.Following = followed(history, rom.DateOf(l.now()))
		sending.Busy, sending.Failed = f.Sending.Busy, f.Sending.Failed
		f.Sending = sending
	})
	return nil
}

// folded is what the records say together.
func (l *phoneLog) folded() (h rom.History, newer bool) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.folder.History(), l.folder.NeedsUpdate()
}

// unsent is how far the own records have come.
func (l *phoneLog) unsent(ctx context.Context, st replica.State) (screen.Sending, error) {
	s := screen.Sending{Author: st.Author, Acked: st.Acked.N, Contact: st.Contact, Confirmed: st.Contact}
	if data, err := l.store.Meta(ctx, keptPrefix+aheadName); err == nil {
		seconds, _ := strconv.ParseInt(string(data), 10, 64)
		s.Ahead = time.Duration(seconds) * time.Second
	}
	if st.Author == "" {
		return s, nil
	}
	tail, err := journal.Tail(ctx, l.store, st.Author)
	if err != nil {
		return s, err
	}
	s.Written = tail.N
	rows, err := l.store.Rows(ctx, st.Author, st.Acked.N+1, 1000)
	if err != nil {
		return s, err
	}
	for _, r := range rows {
		if rec, err := wire.Decode(r.Line); err == nil && r.N != replica.Barrier {
			s.Unsent = append(s.Unsent, screen.Waiting{Kind: string(rec.Kind), At: rec.At})
		}
	}
	return s, nil
}

// mark is how far a disk has come.
type mark struct {
	author  rom.Author
	own     int64 // the highest number of an own record
	since   wire.Cursor
	pass    int64
	revoked bool
}

func (l *phoneLog) mark(ctx context.Context) (mark, error) {
	st, err := journal.LoadState(ctx, l.store)
	if err != nil {
		return mark{}, err
	}
	m := mark{author: st.Author, since: st.Since, pass: st.Pull, revoked: st.Revoked}
	if st.Author != "" {
		tail, err := journal.Tail(ctx, l.store, st.Author)
		if err != nil {
			return mark{}, err
		}
		m.own = tail.N
	}
	return m, nil
}

// catchUp reads the disk again if another window has written to it: a stop
// that it fetched, or a warning sign that was told there, holds here as well.
func (l *phoneLog) catchUp(ctx context.Context) error {
	if !l.Facts().Loaded || l.ended.Load() {
		return nil
	}
	now, err := l.mark(ctx)
	if err != nil {
		return l.trouble(err)
	}
	l.mu.Lock()
	same := now == l.at
	l.mu.Unlock()
	if same {
		return nil
	}
	return l.read(ctx)
}

// aheadName is the small value that says how far the clock was ahead at the last contact, in seconds.
const aheadName = "clock-ahead"

// noteClock compares the clock with the server's at a contact that was just made. Half a day is no fault: zones and slow
// answers lie below it.
func (l *phoneLog) noteClock(ctx context.Context, contact time.Time) {
	ahead := l.now().Sub(contact).Round(time.Second)
	if ahead < 12*time.Hour {
		ahead = 0
	}
	if was := l.Facts().Sending.Ahead; was == ahead || ahead > 0 && (ahead-was).Abs() < time.Hour {
		return
	}
	if l.Keep(aheadName, []byte(strconv.FormatInt(int64(ahead/time.Second), 10))) == nil {
		_ = l.look(ctx) // its trouble is in the facts
	}
}

// pulled notes how far this window's own exchange has come: its lines were learned.
func (l *phoneLog) pulled(ctx context.Context) {
	now, err := l.mark(ctx)
	if err != nil {
		return // the next look reads it all
	}
	l.mu.Lock()
	defer l.mu.Unlock()
	now.own = l.at.own
	l.at = now
}

// learn takes in lines that are new on the disk, wherever they came from.
func (l *phoneLog) learn(ctx context.Context, lines [][]byte) {
	l.add(lines)
	_ = l.look(ctx) // its trouble is in the facts
}

func (l *phoneLog) add(lines [][]byte) {
	l.mu.Lock()
	defer l.mu.Unlock()
	for _, line := range lines {
		l.folder.Add(line)
		if rec, err := wire.Decode(line); err == nil && rec.Author == l.at.author && rec.N == l.at.own+1 {
			l.at.own++ // after a gap it stays: what lies in it is another window's
		}
	}
	if l.reads {
		l.late = append(l.late, lines...)
	}
}

// Append writes one record and returns when it is durable.
func (l *phoneLog) Append(kind string, body any) (rom.Ref, error) {
	ctx := context.Background()
	if !l.Facts().Loaded {
		return rom.Ref{}, screen.ErrStorage
	}
	l.writes.Add(1)
	defer l.writes.Done()
	a, err := l.writer.Append(ctx, wire.Kind(kind), body)
	if err != nil {
		return rom.Ref{}, l.trouble(err)
	}
	l.learn(ctx, [][]byte{a.Line})
	if l.wrote != nil {
		l.wrote()
	}
	return a.Ref, nil
}

// Keep replaces a small value that is never sent; nil deletes.
func (l *phoneLog) Keep(name string, data []byte) error {
	l.writes.Add(1)
	defer l.writes.Done()
	return l.trouble(l.store.Commit(context.Background(), journal.Batch{Meta: []journal.Item{{Name: keptPrefix + name, Value: data}}}))
}

// settle waits until what the screens were keeping is kept, or ctx ends.
func (l *phoneLog) settle(ctx context.Context) {
	done := make(chan struct{})
	go func() { l.writes.Wait(); close(done) }()
	select {
	case <-done:
	case <-ctx.Done():
	}
}

// Kept returns such a value, nil if there is none.
func (l *phoneLog) Kept(name string) ([]byte, error) {
	data, err := l.store.Meta(context.Background(), keptPrefix+name)
	return data, l.trouble(err)
}

// Export is every record line as it was written, one a line, after a first line that says what this is.
func (l *phoneLog) Export() ([]byte, error) {
	head, err := json.Marshal(map[string]any{
		"unsling_export": 1, "app": l.version, "author": l.Facts().Sending.Author, "at": l.now().Format(time.RFC3339),
	})
	if err != nil {
		return nil, err
	}
	var out bytes.Buffer
	out.Write(append(head, '\n'))
	err = l.store.Each(context.Background(), func(r journal.Row) error {
		out.Write(append(bytes.Clone(r.Line), '\n'))
		return nil
	})
	return out.Bytes(), l.trouble(err)
}

// trouble puts a failure of the disk into the facts, and into the words of the screens. Other errors pass.
func (l *phoneLog) trouble(err error) error {
	var is screen.Trouble
	told := screen.ErrStorage
	switch {
	case err == nil:
		return nil
	case errors.Is(err, wire.ErrBody), errors.Is(err, wire.ErrTooLong), errors.Is(err, journal.ErrNobody):
		return err
	case errors.Is(err, journal.ErrFull):
		is, told = screen.TroubleFull, screen.ErrFull
	case isGone(err):
		is = screen.TroubleLost
	case errors.Is(err, errNoDisk):
		is = screen.TroubleRefused
	}
	if is != "" {
		l.change(func(f *screen.Facts) {
			if f.Trouble != screen.TroubleKeyLost { // that says more
				f.Trouble = is
			}
		})
	}
	return fmt.Errorf("%w: %w", told, err)
}

// followed is the revision that the phone has recorded to follow, for the episode that counts today.
func followed(h rom.History, today rom.Date) int {
	return replica.Followed(h, h.Current(today))
}
