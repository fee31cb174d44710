//go:build js && wasm

package main

import (
	"context"
	"errors"
	"time"

	"unsling/app/screen"
	"unsling/wasm/device"
	"unsling/wasm/idb"
)

// guardian is the lock's and the erasure's part of the browser. It is a screen.Guard.
type guardian struct {
	log  *phoneLog
	folk *people
	over func() // ends sending for good
}

var _ screen.Guard = (*guardian)(nil)

const guardLimit = 90 * time.Second

func (g *guardian) Salt() []byte {
	b := salt()
	return b[:]
}

func (g *guardian) Stretch(pin string, salt []byte) ([]byte, error) {
	ctx, cancel := context.WithTimeout(context.Background(), guardLimit)
	defer cancel()
	return device.Stretch(ctx, pin, salt, 0)
}

func (g *guardian) CanCheck() bool {
	ctx, cancel := context.WithTimeout(context.Background(), guardLimit)
	defer cancel()
	return device.CanCheckOwner(ctx)
}

func (g *guardian) Bind() ([]byte, error) {
	ctx, cancel := context.WithTimeout(context.Background(), guardLimit)
	defer cancel()
	id, err := device.BindOwner(ctx)
	return id, inTerms(err)
}

func (g *guardian) Check(id []byte) error {
	ctx, cancel := context.WithTimeout(context.Background(), guardLimit)
	defer cancel()
	return inTerms(device.CheckOwner(ctx, id))
}

// Wipe first empties the person's database, so that nothing is left in it even where a browser does not let it be removed, then
// removes it, and with the last person everything else.
func (g *guardian) Wipe() error {
	ctx, cancel := context.WithTimeout(context.Background(), guardLimit)
	defer cancel()
	g.over()
	g.log.end()
	mine := g.folk.Mine()
	err := idb.Empty(ctx, mine)
	if err == nil {
		device.TellWiped(mine)
		_ = idb.Drop(ctx, mine) // an empty one may stay
	}
	list, _ := g.folk.known()
	if err != nil && len(without(list, mine)) > 0 || err == nil && g.folk.leave(ctx) {
		return err // the files are the others' too
	}
	return errors.Join(err, device.WipeFiles(ctx))
}

func (g *guardian) Restart() { device.Restart() }
