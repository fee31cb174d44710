package badgerstore

import (
	"crypto/aes"
	"crypto/cipher"
	"errors"
	"fmt"
	"io"

	"unsling/engine/rom"
	"unsling/server/ledger"
)

// vault wraps the patients' content keys with the key-encryption key, and
// encrypts under them: AES-256-GCM with a random 96-bit nonce before the
// text. What a ciphertext belongs to is its additional data, so that none
// can be moved to another place.
type vault struct {
	kek    cipher.AEAD
	chance io.Reader
}

func newVault(kek []byte, chance io.Reader) (*vault, error) {
	aead, err := gcm(kek)
	if err != nil {
		return nil, fmt.Errorf("content key: %w", err)
	}
	return &vault{kek: aead, chance: chance}, nil
}

func gcm(key []byte) (cipher.AEAD, error) {
	if len(key) != 32 {
		return nil, errors.New("must have 32 bytes")
	}
	block, err := aes.NewCipher(key)
	if err != nil {
		return nil, err
	}
	return cipher.NewGCM(block)
}

func (v *vault) wrap(plain []byte, what string) ([]byte, error) {
	return seal(v.kek, v.chance, nil, plain, what)
}

func (v *vault) unwrap(sealed []byte, what string) ([]byte, error) {
	return unseal(v.kek, sealed, what)
}

// seal appends nonce and ciphertext to dst.
func seal(key cipher.AEAD, chance io.Reader, dst, plain []byte, what string) ([]byte, error) {
	at := len(dst)
	dst = append(dst, make([]byte, key.NonceSize())...)
	if _, err := io.ReadFull(chance, dst[at:]); err != nil {
		return nil, fmt.Errorf("draw nonce: %w", err)
	}
	return key.Seal(dst, dst[at:], plain, []byte(what)), nil
}

func unseal(key cipher.AEAD, sealed []byte, what string) ([]byte, error) {
	n := key.NonceSize()
	if len(sealed) < n {
		return nil, ledger.ErrDamaged
	}
	plain, err := key.Open(nil, sealed[:n], sealed[n:], []byte(what))
	if err != nil {
		return nil, fmt.Errorf("%w: decrypt", ledger.ErrDamaged)
	}
	return plain, nil
}

// newContentKey draws a patient's content key and stores it wrapped.
func (s *Store) newContentKey(t *txn, p rom.PatientID) (cipher.AEAD, error) {
	raw := make([]byte, 32)
	if _, err := io.ReadFull(s.opt.Chance, raw); err != nil {
		return nil, fmt.Errorf("draw content key: %w", err)
	}
	wrapped, err := s.vault.wrap(raw, "content "+string(p))
	if err != nil {
		return nil, err
	}
	if err := t.put(key("ck", string(p)), wrapped); err != nil {
		return nil, err
	}
	return gcm(raw)
}

// contentKey returns the patient's key; ErrErased if it was destroyed, which
// is an empty row.
func (s *Store) contentKey(t *txn, p rom.PatientID) (cipher.AEAD, error) {
	wrapped, err := t.get(key("ck", string(p)))
	if err != nil {
		return nil, err
	}
	if len(wrapped) == 0 {
		return nil, ledger.ErrErased
	}
	raw, err := s.vault.unwrap(wrapped, "content "+string(p))
	if err != nil {
		return nil, err
	}
	return gcm(raw)
}
