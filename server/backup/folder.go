package backup

import (
	"crypto/hmac"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"unsling/engine/rom"
	"unsling/server/ledger"
)

// Manifest lists the segments of one series.
type Manifest struct {
	Format    int       `json:"format"` // 1
	Series    string    `json:"series"`
	Layout    int       `json:"layout"`
	Recipient string    `json:"recipient"`
	Begun     time.Time `json:"begun"`
	Segments  []Segment `json:"segments"`
	Patients  int       `json:"patients"` // in all segments together
	Lines     int64     `json:"lines"`
	MAC       string    `json:"mac,omitempty"` // HMAC-SHA256 of the rest, hexadecimal
}

// Segment is one file of a series.
type Segment struct {
	N     int         `json:"n"`
	File  string      `json:"file"`
	At    time.Time   `json:"at"`
	Bytes int64       `json:"bytes"`
	Sum   string      `json:"sha256"` // of the file as it lies there
	Rows  int64       `json:"rows"`
	Lines int64       `json:"lines"`
	Audit ledger.Head `json:"audit"`
}

// last is the newest segment; zero for none.
func (m Manifest) last() Segment {
	if len(m.Segments) == 0 {
		return Segment{}
	}
	return m.Segments[len(m.Segments)-1]
}

// The names in a folder.
const (
	folderFile   = "FOLDER.json"
	readmeFile   = "README.txt"
	finalFile    = "final.age"
	keysFolder   = "keys"
	seriesFolder = "series"
	manifestFile = "manifest.json"
	keepFile     = "KEEP"
)

// ErrFolder means that the folder holds no backup, or another clinic's.
var ErrFolder = errors.New("not the folder of this clinic's backup")

// ErrManifest means that a manifest is not as this clinic wrote it.
var ErrManifest = errors.New("the manifest is not as it was written")

func (m Manifest) mac(key []byte) string {
	m.MAC = ""
	text, err := json.Marshal(m)
	if err != nil {
		panic(err) // strings, numbers and times only
	}
	h := hmac.New(sha256.New, key)
	h.Write([]byte("unsling backup manifest 1\n"))
	h.Write(text)
	return hex.EncodeToString(h.Sum(nil))
}

// readManifest reads the manifest of a series, and holds it to its MAC if a
// key is given.
func readManifest(folder, series string, key []byte) (Manifest, error) {
	var m Manifest
	text, err := os.ReadFile(filepath.Join(folder, seriesFolder, series, manifestFile))
	if err != nil {
		return m, fmt.Errorf("read manifest: %w", err)
	}
	if json.Unmarshal(text, &m) != nil || m.Series != series {
		return m, fmt.Errorf("series %s: %w", series, ErrManifest)
	}
	if m.Format != 1 {
		return m, fmt.Errorf("series %s is of format %d, this program knows 1: %w", series, m.Format, ledger.ErrNewer)
	}
	for i, s := range m.Segments {
		if s.N != i+1 || s.File != segmentName(s.N) {
			return m, fmt.Errorf("series %s: %w", series, ErrManifest)
		}
	}
	if key != nil && !hmac.Equal([]byte(m.MAC), []byte(m.mac(key))) {
		return m, fmt.Errorf("series %s: %w: its MAC is another", series, ErrManifest)
	}
	return m, nil
}

func segmentName(n int) string { return fmt.Sprintf("%06d.age", n) }

// allSeries returns the manifests in a folder, the one with the newest
// segment last. Those that cannot be read are left out and named in the error.
func allSeries(folder string, key []byte) ([]Manifest, error) {
	entries, err := os.ReadDir(filepath.Join(folder, seriesFolder))
	if err != nil {
		return nil, fmt.Errorf("%w: %w", ErrFolder, err)
	}
	var all []Manifest
	var bad error
	for _, e := range entries {
		m, err := readManifest(folder, e.Name(), key)
		if errors.Is(err, fs.ErrNotExist) {
			continue // never had a verified segment
		}
		if err != nil {
			bad = errors.Join(bad, err)
			continue
		}
		if len(m.Segments) > 0 {
			all = append(all, m)
		}
	}
	slices.SortStableFunc(all, func(a, b Manifest) int { return a.last().At.Compare(b.last().At) })
	return all, bad
}

