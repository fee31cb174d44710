package access

import (
	"crypto/hmac"
	"crypto/sha256"
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
)

// Keyring is every secret of the clinic. It is read once at start and never
// stored with the data: a copy of the store alone opens nothing.
type Keyring struct {
	Signing   KeySet
	Codes     []byte // HMAC key of invitation secrets
	Content   []byte // wraps the patients' content keys
	ClinicMAC []byte // authenticates the clinic's lines across epochs
}

// ErrLoose means that others on the machine can read a key file.
var ErrLoose = errors.New("key file can be read by others; set its mode to 0600")

// secretSize is the length of each symmetric key in bytes.
const secretSize = 32

// ErrKeyLost means that a key is missing without which the store beside it
// cannot be read, or the phones' copies of clinic records not taken back.
var ErrKeyLost = errors.New("is missing and a store is there that needs it; put the saved copy back, a new key would not fit")

// OpenKeyring reads the files signing.json, codes.key, content.key and
// clinic-mac.key in dir, and makes those that are missing. Losing
// content.key means losing what every patient wrote: keep a copy apart.
// Where a store stands beside dir (in the folder "store"), content.key and
// clinic-mac.key are never made: ErrKeyLost. A change of content.key that did
// not finish is ErrKeyChange.
func OpenKeyring(dir string, chance io.Reader, now time.Time) (Keyring, error) {
	if _, err := os.Stat(filepath.Join(dir, nextContentFile)); err == nil {
		return Keyring{}, fmt.Errorf("open keys: %w", ErrKeyChange)
	}
	return openKeyring(dir, chance, now)
}

// neededByStore are the keys that belong to one store for ever.
var neededByStore = []string{"content.key", "clinic-mac.key"}

func openKeyring(dir string, chance io.Reader, now time.Time) (Keyring, error) {
	if some, err := os.ReadDir(filepath.Join(filepath.Dir(filepath.Clean(dir)), "store")); err == nil && len(some) > 0 {
		for _, name := range neededByStore {
			if _, err := os.Stat(filepath.Join(dir, name)); errors.Is(err, fs.ErrNotExist) {
				return Keyring{}, fmt.Errorf("open keys: %s %w", filepath.Join(dir, name), ErrKeyLost)
			}
		}
	}
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return Keyring{}, fmt.Errorf("open keys: %w", err)
	}
	secret := func() ([]byte, error) {
		key := make([]byte, secretSize)
		if _, err := io.ReadFull(chance, key); err != nil {
			return nil, err
		}
		return []byte(b64.EncodeToString(key) + "\n"), nil
	}
	signing := func() ([]byte, error) {
		set, err := NewKeySet(chance, now)
		if err != nil {
			return nil, err
		}
		return json.Marshal(set)
	}
	return keyring(func(name string) ([]byte, error) {
		if name == "signing.json" {
			return readOrMake(filepath.Join(dir, name), signing)
		}
		return readOrMake(filepath.Join(dir, name), secret)
	})
}

// keyring reads every key file by its name.
func keyring(read func(name string) ([]byte, error)) (ring Keyring, err error) {
	text, err := read("signing.json")
	if err != nil {
		return Keyring{}, err
	}
	if err := json.Unmarshal(text, &ring.Signing); err != nil {
		return Keyring{}, fmt.Errorf("open keys: signing.json: %w", errKeyFile)
	}
	for _, one := range []struct {
		name string
		into *[]byte
	}{{"codes.key", &ring.Codes}, {"content.key", &ring.Content}, {"clinic-mac.key", &ring.ClinicMAC}} {
		text, err := read(one.name)
		if err != nil {
			return Keyring{}, err
		}
		secret, err := b64.DecodeString(strings.TrimSuffix(string(text), "\n"))
		if err != nil || len(secret) != secretSize {
			return Keyring{}, fmt.Errorf("open keys: %s does not hold a key of %d bytes", one.name, secretSize)
		}
		*one.into = secret
	}
	return ring, nil
}

// KeyringOf reads a keyring out of its files' texts, by the names of KeyFiles,
// such as those of a saved one: nothing of it is written down.
func KeyringOf(files map[string][]byte) (Keyring, error) {
	return keyring(func(name string) ([]byte, error) {
		text, ok := files[name]
		if !ok {
			return nil, fmt.Errorf("open keys: %s %w", name, ErrKeyLost)
		}
		return text, nil
	})
}

