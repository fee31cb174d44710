package main

import (
	"context"
	"fmt"
	"path/filepath"
	"sync"
	"time"

	"unsling/server/access"
	"unsling/server/backup"
	"unsling/server/ledger"
)

// How often the jobs beside the requests run.
const (
	diskEvery   = 5 * time.Second
	backupEvery = time.Minute
	keysEvery   = time.Minute
	rotateEvery = time.Hour       // is looked at; how old a key gets is a setting
	verifyFirst = 2 * time.Minute // after the start
	warmFirst   = 5 * time.Second
	warmEvery   = 10 * time.Minute // so that midnight is soon past
	verifyEvery = 24 * time.Hour
)

// minFree is how much room phones' records need to be taken in; at half of
// it nothing is written. Badger maps files of fixed size into memory and dies
// on a full disk, so it must never see one.
const minFree = 256 << 20

// upkeep is the jobs beside the requests, and what they found.
type upkeep struct {
	h       *house
	data    string
	minFree uint64
	free    func(dir string) (uint64, error)
	backup  *backup.Backup // nil for none
	rotate  time.Duration  // age at which a signing key is replaced; 0 for never
	started time.Time

	mu    sync.Mutex
	state upkeepState
}

// upkeepState is for the operator's page and numbers.
type upkeepState struct {
	Room     ledger.Room
	Free     uint64
	FreeErr  string
	Backup   jobState
	Segment  string
	Damaged  int // patients left out of the last backup
	Check    jobState
	Verify   jobState
	Faults   int
	Verified ledger.Report
	Tidy     jobState
	Head     jobState // signing the audit log's head
	Rotated  jobState // signing keys, by schedule
}

// jobState is how one job stands.
type jobState struct {
	Good   time.Time // of the last success, zero for never
	Failed int       // since the start
	Err    string    // of the last run, "" for good
}

func newUpkeep(h *house, o serveOptions) *upkeep {
	u := &upkeep{h: h, data: o.data, minFree: o.minFree << 20, free: diskFree, started: h.now()}
	if o.minFree == 0 {
		u.minFree = minFree
	}
	u.rotate = time.Duration(o.rotateDays) * 24 * time.Hour
	if o.backupTo != "" {
		u.backup = newBackup(h.store, h.ring, o.backupTo, o.backupRecipient, h.now, h.chance)
		u.backup.Say = func(format string, args ...any) { h.log.Info("backup", "note", fmt.Sprintf(format, args...)) }
	}
	h.desk.Notice, h.desk.Server = u.notice, u.forClinic
	return u
}

// run does the jobs until ctx ends, and returns when the last has stopped.
func (u *upkeep) run(ctx context.Context) {
	u.checkDisk()
	var jobs sync.WaitGroup
	jobs.Go(func() { every(ctx, diskEvery, diskEvery, u.checkDisk) })
	jobs.Go(func() { every(ctx, keysEvery, keysEvery, u.reloadKeys) })
	jobs.Go(func() {
		var r rest
		every(ctx, restEvery, restEvery, func() { r.look() })
	})
	if u.rotate > 0 {
		jobs.Go(func() { every(ctx, keysEvery, rotateEvery, u.rotateKeys) })
	}
	jobs.Go(func() {
		every(ctx, warmFirst, warmEvery, func() {
			if err := u.h.desk.Warm(ctx); err != nil {
				u.h.log.Error("upkeep failed", "job", "warm", "error", err.Error())
			}
		})
	})
	if u.backup != nil {
		jobs.Go(func() { every(ctx, time.Second, backupEvery, func() { u.runBackup(ctx) }) })
	}
	jobs.Go(func() { every(ctx, verifyFirst, verifyEvery, func() { u.daily(ctx) }) })
	if wanted := watchdog(); wanted > 0 {
		jobs.Go(func() {
			every(ctx, wanted/3, wanted/3, func() {
				if _, err := u.h.store.About(); err == nil { // waits for the one writer
					notify("WATCHDOG=1")
				}
			})
		})
	}
	jobs.Wait()
}

// every calls f after first and then again and again.
func every(ctx context.Context, first, then time.Duration, f func()) {
	t := time.NewTimer(first)
	defer t.Stop()
	for {
		select {
		case <-ctx.Done():
			return
		case <-t.C:
		}
		f()
		t.Reset(then)
	}
}

// job runs f and notes how it went.
func (u *upkeep) job(name string, s *jobState, f func() error) {
	err := f()
	u.mu.Lock()
	defer u.mu.Unlock()
	if err == nil {
		if s.Err != "" {
			u.h.log.Info("works again", "job", name)
		}
		s.Good, s.Err = u.h.now(), ""
		return
	}
	s.Failed++
	if s.Err != err.Error() { // say it once, not every minute
		u.h.log.Error("upkeep failed", "job", name, "error", err.Error())
	}
	s.Err = err.Error()
}

