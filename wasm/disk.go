package main

import (
	"context"
	"errors"

	"unsling/engine/rom"
	"unsling/sync/journal"
	"unsling/wasm/idb"
)

// errNoDisk means that the browser gives this page no storage.
var errNoDisk = errors.New("the browser gives no storage")

// isGone reports whether the browser has removed the data under the running program.
func isGone(err error) bool { return errors.Is(err, idb.ErrGone) }

// disk is the phone's store before and after it has been opened: every call waits until open was called.
type disk struct {
	ready chan struct{}
	in    journal.Store
}

var _ journal.Store = (*disk)(nil)

func newDisk() *disk { return &disk{ready: make(chan struct{})} }

// open says what the store is. A nil store means that there is none: then nothing can be kept, and every write says so.
func (d *disk) open(in journal.Store) {
	d.in = in
	close(d.ready)
}

func (d *disk) wait(ctx context.Context) error {
	select {
	case <-d.ready:
	case <-ctx.Done():
		return ctx.Err()
	}
	if d.in == nil {
		return errNoDisk
	}
	return nil
}

// nothing lets reading go on without a store: there is nothing to be read.
func nothing(err error) error {
	if errors.Is(err, errNoDisk) {
		return nil
	}
	return err
}

func (d *disk) Commit(ctx context.Context, b journal.Batch) error {
	if err := d.wait(ctx); err != nil {
		return err
	}
	return d.in.Commit(ctx, b)
}

func (d *disk) Last(ctx context.Context, a rom.Author) (row journal.Row, ok bool, err error) {
	if err := d.wait(ctx); err != nil {
		return row, false, nothing(err)
	}
	return d.in.Last(ctx, a)
}

func (d *disk) Rows(ctx context.Context, a rom.Author, from int64, most int) ([]journal.Row, error) {
	if err := d.wait(ctx); err != nil {
		return nil, nothing(err)
	}
	return d.in.Rows(ctx, a, from, most)
}

func (d *disk) Each(ctx context.Context, f func(journal.Row) error) error {
	if err := d.wait(ctx); err != nil {
		return nothing(err)
	}
	return d.in.Each(ctx, f)
}

func (d *disk) Meta(ctx context.Context, name string) ([]byte, error) {
	if err := d.wait(ctx); err != nil {
		return nil, nothing(err)
	}
	return d.in.Meta(ctx, name)
}

func (d *disk) Blob(ctx context.Context, name string) ([]byte, error) {
	if err := d.wait(ctx); err != nil {
		return nil, nothing(err)
	}
	return d.in.Blob(ctx, name)
}

func (d *disk) BlobNames(ctx context.Context) ([]string, error) {
	if err := d.wait(ctx); err != nil {
		return nil, nothing(err)
	}
	return d.in.BlobNames(ctx)
}

func (d *disk) Close() error {
	if err := d.wait(context.Background()); err != nil {
		return nothing(err)
	}
	return d.in.Close()
}
