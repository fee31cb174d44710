package backup

import (
	"context"
	"encoding/base64"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"time"

	"filippo.io/age"

	"unsling/engine/rom"
	"unsling/server/ledger"
)

// Store is the part of the ledger that is backed up.
type Store interface {
	About() (ledger.About, error)
	Backup() (ledger.BackupState, error)
	Export(whole bool, f func(ledger.Row) error) (ledger.Exported, error)
	SetBackedUp(ledger.BackupState, ledger.Exported, ledger.Trail) error
}

// Backup writes a store to one folder. All fields are needed but Say and
// MaxSegments. Run must not be called twice at a time.
type Backup struct {
	Store     Store
	Folder    string
	Recipient string // age recipient: age1...
	Key       []byte // of the keyring; authenticates manifests
	Now       func() time.Time
	NewID     func() string // 128 random bits as letters, digits, - and _
	Say       func(format string, args ...any)

	MaxSegments int // of one series; 0 for the usual
}

// maxSegments is how many segments a series has: with one a minute, a day and
// a half of change.
const maxSegments = 2000

// Result is what a run came to.
type Result struct {
	At      time.Time
	Nothing bool   // nothing had changed; the last segment still stands
	Series  string // the last segment's
	Segment int
	Why     string // why a new series was begun, "" if none was
	Rows    int64
	Lines   int64
	Bytes   int64
	Damaged []rom.PatientID // left out, because the store cannot read them
}

// ParseRecipient checks an age recipient.
func ParseRecipient(text string) (age.Recipient, error) {
	if r, err := age.ParseX25519Recipient(text); err == nil {
		return r, nil
	}
	r, err := age.ParseHybridRecipient(text)
	if err != nil {
		return nil, errors.New("not an age recipient such as age1...: make one with unsling keys identity")
	}
	return r, nil
}

// Run writes what is new, reads it back, and tells the store what is safe.
func (b *Backup) Run(ctx context.Context) (Result, error) {
	res, err := b.run(ctx)
	if err != nil {
		return res, fmt.Errorf("backup: %w", err)
	}
	return res, nil
}

func (b *Backup) run(ctx context.Context) (Result, error) {
	res := Result{At: b.Now().UTC()}
	to, err := ParseRecipient(b.Recipient)
	if err != nil {
		return res, err
	}
	if err := claim(b.Folder, b.Key); err != nil {
		return res, err
	}
	about, err := b.Store.About()
	if err != nil {
		return res, err
	}
	state, err := b.Store.Backup()
	if err != nil {
		return res, err
	}
	m, why := b.goesOn(state, about.Schema)
	if why == "" && !state.Behind {
		res.Nothing, res.Series, res.Segment = true, m.Series, m.last().N
		return res, nil
	}
	seg, exported, err := b.write(ctx, &m, why, to, about.Schema, res.At)
	if errors.Is(err, ledger.ErrWentBack) {
		why = "the store has less than was backed up"
		b.keep(state.Series, why)
		m = Manifest{}
		seg, exported, err = b.write(ctx, &m, why, to, about.Schema, res.At)
	}
	if err != nil {
		return res, err
	}
	fresh := seg.N == 1
	m.Segments = append(m.Segments, seg)
	if fresh {
		state = ledger.BackupState{}
	}
	state = ledger.BackupState{
		Series: m.Series, Segment: seg.N, Sum: seg.Sum, At: res.At, Audit: exported.Audit,
		Patients: state.Patients + exported.New, Lines: state.Lines + seg.Lines, Damaged: exported.Damaged,
	}
	m.Patients, m.Lines = state.Patients, state.Lines
	if err := b.finish(to, &m, exported); err != nil {
		return res, err
	}
	trail := ledger.Trail{At: res.At, Actor: "server"}
	if err := b.Store.SetBackedUp(state, exported, trail); err != nil {
		return res, err
	}
	res.Series, res.Segment, res.Rows, res.Lines, res.Bytes, res.Why, res.Damaged = m.Series, seg.N, seg.Rows, seg.Lines, seg.Bytes, why, exported.Damaged
	if fresh {
		return res, b.prune(m.Series)
	}
	return res, nil
}

