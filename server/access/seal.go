package access

import (
	"crypto/aes"
	"crypto/cipher"
	"crypto/hmac"
	"crypto/sha256"
	"encoding/json"
	"errors"
	"fmt"
	"io"
)

// Box seals small things under a key that is not in the store: secrets of
// second factors at rest, and what a page hands to the browser to bring back.
// AES-256-GCM; the use and the owner are authenticated, so that nothing sealed
// for one can be opened as another.
type Box struct {
	aead   cipher.AEAD
	key    []byte
	chance io.Reader
}

// ErrSealed means that a text is not what this clinic sealed for this use.
var ErrSealed = errors.New("not sealed here for this")

// NewBox makes a box of a key of 32 bytes.
func NewBox(key []byte, chance io.Reader) (*Box, error) {
	block, err := aes.NewCipher(key)
	if err != nil {
		return nil, fmt.Errorf("seal: %w", err)
	}
	aead, err := cipher.NewGCM(block)
	if err != nil {
		return nil, fmt.Errorf("seal: %w", err)
	}
	return &Box{aead: aead, key: key, chance: chance}, nil
}

// Seal encrypts.
func (b *Box) Seal(use, owner string, text []byte) ([]byte, error) {
	nonce := make([]byte, b.aead.NonceSize())
	if _, err := io.ReadFull(b.chance, nonce); err != nil {
		return nil, fmt.Errorf("seal: %w", err)
	}
	return b.aead.Seal(nonce, nonce, text, []byte(use+"\x00"+owner)), nil
}

// Open decrypts; ErrSealed for everything else.
func (b *Box) Open(use, owner string, sealed []byte) ([]byte, error) {
	n := b.aead.NonceSize()
	if len(sealed) < n {
		return nil, ErrSealed
	}
	text, err := b.aead.Open(nil, sealed[:n], sealed[n:], []byte(use+"\x00"+owner))
	if err != nil {
		return nil, ErrSealed
	}
	return text, nil
}

// Pack seals a value as text for a form.
func (b *Box) Pack(use, owner string, v any) (string, error) {
	text, err := json.Marshal(v)
	if err != nil {
		return "", fmt.Errorf("seal: %w", err)
	}
	sealed, err := b.Seal(use, owner, text)
	return b64.EncodeToString(sealed), err
}

// Unpack opens what Pack made.
func (b *Box) Unpack(use, owner, packed string, v any) error {
	sealed, err := b64.DecodeString(packed)
	if err != nil {
		return ErrSealed
	}
	text, err := b.Open(use, owner, sealed)
	if err != nil {
		return err
	}
	if json.Unmarshal(text, v) != nil {
		return ErrSealed
	}
	return nil
}

// Mark is a short keyed mark of a text, to tell later that it was made here
// for this use.
func (b *Box) Mark(use, text string) string { return mac(b.key, "mark "+use, text)[:22] }

// Marked checks a mark.
func (b *Box) Marked(use, text, mark string) bool {
	return hmac.Equal([]byte(b.Mark(use, text)), []byte(mark))
}

// StaffKey seals what belongs to the sign-in of staff. It follows from the
// clinic's key that never changes; the one that wraps the patients' keys can.
func (k Keyring) StaffKey() []byte {
	h := hmac.New(sha256.New, k.ClinicMAC)
	h.Write([]byte("unsling staff sign-in 1"))
	return h.Sum(nil)
}
