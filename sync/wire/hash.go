package wire

import (
	"crypto/sha256"
	"encoding/base64"
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
	if len(s) != base64.RawURLEncoding.EncodedLen(n) || n == 0 {
		return false
	}
	for i := 0; i < len(s); i++ {
		if sixBits(s[i]) > 63 {
			return false
		}
	}
	spare := len(s)*6 - n*8 // bits of the last letter that say nothing must be 0
	return sixBits(s[len(s)-1])&(1<<spare-1) == 0
}

// sixBits returns what a letter of base64url stands for, 64 for none.
func sixBits(c byte) byte {
	switch {
	case c >= 'A' && c <= 'Z':
		return c - 'A'
	case c >= 'a' && c <= 'z':
		return c - 'a' + 26
	case c >= '0' && c <= '9':
		return c - '0' + 52
	case c == '-':
		return 62
	case c == '_':
		return 63
	}
	return 64
}
