//go:build js && wasm

package main

import (
	"context"
	"errors"
	"time"

	"github.com/maxence-charriere/go-app/v10/pkg/app"

	"unsling/app/screen"
	"unsling/sync/client"
	"unsling/sync/journal"
	"unsling/wasm/device"
	"unsling/wasm/idb"
)

// database is the name of the phone's database, for ever.
const database = "unsling"

// run puts the phone's program together and mounts it at every phone address. It returns only when the page goes away.
func run() {
	ctx := context.Background()
	disk := newDisk()
	log := newLog(disk, parts{
		version: device.Version(), run: device.NewID(), mono: device.Mono, now: device.Now, zone: device.Zone, salt: salt,
	})
	keys := &keyring{}
	x := newExchanger(log, &client.Client{
		Base: device.Origin(), HTTP: device.Fetch{Limit: time.Minute}, Keys: keys, Random: salt,
	}, &client.Pace{Chance: chance})
	x.name, x.online, x.alone = device.Describe(), device.Online, alone
	about := &platform{changed: func() { log.change(func(*screen.Facts) {}) }}

	go guard(func() {
		keys.db = openDatabase(ctx, disk, log)
		x.Run(ctx)
	})
	go guard(func() { about.watch(ctx) })
	device.OnVisible(func(visible bool) {
		if visible {
			go guard(func() { _ = log.read(ctx); x.Wake(); device.CheckUpdate(ctx) }) // another window may have written
		}
	})
	device.OnOnline(func(online bool) {
		if online {
			x.Wake()
		}
	})
	device.Every(3*time.Second, func() {
		if device.Visible() {
			go guard(func() { _ = log.catchUp(ctx) }) // another window may have written
		}
	})
	device.Every(time.Hour, func() { go guard(func() { device.CheckUpdate(ctx) }) })

	deps := screen.Deps{
		Clock: clock{}, Cues: &cues{}, Camera: &camera{}, Tilt: tilt{}, Platform: about, Journal: log, Sender: x, NewID: device.NewID,
	}
	app.RouteWithRegexp("^/", screen.Routes(screen.New(deps)))
	app.RunWhenOnBrowser()
}

// openDatabase opens the phone's disk; nil means that the browser gives none, which the facts then say.
func openDatabase(ctx context.Context, d *disk, l *phoneLog) *idb.DB {
	db, err := idb.Open(ctx, database)
	for try := 0; errors.Is(err, idb.ErrBusy) && try < 2; try++ { // a browser that is slow after a start, or another window that is closing
		db, err = idb.Open(ctx, database)
	}
	if err != nil {
		d.open(nil)
		l.change(func(f *screen.Facts) { f.Trouble = screen.TroubleRefused })
		return nil
	}
	if db.Fresh() && device.Remembered() {
		l.change(func(f *screen.Facts) { f.Trouble = screen.TroubleLost })
	}
	var store journal.Store = idb.NewJournal(db)
	d.open(store)
	return db
}

// alone runs f unless another window is at an exchange.
func alone(ctx context.Context, f func()) bool {
	release, ok, err := device.TryHold(ctx, "unsling-exchange")
	if err != nil || ok { // without locks both windows work, and do no harm
		if release != nil {
			defer release()
		}
		f()
		return true
	}
	return false
}

// guard keeps a fault in the background from ending the program while a person is in a session.
func guard(f func()) {
	defer func() {
		if r := recover(); r != nil {
			app.Log("a background task has stopped")
		}
	}()
	f()
}

func salt() (b [16]byte) {
	device.Random(b[:])
	return b
}

// chance is uniform in [0, 1).
func chance() float64 {
	var b [4]byte
	device.Random(b[:])
	return float64(uint32(b[0])|uint32(b[1])<<8|uint32(b[2])<<16|uint32(b[3])<<24) / (1 << 32)
}