// KeyFiles are the names of the files in a folder of keys.
var KeyFiles = []string{"signing.json", "codes.key", "content.key", "clinic-mac.key"}

// ReadKeyring is OpenKeyring where nothing may be made: a missing file is an
// error.
func ReadKeyring(dir string) (Keyring, error) {
	for _, name := range KeyFiles {
		if _, err := os.Stat(filepath.Join(dir, name)); err != nil {
			return Keyring{}, fmt.Errorf("open keys: %w", err)
		}
	}
	return OpenKeyring(dir, nil, time.Time{})
}

// WriteKeyFile writes one file of a folder of keys; name is one of KeyFiles.
// An existing one is replaced in one step.
func WriteKeyFile(dir, name string, text []byte) error {
	if !slices.Contains(KeyFiles, name) {
		return fmt.Errorf("write key: %q is not a key file", name)
	}
	return writeSecret(filepath.Join(dir, name), text)
}

// BackupMAC is the key that authenticates the manifests of backups. It
// follows from a key that never changes, so that old backups stay readable.
func (k Keyring) BackupMAC() []byte {
	h := hmac.New(sha256.New, k.ClinicMAC)
	h.Write([]byte("unsling backup manifests 1"))
	return h.Sum(nil)
}

// ErrTooSoon means that tokens of the key before the present one may still
// be in use.
var ErrTooSoon = errors.New("the keys were rotated a moment ago; tokens of the key before are still in use")

// RotateSigning makes the next key sign and publishes a fresh next one, and
// saves the set. The key that signed until now verifies until the next
// rotation, which is refused before every token of the key before that has
// run out.
func RotateSigning(dir string, set KeySet, chance io.Reader, now time.Time) (KeySet, error) {
	if set.Previous.ID != "" && now.Sub(set.Next.Made) < max(PhoneTokenLife, SessionIdle)+time.Minute {
		return set, ErrTooSoon // Next was made by the last rotation
	}
	rotated, err := set.Rotate(chance, now)
	if err != nil {
		return set, err
	}
	return rotated, SaveSigning(dir, rotated)
}

// SaveSigning replaces signing.json in dir, for rotation.
func SaveSigning(dir string, set KeySet) error {
	text, err := json.Marshal(set)
	if err != nil {
		return err
	}
	return writeSecret(filepath.Join(dir, "signing.json"), text)
}

func readOrMake(path string, make func() ([]byte, error)) ([]byte, error) {
	info, err := os.Stat(path)
	if errors.Is(err, fs.ErrNotExist) {
		text, err := make()
		if err != nil {
			return nil, fmt.Errorf("open keys: make %s: %w", filepath.Base(path), err)
		}
		return text, writeSecret(path, text)
	}
	if err != nil {
		return nil, fmt.Errorf("open keys: %w", err)
	}
	if info.Mode().Perm()&0o077 != 0 {
		return nil, fmt.Errorf("open keys: %s: %w", path, ErrLoose)
	}
	text, err := os.ReadFile(path)
	if err != nil {
		return nil, fmt.Errorf("open keys: %w", err)
	}
	return text, nil
}

// writeSecret writes beside, flushes, and renames, so that a crash leaves the
// old file or the new one and never half of one.
func writeSecret(path string, text []byte) error {
	beside := path + ".new"
	f, err := os.OpenFile(beside, os.O_WRONLY|os.O_CREATE|os.O_TRUNC, 0o600)
	if err != nil {
		return fmt.Errorf("write key: %w", err)
	}
	_, err = f.Write(text)
	err = errors.Join(err, f.Sync(), f.Close())
	if err == nil {
		err = os.Rename(beside, path)
	}
	if err == nil {
		err = syncFolder(filepath.Dir(path))
	}
	if err != nil {
		return fmt.Errorf("write key: %w", err)
	}
	return nil
}

func syncFolder(dir string) error {
	d, err := os.Open(dir)
	if err != nil {
		return err
	}
	return errors.Join(d.Sync(), d.Close())
}