// goesOn returns the manifest that the next segment belongs to, or why a new
// series has to begin.
func (b *Backup) goesOn(state ledger.BackupState, layout int) (Manifest, string) {
	if state.Series == "" {
		return Manifest{}, "the first backup of this store"
	}
	m, err := readManifest(b.Folder, state.Series, b.Key)
	last := m.last()
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return Manifest{}, "the folder does not hold the series that the store remembers"
	case err != nil:
		b.keep(state.Series, err.Error())
		return Manifest{}, err.Error()
	case last.N != state.Segment || last.Sum != state.Sum:
		b.keep(state.Series, "the series ends elsewhere than where the store remembers it")
		return Manifest{}, "the series ends elsewhere than where the store remembers it"
	case m.Recipient != b.Recipient:
		return Manifest{}, "another recipient"
	case m.Layout != layout:
		return Manifest{}, "another layout of the store"
	}
	most := b.MaxSegments
	if most == 0 {
		most = maxSegments
	}
	if last.N >= most {
		return Manifest{}, "the series is long enough"
	}
	path := filepath.Join(b.Folder, seriesFolder, m.Series, last.File)
	if info, err := os.Stat(path); err != nil || info.Size() != last.Bytes {
		b.keep(m.Series, "its last segment is not there")
		return Manifest{}, "the last segment is not there"
	}
	if _, err := os.Stat(filepath.Join(b.Folder, finalFile)); err != nil {
		return Manifest{}, finalFile + " is not there"
	}
	return m, ""
}

// write exports into the next segment of m, or into the first of a new series
// when why is not empty, and verifies it by reading it back.
func (b *Backup) write(ctx context.Context, m *Manifest, why string, to age.Recipient, layout int, at time.Time) (Segment, ledger.Exported, error) {
	if why != "" {
		*m = Manifest{Format: 1, Series: at.Format("20060102") + "-" + b.NewID(), Layout: layout, Recipient: b.Recipient, Begun: at}
		b.say("New series %s: %s.", m.Series, why)
	}
	dir := filepath.Join(b.Folder, seriesFolder, m.Series)
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return Segment{}, ledger.Exported{}, err
	}
	for _, d := range []string{dir, b.Folder, filepath.Join(b.Folder, keysFolder)} {
		if err := clearUnfinished(d); err != nil {
			return Segment{}, ledger.Exported{}, err
		}
	}
	seg := Segment{N: m.last().N + 1, At: at}
	seg.File = segmentName(seg.N)
	var exported ledger.Exported
	size, sum, err := writeFile(filepath.Join(dir, seg.File), func(w io.Writer) error {
		enc, err := age.Encrypt(w, to)
		if err != nil {
			return err
		}
		out, err := newSegmentWriter(enc, Header{Series: m.Series, Segment: seg.N, Prev: m.last().Sum, At: at, Layout: layout})
		if err != nil {
			return err
		}
		exported, err = b.Store.Export(why != "", func(r ledger.Row) error {
			if err := ctx.Err(); err != nil {
				return err
			}
			if r.Space == ledger.SpaceKey {
				return b.putKey(to, rom.PatientID(r.Key), r.Value, why != "")
			}
			if seg.Rows++; seg.Rows%100_000 == 0 {
				b.say("%d rows...", seg.Rows)
			}
			return out.row(r)
		})
		if err != nil {
			return err
		}
		return errors.Join(out.close(exported.Audit), enc.Close())
	})
	if err != nil {
		return seg, exported, err
	}
	seg.Bytes, seg.Sum, seg.Lines, seg.Audit = size, sum, exported.Rows[ledger.SpaceLine], exported.Audit
	return seg, exported, verifyFile(filepath.Join(dir, seg.File), size, sum)
}

