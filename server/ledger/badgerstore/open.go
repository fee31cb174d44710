package badgerstore

import (
	"encoding/base64"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"github.com/dgraph-io/badger/v4"
	"github.com/dgraph-io/badger/v4/options"

	"unsling/engine/rom"
	"unsling/server/ledger"
)

// Options are what a store needs beside its folder.
type Options struct {
	Content   []byte // 32 bytes: wraps the patients' content keys
	ClinicMAC []byte // 32 bytes: seals the clinic's lines
	Fold      ledger.Fold
	Chance    io.Reader
	Run       string    // name of this start of the server, for the clinic's lines
	Started   time.Time // of this start; also the store's birthday if it is new

	layouts *ladder // nil for those of this program; tests have others
}

func (o Options) ladder() ladder {
	if o.layouts != nil {
		return *o.layouts
	}
	return layouts
}

// schema is the version of the layout of keys and rows.
const schema = 1

// Store implements ledger.Store.
type Store struct {
	db    *badger.DB
	opt   Options
	vault *vault
	cache factsCache

	closed func() error // what is left to do when badger is closed; may be nil

	room atomic.Int32 // a ledger.Room

	mu    sync.Mutex // held by the one writer
	about ledger.About
}

var _ ledger.Store = (*Store)(nil)

// Open opens or creates the store in a folder. Another process there is
// ledger.ErrLocked.
func Open(dir string, opt Options) (*Store, error) {
	if dir == "" {
		return nil, errors.New("open store: no folder given")
	}
	return open(settings(badger.DefaultOptions(dir)), opt)
}

// OpenMemory makes a store that ends with the process, for tests.
func OpenMemory(opt Options) (*Store, error) {
	return open(settings(badger.DefaultOptions("").WithInMemory(true)), opt)
}

// settings are for a small machine: measured 28 MB resident with two million
// records against 360 MB with badger's own. Values beyond 32 KiB (facts,
// documents) go to the value log, so that a transaction never grows too big.
// Merging tables at four instead of two takes an eighth off the work of a load.
func settings(o badger.Options) badger.Options {
	return o.
		WithSyncWrites(true).
		WithDetectConflicts(true).
		WithVerifyValueChecksum(true).
		WithMemTableSize(8 << 20).
		WithNumMemtables(2).
		WithNumLevelZeroTables(4).
		WithNumLevelZeroTablesStall(8).
		WithNumCompactors(2).
		WithBlockCacheSize(4 << 20).
		WithIndexCacheSize(4 << 20).
		WithValueThreshold(32 << 10).
		WithValueLogFileSize(32 << 20).
		WithCompression(options.None).
		WithMetricsEnabled(false).
		WithLogger(nil)
}

func open(o badger.Options, opt Options) (*Store, error) {
	s, err := attach(o, opt)
	if err != nil {
		return nil, err
	}
	if err := s.begin(); err != nil {
		return nil, errors.Join(err, s.db.Close())
	}
	return s, nil
}

// openDB opens the files of a store that is there, whatever its layout.
func openDB(dir string, opt Options) (*Store, error) {
	if _, err := os.Stat(filepath.Join(dir, badger.ManifestFilename)); err != nil {
		return nil, fmt.Errorf("open store in %s: there is none: %w", dir, err)
	}
	return attach(settings(badger.DefaultOptions(dir)), opt)
}

func attach(o badger.Options, opt Options) (*Store, error) {
	vault, err := newVault(opt.Content, opt.Chance)
	if err != nil {
		return nil, fmt.Errorf("open store: %w", err)
	}
	if len(opt.ClinicMAC) < 32 || opt.Fold.Add == nil || opt.Chance == nil {
		return nil, errors.New("open store: the key for the clinic's lines, the fold or the source of chance is missing")
	}
	if opt.Run == "" {
		opt.Run = "ledger"
	}
	var db *badger.DB
	if err := prepare(o); err != nil {
		return nil, err
	}
	err = guard(func() (err error) { db, err = badger.Open(o); return err })
	switch {
	case err != nil && strings.Contains(err.Error(), "directory lock"):
		return nil, fmt.Errorf("open store in %s: %w", o.Dir, ledger.ErrLocked)
	case err != nil:
		return nil, fmt.Errorf("open store in %s: %w", o.Dir, err)
	}
	return &Store{db: db, opt: opt, vault: vault, cache: newFactsCache()}, nil
}

