package backup

import (
	"encoding/base64"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"iter"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"filippo.io/age"

	"unsling/engine/rom"
	"unsling/server/ledger"
)

// Choice says what to read of a folder.
type Choice struct {
	Folder string
	Key    []byte    // authenticates the manifests; nil if the keyring is not at hand
	Series string    // "" for the newest
	Until  time.Time // the last segment not after it; zero for all
	// FinalFile replaces the folder's final.age by a newer copy, "" for none.
	FinalFile  string
	Identities []age.Identity
	Say        func(format string, args ...any)
}

// Series is a series that was chosen, with its segments up to Until.
type Series struct {
	Manifest
	choice Choice
}

// Open chooses a series.
func Open(c Choice) (Series, error) {
	all, err := allSeries(c.Folder, c.Key)
	if c.Series == "" && len(all) == 0 {
		return Series{}, errors.Join(fmt.Errorf("%s: %w", c.Folder, ErrFolder), err)
	}
	if err != nil && c.Say != nil {
		c.Say("Some series cannot be read and are left alone: %v.", err)
	}
	s := Series{choice: c}
	if c.Series != "" {
		if s.Manifest, err = readManifest(c.Folder, c.Series, c.Key); err != nil {
			return s, err
		}
	} else {
		i := len(all) - 1
		for i > 0 && !c.Until.IsZero() && all[i].Segments[0].At.After(c.Until) {
			i-- // the newest that had begun by then
		}
		s.Manifest = all[i]
	}
	if !c.Until.IsZero() {
		s.Segments = slices.DeleteFunc(s.Segments, func(x Segment) bool { return x.At.After(c.Until) })
		if len(s.Segments) == 0 {
			return s, fmt.Errorf("there is no backup as old as %s", c.Until.UTC().Format(time.RFC3339))
		}
	}
	return s, nil
}

// Last is the last segment that will be read.
func (s Series) Last() Segment { return s.Manifest.last() }

func (s Series) say(format string, args ...any) {
	if s.choice.Say != nil {
		s.choice.Say(format, args...)
	}
}

// Check reads every file of the series and compares sizes and SHA-256. It
// needs no identity.
func (s Series) Check() error {
	dir := filepath.Join(s.choice.Folder, seriesFolder, s.Manifest.Series)
	for i, seg := range s.Segments {
		size, sum, err := sumFile(filepath.Join(dir, seg.File))
		if err != nil {
			return fmt.Errorf("series %s: %w", s.Manifest.Series, err)
		}
		if size != seg.Bytes || sum != seg.Sum {
			return fmt.Errorf("series %s, segment %d: %w", s.Manifest.Series, seg.N, ErrSegment)
		}
		if (i+1)%500 == 0 {
			s.say("%d of %d segments checked...", i+1, len(s.Segments))
		}
	}
	return nil
}

// Final reads what no restore may take back.
func (s Series) Final() (ledger.Final, error) {
	var f ledger.Final
	path := filepath.Join(s.choice.Folder, finalFile)
	if s.choice.FinalFile != "" {
		path = s.choice.FinalFile
	}
	err := readSecret(path, s.choice.Identities, &f)
	if err != nil {
		return f, fmt.Errorf("what is final: %w", err)
	}
	return f, nil
}

func readSecret(path string, ids []age.Identity, v any) error {
	f, err := os.Open(path)
	if err != nil {
		return err
	}
	defer f.Close()
	dec, err := age.Decrypt(f, ids...)
	if err != nil {
		return fmt.Errorf("%s: %w", filepath.Base(path), err)
	}
	text, err := io.ReadAll(dec)
	if err != nil {
		return fmt.Errorf("%s: %w", filepath.Base(path), err)
	}
	if err := json.Unmarshal(text, v); err != nil {
		return fmt.Errorf("%s: not as it was written", filepath.Base(path))
	}
	return nil
}

