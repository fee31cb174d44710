package access

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"time"
)

// nextContentFile holds the content key to come while the store's keys are
// wrapped anew. While it is there nothing else opens the keyring.
const nextContentFile = "content.key.next"

// ErrKeyChange means that a change of content.key was begun and did not
// finish.
var ErrKeyChange = errors.New("a change of content.key did not finish; run unsling keys rotate-content again")

// BeginContentChange reads the keyring in dir and the content key to come,
// which is made if an earlier change has not left one. Everything must be
// there already.
func BeginContentChange(dir string, chance io.Reader) (ring Keyring, fresh []byte, err error) {
	for _, name := range KeyFiles {
		if _, err := os.Stat(filepath.Join(dir, name)); err != nil {
			return Keyring{}, nil, fmt.Errorf("open keys: %w", err)
		}
	}
	if ring, err = openKeyring(dir, nil, time.Time{}); err != nil {
		return Keyring{}, nil, err
	}
	text, err := readOrMake(filepath.Join(dir, nextContentFile), func() ([]byte, error) {
		secret := make([]byte, secretSize)
		if _, err := io.ReadFull(chance, secret); err != nil {
			return nil, err
		}
		return []byte(b64.EncodeToString(secret) + "\n"), nil
	})
	if err != nil {
		return Keyring{}, nil, err
	}
	if n := len(text); n > 0 && text[n-1] == '\n' {
		text = text[:n-1]
	}
	if fresh, err = b64.DecodeString(string(text)); err != nil || len(fresh) != secretSize {
		return Keyring{}, nil, fmt.Errorf("open keys: %s does not hold a key of %d bytes", nextContentFile, secretSize)
	}
	return ring, fresh, nil
}

// FinishContentChange puts the content key to come in the place of the old
// one, in one step. Only when the store is wrapped under it.
func FinishContentChange(dir string) error {
	err := os.Rename(filepath.Join(dir, nextContentFile), filepath.Join(dir, "content.key"))
	if err == nil {
		err = syncFolder(dir)
	}
	if err != nil {
		return fmt.Errorf("write key: %w", err)
	}
	return nil
}