// keyFile names a patient's key file; it tells nothing of the patient.
func keyFile(folder string, p rom.PatientID) string {
	sum := sha256.Sum256([]byte("unsling key of " + string(p)))
	return filepath.Join(folder, keysFolder, hex.EncodeToString(sum[:16])+".age")
}

// writeFile writes beside, flushes, renames, and flushes the folder, so that
// a crash leaves the old file or the new one. It returns size and SHA-256 of
// what was written.
func writeFile(path string, fill func(io.Writer) error) (size int64, sum string, err error) {
	f, err := os.CreateTemp(filepath.Dir(path), unfinishedPrefix+"*")
	if err != nil {
		return 0, "", fmt.Errorf("write %s: %w", filepath.Base(path), err)
	}
	h := sha256.New()
	count := &counter{w: io.MultiWriter(f, h)}
	err = fill(count)
	err = errors.Join(err, f.Sync(), f.Close())
	if err == nil {
		err = os.Rename(f.Name(), path)
	}
	if err == nil {
		err = syncFolder(filepath.Dir(path))
	}
	if err != nil {
		_ = os.Remove(f.Name())
		return 0, "", fmt.Errorf("write %s: %w", filepath.Base(path), err)
	}
	return count.n, hex.EncodeToString(h.Sum(nil)), nil
}

const unfinishedPrefix = ".unfinished-"

type counter struct {
	w io.Writer
	n int64
}

func (c *counter) Write(b []byte) (int, error) {
	n, err := c.w.Write(b)
	c.n += int64(n)
	return n, err
}

func syncFolder(dir string) error {
	d, err := os.Open(dir)
	if err != nil {
		return err
	}
	return errors.Join(d.Sync(), d.Close())
}

// sumFile reads a file and returns its size and SHA-256.
func sumFile(path string) (int64, string, error) {
	f, err := os.Open(path)
	if err != nil {
		return 0, "", err
	}
	defer f.Close()
	h := sha256.New()
	n, err := io.Copy(h, f)
	return n, hex.EncodeToString(h.Sum(nil)), err
}

// clearUnfinished removes what an interrupted run left.
func clearUnfinished(dir string) error {
	entries, err := os.ReadDir(dir)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	for _, e := range entries {
		if strings.HasPrefix(e.Name(), unfinishedPrefix) {
			err = errors.Join(err, os.Remove(filepath.Join(dir, e.Name())))
		}
	}
	return err
}

// claim makes the folder this clinic's, or finds that it is.
func claim(folder string, key []byte) error {
	for _, dir := range []string{folder, filepath.Join(folder, keysFolder), filepath.Join(folder, seriesFolder)} {
		if err := os.MkdirAll(dir, 0o700); err != nil {
			return fmt.Errorf("backup folder: %w", err)
		}
	}
	h := hmac.New(sha256.New, key)
	h.Write([]byte("unsling backup folder 1"))
	mine := fmt.Sprintf("{\"format\":1,\"store\":%q}\n", hex.EncodeToString(h.Sum(nil)[:16]))
	path := filepath.Join(folder, folderFile)
	have, err := os.ReadFile(path)
	switch {
	case err == nil && string(have) == mine:
		return nil
	case err == nil:
		return fmt.Errorf("%s belongs to another clinic or keyring: %w", folder, ErrFolder)
	case !errors.Is(err, fs.ErrNotExist):
		return fmt.Errorf("backup folder: %w", err)
	}
	if entries, err := os.ReadDir(filepath.Join(folder, seriesFolder)); err != nil || len(entries) > 0 {
		return errors.Join(fmt.Errorf("%s holds series but no %s: %w", folder, folderFile, ErrFolder), err)
	}
	for name, text := range map[string]string{readmeFile: readme, folderFile: mine} {
		if _, _, err := writeFile(filepath.Join(folder, name), func(w io.Writer) error {
			_, err := io.WriteString(w, text)
			return err
		}); err != nil {
			return err
		}
	}
	return nil
}

const readme = `This folder is an encrypted backup of a clinic's Unsling server.

To restore it you need the age identity that it was encrypted to, and the
saved keyring of the clinic. Both are kept apart from this folder.

    unsling verify-backup --from THIS-FOLDER --identity FILE --keyring FILE
    unsling restore       --from THIS-FOLDER --identity FILE --keyring FILE --data EMPTY-FOLDER

Do not change or remove single files. If you mirror this folder elsewhere,
mirror removals in keys/ too: they are how a patient's data is erased.
`