// Rows yields the rows of all segments in their order and then the content
// keys of the patients among them. It checks hashes, order, and the audit
// chain on the way, and yields an error as the last thing if something is
// not as it was written: then nothing that came before may be used.
func (s Series) Rows() iter.Seq2[ledger.Row, error] {
	return func(yield func(ledger.Row, error) bool) {
		r := &seriesReader{s: s, patients: map[rom.PatientID]bool{}, yield: yield}
		for i := range s.Segments {
			if err := r.segment(i); err != nil {
				if !errors.Is(err, errEnough) {
					yield(ledger.Row{}, fmt.Errorf("series %s, segment %d: %w", s.Manifest.Series, i+1, err))
				}
				return
			}
			if (i+1)%100 == 0 || i+1 == len(s.Segments) {
				s.say("%d of %d segments read, %d records...", i+1, len(s.Segments), r.lines)
			}
		}
		if r.lines != s.Manifest.Lines && s.choice.Until.IsZero() {
			yield(ledger.Row{}, fmt.Errorf("series %s: %d records instead of %d: %w", s.Manifest.Series, r.lines, s.Manifest.Lines, ErrSegment))
			return
		}
		if err := r.keys(); err != nil && !errors.Is(err, errEnough) {
			yield(ledger.Row{}, err)
		}
	}
}

var errEnough = errors.New("the reader has had enough")

type seriesReader struct {
	s        Series
	yield    func(ledger.Row, error) bool
	patients map[rom.PatientID]bool
	lines    int64
	audit    ledger.Head
}

func (r *seriesReader) segment(i int) error {
	seg := r.s.Segments[i]
	path := filepath.Join(r.s.choice.Folder, seriesFolder, r.s.Manifest.Series, seg.File)
	if err := verifyFile(path, seg.Bytes, seg.Sum); err != nil {
		return err
	}
	f, err := os.Open(path)
	if err != nil {
		return err
	}
	defer f.Close()
	dec, err := age.Decrypt(f, r.s.choice.Identities...)
	if err != nil {
		return err
	}
	lines := r.lines
	h, end, err := readSegment(dec, r.row)
	if err != nil {
		return err
	}
	prev := ""
	if i > 0 {
		prev = r.s.Segments[i-1].Sum
	}
	switch {
	case h.Series != r.s.Manifest.Series || h.Segment != seg.N || h.Prev != prev || h.Layout != r.s.Manifest.Layout:
		return fmt.Errorf("%w: it belongs elsewhere", ErrSegment)
	case end.Audit != seg.Audit || end.Audit != r.audit || r.lines-lines != seg.Lines:
		return fmt.Errorf("%w: not what the manifest says", ErrSegment)
	}
	return nil
}

func (r *seriesReader) row(row ledger.Row) error {
	id, _, _ := strings.Cut(row.Key, "/")
	switch row.Space {
	case ledger.SpaceKey:
		return fmt.Errorf("%w: a content key among the rows", ErrSegment)
	case ledger.SpacePatient, ledger.SpaceErased:
		r.patients[rom.PatientID(id)] = true
	case ledger.SpaceLine:
		r.lines++
	case ledger.SpaceAudit:
		if err := r.entry(row); err != nil {
			return err
		}
	}
	row.Value = slices.Clone(row.Value)
	if !r.yield(row, nil) {
		return errEnough
	}
	return nil
}

// entry holds the audit log to its chain.
func (r *seriesReader) entry(row ledger.Row) error {
	bad := fmt.Errorf("%w: audit entry %s does not fit the chain", ErrSegment, row.Key)
	if len(row.Value) < hashLetters {
		return bad
	}
	var e ledger.Entry
	if json.Unmarshal(row.Value[hashLetters:], &e) != nil || e.Seq != r.audit.Seq+1 {
		return bad
	}
	_, hash, err := ledger.ChainEntry(r.audit.Hash, e)
	if err != nil || hash != string(row.Value[:hashLetters]) {
		return bad
	}
	r.audit = ledger.Head{Seq: e.Seq, Hash: hash}
	return nil
}

const hashLetters = 43 // of a SHA-256 in base64url

// keys yields the content keys. One that is missing was erased, or the
// import will name its patient as unreadable.
func (r *seriesReader) keys() error {
	for p := range r.patients {
		var k keyText
		err := readSecret(keyFile(r.s.choice.Folder, p), r.s.choice.Identities, &k)
		if errors.Is(err, fs.ErrNotExist) {
			continue
		}
		if err != nil {
			return fmt.Errorf("content key: %w", err)
		}
		wrapped, err := base64.StdEncoding.DecodeString(k.Wrapped)
		if err != nil || k.Patient != p {
			return fmt.Errorf("content key: %s is not as it was written", filepath.Base(keyFile(r.s.choice.Folder, p)))
		}
		if !r.yield(ledger.Row{Space: ledger.SpaceKey, Key: string(p), Value: wrapped}, nil) {
			return errEnough
		}
	}
	return nil
}
