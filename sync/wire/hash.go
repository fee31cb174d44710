package wire

import (
	"crypto/sha256"
	"encoding/base64"
	"strings"
)

// Hash is the base64url SHA-256 of a line without its line feed: 43 letters.
// The empty Hash means "none".
type Hash string

// NoPrev stands in for the hash of the line before the first.
const NoPrev Hash = "AAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA"

// HashOf returns the hash of a line.
func HashOf(line []byte) Hash {
	sum := sha256.Sum256(line)
	return Hash(base64.RawURLEncoding.EncodeToString(sum[:]))
}

// Valid reports whether h has the form of a hash.
func (h Hash) Valid() bool { return isBase64(string(h), 32) }

// Mark is how far an author's lines are known: the last one's number and
// hash. The zero Mark means none.
type Mark struct {
	N    int64 `json:"n"`
	Hash Hash  `json:"hash"`
}

// Prev returns what the line after the mark must name as prev.
func (m Mark) Prev() Hash {
	if m.N == 0 {
		return NoPrev
	}
	return m.Hash
}

// Cursor is how far a patient's log is known: the last line's sequence number
// and its hash. The zero Cursor is the beginning.
type Cursor struct {
	Seq  int64 `json:"seq"`
	Hash Hash  `json:"hash"`
}

// isBase64 reports whether s is the canonical unpadded base64url of n bytes.
func isBase64(s string, n int) bool {
	if len(s) != base64.RawURLEncoding.EncodedLen(n) || strings.ContainsAny(s, "\r\n") {
		return false
	}
	_, err := base64.RawURLEncoding.Strict().DecodeString(s)
	return err == nil
}