// prepare looks at the files and mends what a kill left half made, while
// nobody else has the folder.
func prepare(o badger.Options) error {
	if _, err := os.Stat(o.Dir); o.InMemory || errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	release, err := Hold(o.Dir)
	if err != nil {
		return fmt.Errorf("open store: %w", err)
	}
	if err = precheck(o); err == nil {
		err = sweep(o.Dir)
	}
	if err = errors.Join(err, release()); err != nil {
		return fmt.Errorf("open store in %s: %w", o.Dir, err)
	}
	return nil
}

// checkLayout refuses a store of another layout than this program's, and one
// on its way there.
func (s *Store) checkLayout(t *txn) error {
	newest := s.opt.ladder().newest
	if s.about.Schema > newest {
		return fmt.Errorf("%w (layout %d, this one knows %d)", ledger.ErrNewer, s.about.Schema, newest)
	}
	at, under, err := t.moving()
	switch {
	case err != nil:
		return err
	case under:
		return fmt.Errorf("%w: the change from layout %d to %d did not finish", ledger.ErrOlder, at.From, at.To)
	case s.about.Schema < newest:
		return fmt.Errorf("%w (layout %d, this one writes %d)", ledger.ErrOlder, s.about.Schema, newest)
	}
	return nil
}

// begin reads who this store is, or makes it somebody.
func (s *Store) begin() error {
	return s.update(func(t *txn) error {
		err := t.row(metaKey("about"), &s.about)
		if err == nil {
			if err := s.checkLayout(t); err != nil {
				return fmt.Errorf("open store: %w", err)
			}
			if unfinished, err := t.has(restoringKey()); err != nil {
				return err
			} else if unfinished {
				return fmt.Errorf("open store: %w; empty its folder and restore again", ledger.ErrUnfinished)
			}
			if changing, err := t.has(rewrapKey()); err != nil {
				return err
			} else if changing {
				return fmt.Errorf("open store: %w", ledger.ErrKeyChange)
			}
			return s.checkKEK(t)
		}
		if !errors.Is(err, ledger.ErrUnknown) {
			return fmt.Errorf("open store: %w", err)
		}
		if s.about, err = s.newLife(s.opt.Started); err != nil {
			return err
		}
		if err := s.writeKEK(t); err != nil {
			return err
		}
		return t.putRow(metaKey("about"), s.about)
	})
}

// newLife draws an epoch and the clinic's author in it.
func (s *Store) newLife(at time.Time) (ledger.About, error) {
	raw := make([]byte, 32)
	if _, err := io.ReadFull(s.opt.Chance, raw); err != nil {
		return ledger.About{}, fmt.Errorf("draw epoch: %w", err)
	}
	text := base64.RawURLEncoding.EncodeToString
	return ledger.About{Epoch: text(raw[:16]), Clinic: rom.Author("c-" + text(raw[16:])), Since: at.UTC(), Schema: s.opt.ladder().newest}, nil
}

// The wrapped witness tells at once whether the key belongs to the store,
// instead of at the first patient who is opened.
const witness = "this key opens this store"

func (s *Store) writeKEK(t *txn) error {
	sealed, err := s.vault.wrap([]byte(witness), "witness")
	if err != nil {
		return err
	}
	return t.put(metaKey("witness"), sealed)
}

func (s *Store) checkKEK(t *txn) error {
	sealed, err := t.get(metaKey("witness"))
	if err != nil {
		return fmt.Errorf("open store: %w", err)
	}
	if plain, err := s.vault.unwrap(sealed, "witness"); err != nil || string(plain) != witness {
		return errors.New("open store: the content key given does not belong to this store")
	}
	return nil
}

// About implements ledger.Upkeep.
func (s *Store) About() (ledger.About, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.about, nil
}

// NewEpoch implements ledger.Upkeep.
func (s *Store) NewEpoch(trail ledger.Trail) (ledger.About, error) {
	var about ledger.About
	err := s.update(func(t *txn) error {
		var err error
		if about, err = s.newLife(trail.At); err != nil {
			return err
		}
		if err := t.putRow(metaKey("about"), about); err != nil {
			return err
		}
		t.done = append(t.done, func() { s.about = about })
		return t.audit(trail, "epoch.new", "", about.Epoch)
	})
	return about, err
}

// SetRoom implements ledger.Upkeep.
func (s *Store) SetRoom(r ledger.Room) { s.room.Store(int32(r)) }

// Close implements ledger.Upkeep. Nothing may be called after it.
func (s *Store) Close() error {
	s.mu.Lock()
	defer s.mu.Unlock()
	err := guard(s.db.Close)
	if s.closed != nil {
		err = errors.Join(err, s.closed())
	}
	return err
}