// checkDisk sets how much may be written.
func (u *upkeep) checkDisk() {
	free, err := u.free(u.data)
	room := ledger.Plenty
	switch {
	case err != nil:
	case free < u.minFree/2:
		room = ledger.None
	case free < u.minFree:
		room = ledger.Little
	}
	u.mu.Lock()
	was := u.state.Room
	u.state.Room, u.state.Free, u.state.FreeErr = room, free, ""
	if err != nil {
		u.state.FreeErr = err.Error()
	}
	u.mu.Unlock()
	u.h.store.SetRoom(room)
	u.h.api.SetFull(room != ledger.Plenty)
	if room != was {
		u.h.log.Warn("room on the disk", "room", roomNames[room], "free_bytes", free, "wanted_bytes", u.minFree)
	}
}

var roomNames = map[ledger.Room]string{ledger.Plenty: "plenty", ledger.Little: "little", ledger.None: "none"}

// notice is the sentence on top of the clinic's pages.
func (u *upkeep) notice() string {
	u.mu.Lock()
	defer u.mu.Unlock()
	switch {
	case u.state.Room == ledger.None:
		return "The server's disk is full. Nothing can be saved, and phones keep their records until there is room. Please tell whoever looks after the server now. Ring patients whose plan must change today."
	case u.state.Room == ledger.Little:
		return "The server's disk is nearly full. New records wait on the phones and are not seen here. Please tell whoever looks after the server."
	case u.state.Faults > 0:
		return "The nightly check found damaged data. Please tell whoever looks after the server before you rely on what is shown."
	}
	return ""
}

// reloadKeys takes rotated keys into use.
func (u *upkeep) reloadKeys() {
	ring, err := access.ReadKeyring(filepath.Join(u.data, "keys"))
	if err != nil {
		u.h.log.Error("keys cannot be read", "error", err.Error())
		return
	}
	if ring.Signing.Current.ID != u.h.tokens.CurrentKeys().Current.ID {
		u.h.tokens.ReplaceKeys(ring.Signing)
		u.h.log.Info("signing key changed", "key", ring.Signing.Current.ID)
	}
}

// rotateKeys replaces the signing key when it has signed for long enough. The
// key that takes over was published since the rotation before; the one before
// stays good until its tokens have run out.
func (u *upkeep) rotateKeys() {
	u.job("key rotation", &u.state.Rotated, func() error {
		dir := filepath.Join(u.data, "keys")
		ring, err := access.ReadKeyring(dir)
		if err != nil {
			return err
		}
		if !ring.Signing.Due(u.h.now(), u.rotate) {
			return nil
		}
		set, err := access.RotateSigning(dir, ring.Signing, u.h.chance, u.h.now())
		if err != nil {
			return err
		}
		u.h.tokens.ReplaceKeys(set)
		u.h.log.Info("signing key changed by schedule; save the keyring again", "key", set.Current.ID)
		return nil
	})
}

func (u *upkeep) runBackup(ctx context.Context) {
	u.job("backup", &u.state.Backup, func() error {
		res, err := u.backup.Run(ctx)
		if err != nil {
			return err
		}
		u.mu.Lock()
		u.state.Segment = fmt.Sprint(res.Series, "/", res.Segment)
		if !res.Nothing {
			u.state.Damaged = len(res.Damaged)
		}
		u.mu.Unlock()
		return nil
	})
}

// daily looks through everything that is stored, and then tidies.
func (u *upkeep) daily(ctx context.Context) {
	u.job("verify", &u.state.Verify, func() error {
		report, err := u.h.store.Verify(ctx)
		if err != nil {
			return err
		}
		u.mu.Lock()
		u.state.Faults, u.state.Verified = len(report.Faults), report
		u.mu.Unlock()
		for _, f := range report.Faults {
			u.h.log.Error("damaged data", "patient", string(f.Patient), "record", f.Seq, "what", f.What)
		}
		return nil
	})
	u.job("tidy", &u.state.Tidy, u.h.store.Tidy)
	u.job("audit head", &u.state.Head, u.h.signHead)
	if u.backup != nil && ctx.Err() == nil {
		u.job("check of the backup", &u.state.Check, func() error {
			s, err := backup.Open(backup.Choice{Folder: u.backup.Folder, Key: u.backup.Key})
			if err != nil {
				return err
			}
			return s.Check()
		})
	}
}

func (u *upkeep) snapshot() upkeepState {
	u.mu.Lock()
	defer u.mu.Unlock()
	return u.state
}
