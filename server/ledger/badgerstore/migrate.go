package badgerstore

import (
	"errors"
	"fmt"

	"unsling/server/ledger"
)

// ladder is the layouts that this program knows: the newest, and the step
// that leads to each from the one below. Steps only go up.
type ladder struct {
	newest int
	steps  map[int]step // by the layout that they lead to
	// between is called before every transaction of a step, for tests that
	// break off there.
	between func() error
}

// layouts are those of this program. The fixtures in testdata hold a store of
// each; a new layout needs its step here and its fixture there.
var layouts = ladder{newest: schema}

// step changes a store from one layout to the next.
type step struct {
	what string // one sentence for who waits
	// some changes rows after the key given ("" at first), as many as fit one
	// transaction (a few hundred), and returns the last key that it has seen
	// to, "" when there is nothing left, and how many rows it changed. What it
	// returns is stored with what it changed, in one transaction.
	some func(s *Store, t *txn, after string) (last string, rows int64, err error)
}

// moving is the row that marks a store on its way between two layouts. From
// its first moment the store carries the number of the layout to come, so
// that an older program refuses it too.
type moving struct {
	From  int    `json:"from"`
	To    int    `json:"to"`
	After string `json:"after"`
	Rows  int64  `json:"rows"`
}

func movingKey() []byte { return metaKey("moving") }

// Migrated is what a migration came to.
type Migrated struct {
	From, To int
	Rows     int64
	Resumed  bool // an earlier one had been broken off
}

// Migrate brings the store in a folder to the layout of this program. It may
// be broken off at any time: until it has been called again and has finished,
// the store does not open. ErrNewer if the store is ahead of this program.
func Migrate(dir string, opt Options, say func(format string, args ...any)) (Migrated, error) {
	var m Migrated
	s, err := openDB(dir, opt)
	if err != nil {
		return m, err
	}
	m, err = s.migrate(say)
	if err != nil {
		err = fmt.Errorf("migrate: %w", err)
	}
	return m, errors.Join(err, s.db.Close())
}

func (s *Store) migrate(say func(format string, args ...any)) (Migrated, error) {
	var m Migrated
	var at moving
	var under bool
	err := s.view(func(t *txn) error {
		if err := t.row(metaKey("about"), &s.about); err != nil {
			return err
		}
		var err error
		if at, under, err = t.moving(); err != nil {
			return err
		}
		return s.checkKEK(t)
	})
	if err != nil {
		return m, err
	}
	l := s.opt.ladder()
	m = Migrated{From: s.about.Schema, To: l.newest, Resumed: under}
	if under {
		m.From = at.From
	}
	if s.about.Schema > l.newest {
		return m, fmt.Errorf("%w (layout %d, this one knows %d)", ledger.ErrNewer, s.about.Schema, l.newest)
	}
	for under || s.about.Schema < l.newest {
		if !under {
			if at, err = s.beginStep(); err != nil {
				return m, err
			}
		}
		rows, err := s.climb(l, at, say)
		m.Rows += rows
		if err != nil {
			return m, err
		}
		under = false
	}
	return m, nil
}

// moving reads the mark of a migration that was begun.
func (t *txn) moving() (m moving, under bool, err error) {
	err = t.row(movingKey(), &m)
	if errors.Is(err, ledger.ErrUnknown) {
		return m, false, nil
	}
	return m, err == nil, err
}

// beginStep raises the layout's number and leaves the mark.
func (s *Store) beginStep() (moving, error) {
	at := moving{From: s.about.Schema, To: s.about.Schema + 1}
	about := s.about
	about.Schema = at.To
	return at, s.update(func(t *txn) error {
		t.done = append(t.done, func() { s.about = about })
		return errors.Join(t.putRow(metaKey("about"), about), t.putRow(movingKey(), at))
	})
}

// climb carries out one step from where it stands.
func (s *Store) climb(l ladder, at moving, say func(format string, args ...any)) (rows int64, err error) {
	step, ok := l.steps[at.To]
	if !ok {
		return 0, fmt.Errorf("there is no step from layout %d to %d", at.From, at.To)
	}
	say("layout %d to %d: %s", at.From, at.To, step.what)
	for finished := false; !finished; {
		if l.between != nil {
			if err := l.between(); err != nil {
				return rows, err
			}
		}
		next := at
		err := s.update(func(t *txn) error {
			last, n, err := step.some(s, t, at.After)
			if err != nil {
				return err
			}
			finished = last == ""
			next.After, next.Rows = last, at.Rows+n
			if finished {
				return t.Delete(movingKey())
			}
			return t.putRow(movingKey(), next)
		})
		if err != nil {
			return rows, fmt.Errorf("layout %d to %d after %d rows: %w", at.From, at.To, at.Rows, err)
		}
		rows += next.Rows - at.Rows
		if next.Rows/50_000 > at.Rows/50_000 {
			say("%d rows...", next.Rows)
		}
		at = next
	}
	return rows, nil
}
