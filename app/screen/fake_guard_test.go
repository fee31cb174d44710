package screen

import (
	"crypto/sha256"
	"errors"
)

// fakeGuard stands for the browser's part of lock and erasure.
type fakeGuard struct {
	can              bool
	bindErr          error
	checkErr         error
	wipeErr          error
	wipes, restarts  int
	stretched        []string
	vouched          []string
	vouchErr         error
	leaveErr         error
	leaves, wipeFrom int // wipeFrom: how many leaves had been when it was wiped
}

func (g *fakeGuard) Salt() []byte { return []byte("0123456789abcdef") }
func (g *fakeGuard) Stretch(pin string, salt []byte) ([]byte, error) {
	g.stretched = append(g.stretched, pin)
	sum := sha256.Sum256(append([]byte(pin), salt...))
	return sum[:], nil
}
func (g *fakeGuard) CanCheck() bool { return g.can }
func (g *fakeGuard) Bind() ([]byte, error) {
	return []byte("owner"), g.bindErr
}
func (g *fakeGuard) Check(id []byte) error {
	if string(id) != "owner" {
		return errors.New("another id")
	}
	return g.checkErr
}
func (g *fakeGuard) Wipe() error {
	g.wipes++
	g.wipeFrom = g.leaves
	return g.wipeErr
}
func (g *fakeGuard) Restart() { g.restarts++ }

func (f *fakePhone) Vouch(code, pin string) error {
	f.guard.vouched = append(f.guard.vouched, code+"/"+pin)
	return f.guard.vouchErr
}
func (f *fakePhone) Leave() error {
	f.guard.leaves++
	return f.guard.leaveErr
}

var _ Guard = (*fakeGuard)(nil)
