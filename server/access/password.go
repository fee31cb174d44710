package access

import (
	"context"
	"crypto/subtle"
	_ "embed"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"
	"sync/atomic"
	"unicode/utf8"

	"golang.org/x/crypto/argon2"
)

// Cost of a password hash: OWASP Password Storage Cheat Sheet, argon2id,
// m = 19 MiB, t = 2, p = 1.
const (
	argonMemory = 19 * 1024 // KiB
	argonTime   = 2
	argonLanes  = 1
	argonSalt   = 16
	argonHash   = 32
	// atOnce bounds the memory that sign-ins can take together.
	atOnce = 2
)

// Lengths of a password in characters (OWASP ASVS 5.0, 6.2.1 and NIST SP
// 800-63B: 15 alone, 8 beside a second factor). There are no rules about
// kinds of characters and no forced changes.
const (
	MinAlone        = 15
	MinWithSecond   = 8
	maxPasswordSize = 1024 // bytes
)

// The ways in which a new password can be refused, each a sentence to show.
var (
	ErrPasswordShort  = errors.New("the password is too short")
	ErrPasswordLong   = errors.New("the password is too long")
	ErrPasswordCommon = errors.New("the password is one that is guessed first; choose another")
	ErrPasswordText   = errors.New("the password holds characters that cannot be typed")
)

// ErrHash means that a stored hash is not one of ours.
var ErrHash = errors.New("not an argon2id hash")

//go:embed common.txt
var commonText string

var common = func() map[string]bool {
	set := make(map[string]bool)
	for _, line := range strings.Fields(commonText) {
		set[line] = true
	}
	return set
}()

// CheckPassword says whether a new password may be used. own are words that
// the person must not use as the password, such as the login and the name of
// the clinic.
func CheckPassword(password string, secondFactor bool, own ...string) error {
	least := MinAlone
	if secondFactor {
		least = MinWithSecond
	}
	switch {
	case !utf8.ValidString(password) || strings.ContainsRune(password, 0):
		return ErrPasswordText
	case utf8.RuneCountInString(password) < least:
		return fmt.Errorf("%w: at least %d characters, a short sentence is good", ErrPasswordShort, least)
	case len(password) > maxPasswordSize:
		return ErrPasswordLong
	}
	plain := squeeze(password)
	if common[plain] || repeats(plain) {
		return ErrPasswordCommon
	}
	for _, word := range own {
		if w := squeeze(word); len(w) > 2 && repeatsOf(plain, w) {
			return ErrPasswordCommon
		}
	}
	return nil
}

// squeeze removes what people add to make a common password longer.
func squeeze(s string) string {
	s = strings.ToLower(strings.ReplaceAll(s, " ", ""))
	return strings.TrimRight(s, "!.?")
}

// repeats reports whether s is a common word or up to four letters said over
// and over ("passwordpassword", "123123123123123").
func repeats(s string) bool {
	for n := 1; n <= len(s)/2; n++ {
		if repeatsOf(s, s[:n]) && (n <= 4 || common[s[:n]]) {
			return true
		}
	}
	return false
}

func repeatsOf(s, word string) bool {
	return len(s) > 0 && len(s)%len(word) == 0 && strings.Repeat(word, len(s)/len(word)) == s
}

// Passwords hashes and verifies, at most two at a time.
type Passwords struct {
	slots  chan struct{}
	dummy  string
	hashes atomic.Int64
}

// Hashes is how many hashes were computed so far: one for every try to sign
// in, whoever tries.
func (p *Passwords) Hashes() int64 { return p.hashes.Load() }

// NewPasswords draws the salt of the hash that unknown people are compared
// with.
func NewPasswords(chance io.Reader) (*Passwords, error) {
	p := &Passwords{slots: make(chan struct{}, atOnce)}
	var err error
	p.dummy, err = p.Hash(context.Background(), "nobody has this password", chance)
	return p, err
}

// Hash returns the PHC string to store. It waits for a free slot.
func (p *Passwords) Hash(ctx context.Context, password string, chance io.Reader) (string, error) {
	salt := make([]byte, argonSalt)
	if _, err := io.ReadFull(chance, salt); err != nil {
		return "", fmt.Errorf("hash password: %w", err)
	}
	if err := p.enter(ctx); err != nil {
		return "", err
	}
	defer p.leave()
	sum := argon2.IDKey([]byte(password), salt, argonTime, argonMemory, argonLanes, argonHash)
	return phc{argonMemory, argonTime, argonLanes, salt, sum}.String(), nil
}

// Verify compares. stored is "" for somebody who does not exist: the same
// work is done and the answer is no. again reports that the hash was made
// with less than today's cost and should be replaced now.
func (p *Passwords) Verify(ctx context.Context, stored, password string) (ok, again bool, err error) {
	unknown := stored == ""
	if unknown {
		stored = p.dummy
	}
	if len(password) > maxPasswordSize {
		password = password[:maxPasswordSize] // too long to have been accepted; still costs the same
		unknown = true
	}
	h, err := parsePHC(stored)
	if err != nil {
		return false, false, err
	}
	if err := p.enter(ctx); err != nil {
		return false, false, err
	}
	defer p.leave()
	sum := argon2.IDKey([]byte(password), h.salt, h.time, h.memory, h.lanes, uint32(len(h.sum)))
	same := subtle.ConstantTimeCompare(sum, h.sum) == 1
	return same && !unknown, same && !unknown && (h.memory < argonMemory || h.time < argonTime), nil
}

func (p *Passwords) enter(ctx context.Context) error {
	select {
	case p.slots <- struct{}{}:
		p.hashes.Add(1)
		return nil
	case <-ctx.Done():
		return fmt.Errorf("wait for password check: %w", ctx.Err())
	}
}

func (p *Passwords) leave() { <-p.slots }

// phc is the string form of a hash, as the reference implementation writes
// it: $argon2id$v=19$m=19456,t=2,p=1$salt$hash in unpadded base 64.
type phc struct {
	memory, time uint32
	lanes        uint8
	salt, sum    []byte
}

func (h phc) String() string {
	return fmt.Sprintf("$argon2id$v=%d$m=%d,t=%d,p=%d$%s$%s", argon2.Version, h.memory, h.time, h.lanes,
		std64.EncodeToString(h.salt), std64.EncodeToString(h.sum))
}

func parsePHC(text string) (phc, error) {
	part := strings.Split(text, "$")
	if len(part) != 6 || part[0] != "" || part[1] != "argon2id" || part[2] != "v="+strconv.Itoa(argon2.Version) {
		return phc{}, ErrHash
	}
	var h phc
	var err error
	if n, scanErr := fmt.Sscanf(part[3], "m=%d,t=%d,p=%d", &h.memory, &h.time, &h.lanes); n != 3 || scanErr != nil {
		return phc{}, ErrHash
	}
	if h.salt, err = std64.DecodeString(part[4]); err != nil || len(h.salt) < 8 {
		return phc{}, ErrHash
	}
	if h.sum, err = std64.DecodeString(part[5]); err != nil || len(h.sum) < 16 || len(h.sum) > 64 {
		return phc{}, ErrHash
	}
	// A damaged or planted row must not be able to take all memory.
	if h.memory < 8 || h.memory > 256*1024 || h.time < 1 || h.time > 16 || h.lanes < 1 || h.lanes > 8 {
		return phc{}, ErrHash
	}
	return h, nil
}