// verifyFile reads a file back.
func verifyFile(path string, size int64, sum string) error {
	got, have, err := sumFile(path)
	if err != nil {
		return fmt.Errorf("read back %s: %w", filepath.Base(path), err)
	}
	if got != size || have != sum {
		return fmt.Errorf("read back %s: it is not what was written", filepath.Base(path))
	}
	return nil
}

// keyText is what stands in a key file, before its encryption.
type keyText struct {
	Patient rom.PatientID `json:"patient"`
	Wrapped string        `json:"wrapped"` // base64
}

// putKey writes a patient's key file, if it is not there yet or has to be new.
func (b *Backup) putKey(to age.Recipient, p rom.PatientID, wrapped []byte, anew bool) error {
	path := keyFile(b.Folder, p)
	if _, err := os.Stat(path); err == nil && !anew {
		return nil
	}
	return b.putSecret(to, path, keyText{p, base64.StdEncoding.EncodeToString(wrapped)})
}

// putSecret writes JSON, encrypted, and reads it back.
func (b *Backup) putSecret(to age.Recipient, path string, v any) error {
	text, err := json.Marshal(v)
	if err != nil {
		return err
	}
	size, sum, err := writeFile(path, func(w io.Writer) error {
		enc, err := age.Encrypt(w, to)
		if err != nil {
			return err
		}
		_, err = enc.Write(text)
		return errors.Join(err, enc.Close())
	})
	if err != nil {
		return err
	}
	return verifyFile(path, size, sum)
}

// finish writes what is final and then the manifest, with which the segment
// counts.
func (b *Backup) finish(to age.Recipient, m *Manifest, exported ledger.Exported) error {
	if exported.Final != nil {
		for _, e := range exported.Final.Erased {
			if err := os.Remove(keyFile(b.Folder, e.Patient)); err != nil && !errors.Is(err, fs.ErrNotExist) {
				return err
			}
		}
		if err := syncFolder(filepath.Join(b.Folder, keysFolder)); err != nil {
			return err
		}
		if err := b.putSecret(to, filepath.Join(b.Folder, finalFile), exported.Final); err != nil {
			return err
		}
	}
	m.MAC = m.mac(b.Key)
	text, err := json.MarshalIndent(m, "", " ")
	if err != nil {
		return err
	}
	path := filepath.Join(b.Folder, seriesFolder, m.Series, manifestFile)
	size, sum, err := writeFile(path, func(w io.Writer) error {
		_, err := w.Write(append(text, '\n'))
		return err
	})
	if err != nil {
		return err
	}
	return verifyFile(path, size, sum)
}

// keep marks a series that may hold what the store has lost.
func (b *Backup) keep(series, why string) {
	dir := filepath.Join(b.Folder, seriesFolder, series)
	if _, err := os.Stat(dir); err != nil {
		return
	}
	_, _, err := writeFile(filepath.Join(dir, keepFile), func(w io.Writer) error {
		_, err := fmt.Fprintf(w, "%s: %s\nThis series is not removed by itself.\n", b.Now().UTC().Format(time.RFC3339), why)
		return err
	})
	if err != nil {
		b.say("Series %s could not be marked to be kept: %v.", series, err)
	}
}

// prune removes series that are older than the one before the present one,
// but those that are kept.
func (b *Backup) prune(present string) error {
	all, err := allSeries(b.Folder, b.Key)
	if err != nil {
		b.say("Some series cannot be read and are left alone: %v.", err)
	}
	spared := 0
	for i := len(all) - 1; i >= 0; i-- {
		dir := filepath.Join(b.Folder, seriesFolder, all[i].Series)
		if _, err := os.Stat(filepath.Join(dir, keepFile)); all[i].Series == present || err == nil {
			continue
		}
		if spared++; spared == 1 {
			continue
		}
		if err := os.RemoveAll(dir); err != nil {
			return fmt.Errorf("remove an old series: %w", err)
		}
		b.say("Removed the old series %s.", all[i].Series)
	}
	return nil
}

func (b *Backup) say(format string, args ...any) {
	if b.Say != nil {
		b.Say(format, args...)
	}
}
