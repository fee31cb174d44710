//go:build js && wasm

package main

import (
	"context"
	"errors"
	"time"

	"github.com/maxence-charriere/go-app/v10/pkg/app"

	"unsling/app/screen"
	"unsling/sync/client"
	"unsling/wasm/device"
	"unsling/wasm/idb"
)

// run puts the phone's program together and mounts it at every phone address. It returns only when the page goes away.
func run() {
	ctx, stop := context.WithCancel(context.Background())
	folk := newPeople()
	disk := newDisk()
	log := newLog(disk, parts{
		version: device.Version(), run: device.NewID(), mono: device.Mono, now: device.Now, zone: device.Zone, salt: salt,
	})
	keys := &keyring{}
	x := newExchanger(log, &client.Client{
		Base: device.Origin(), HTTP: device.Fetch{Limit: time.Minute}, Keys: keys, Random: salt,
	}, &client.Pace{Chance: chance})
	x.name, x.online = device.Describe(), device.Online
	x.alone = func(ctx context.Context, f func()) bool { return alone(ctx, folk.own("unsling-exchange"), f) }
	news := func() { log.change(func(*screen.Facts) {}) }
	about := &platform{changed: news, folk: folk}
	folk.tell, folk.settle = news, log.settle

	go guard(func() {
		<-folk.chosen
		var records *idb.Journal
		keys.db, records = openDatabase(ctx, folk, disk, log)
		go guard(func() { encryptOld(ctx, log, records) })
		x.Run(ctx)
	})
	go guard(func() { folk.mend(ctx, log) })
	go guard(func() { about.watch(ctx) })
	device.OnVisible(func(visible bool) {
		folk.stamp()
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

	device.OnWiped(func(database string) {
		if database == folk.Mine() {
			folk.left()
		}
	})

	deps := screen.Deps{
		Clock: clock{}, Cues: &cues{session: func() string { return folk.own(sessionLock) }}, Camera: &camera{}, Tilt: tilt{}, Platform: about, Journal: log, Sender: x, NewID: device.NewID,
		People: folk, Guard: &guardian{log: log, folk: folk, over: func() { stop(); x.one.Lock() }}, // no exchange begins any more
	}
	app.RouteWithRegexp("^/", screen.Routes(screen.New(deps)))
	app.RunWhenOnBrowser()
}

// openDatabase opens the phone's disk; nil means that there is none to write to, which the facts then say: the browser gives
// none, or the key to what lies there is gone.
func openDatabase(ctx context.Context, folk *people, d *disk, l *phoneLog) (*idb.DB, *idb.Journal) {
	database := folk.Mine()
	db, err := idb.Open(ctx, database)
	for try := 0; errors.Is(err, idb.ErrBusy) && try < 2; try++ { // a browser that is slow after a start, or another window that is closing
		db, err = idb.Open(ctx, database)
	}
	var records *idb.Journal
	if err == nil {
		records, err = idb.OpenJournal(ctx, db)
	}
	if err != nil {
		trouble := screen.TroubleRefused
		if errors.Is(err, idb.ErrKeyLost) {
			trouble = screen.TroubleKeyLost
		}
		d.open(nil)
		l.change(func(f *screen.Facts) { f.Trouble = trouble })
		return nil, nil
	}
	list, whole := folk.known()
	if db.Fresh() && lost(list, whole, device.Remembered(), database) {
		l.change(func(f *screen.Facts) { f.Trouble = screen.TroubleLost })
	}
	d.open(records)
	return db, records
}

// encryptOld takes over what a version of before has left in clear, once the log was read. What it does not finish it does at
// the next start.
func encryptOld(ctx context.Context, l *phoneLog, records *idb.Journal) {
	for records != nil && ctx.Err() == nil {
		if l.Facts().Loaded {
			if records.Clear() {
				_, _ = records.EncryptOld(ctx) // everything stays readable as it is
			}
			return
		}
		time.Sleep(time.Second)
	}
}

// alone runs f unless another window of the same person is at an exchange.
func alone(ctx context.Context, lock string, f func()) bool {
	release, ok, err := device.TryHold(ctx, lock)
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
