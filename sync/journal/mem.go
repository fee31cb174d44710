package journal

import (
	"bytes"
	"context"
	"maps"
	"slices"
	"sync"

	"unsling/engine/rom"
)

// Disk is a disk in memory. Several Mem over one Disk are several windows.
type Disk struct {
	lock   sync.Mutex
	chains map[rom.Author]*chain
	meta   map[string][]byte
	blobs  map[string][]byte
	limit  int // bytes; 0 for none
}

// chain is an author's rows with their numbers in rising order.
type chain struct {
	rows map[int64]Row
	ns   []int64
}

// NewDisk returns an empty disk.
func NewDisk() *Disk {
	return &Disk{chains: map[rom.Author]*chain{}, meta: map[string][]byte{}, blobs: map[string][]byte{}}
}

// Copy returns a copy of the disk, as a cloned phone or a snapshot has it.
func (d *Disk) Copy() *Disk {
	d.lock.Lock()
	defer d.lock.Unlock()
	c := &Disk{chains: map[rom.Author]*chain{}, meta: maps.Clone(d.meta), blobs: maps.Clone(d.blobs), limit: d.limit}
	for a, ch := range d.chains {
		c.chains[a] = &chain{maps.Clone(ch.rows), slices.Clone(ch.ns)}
	}
	return c
}

// Become gives the disk the content of another, as after a roll-back.
func (d *Disk) Become(o *Disk) {
	c := o.Copy()
	d.lock.Lock()
	defer d.lock.Unlock()
	d.chains, d.meta, d.blobs = c.chains, c.meta, c.blobs
}

// Evict empties the disk, as a browser may do.
func (d *Disk) Evict() { d.Become(NewDisk()) }

// Limit makes the disk refuse with ErrFull what would let it grow beyond so
// many bytes; 0 for no limit.
func (d *Disk) Limit(bytes int) {
	d.lock.Lock()
	defer d.lock.Unlock()
	d.limit = bytes
}

// Size returns the bytes in use.
func (d *Disk) Size() int {
	d.lock.Lock()
	defer d.lock.Unlock()
	return d.size()
}

func (d *Disk) size() int {
	n := 0
	for _, c := range d.chains {
		for _, r := range c.rows {
			n += len(r.Line) + 64
		}
	}
	for _, m := range []map[string][]byte{d.meta, d.blobs} {
		for k, v := range m {
			n += len(k) + len(v)
		}
	}
	return n
}

// Open returns a new connection to the disk.
func (d *Disk) Open() *Mem { return &Mem{disk: d} }

// Mem is a Store over a Disk, with faults on demand.
type Mem struct {
	disk *Disk
	// Before is asked before an operation; its error is returned instead of
	// doing anything. After is asked when it was done; its error is returned
	// all the same, so that the caller cannot know. Either may be nil. The
	// name is that of the method.
	Before, After func(method string) error
}

var _ Store = (*Mem)(nil)

// NewMem returns a Store over a disk of its own.
func NewMem() *Mem { return NewDisk().Open() }

func (m *Mem) do(method string, f func(d *Disk) error) error {
	if m.Before != nil {
		if err := m.Before(method); err != nil {
			return err
		}
	}
	m.disk.lock.Lock()
	err := f(m.disk)
	m.disk.lock.Unlock()
	if err == nil && m.After != nil {
		err = m.After(method)
	}
	return err
}

// Commit implements Store.
func (m *Mem) Commit(_ context.Context, b Batch) error {
	return m.do("Commit", func(d *Disk) error { return d.commit(b) })
}

func (d *Disk) commit(b Batch) error {
	gone, added := map[rom.Ref]bool{}, map[rom.Ref]bool{}
	for _, k := range b.Delete {
		gone[k] = true
	}
	grow := 0
	for _, r := range b.Add {
		_, there := d.row(r.Key())
		if added[r.Key()] || there && !gone[r.Key()] {
			return ErrExists
		}
		added[r.Key()] = true
		grow += len(r.Line) + 64
	}
	for _, r := range b.Put {
		old, there := d.row(r.Key())
		if grow += len(r.Line) - len(old.Line); !there {
			grow += 64
		}
	}
	for _, it := range b.Meta {
		grow += len(it.Value) - len(d.meta[it.Name])
	}
	for _, it := range b.Blobs {
		grow += len(it.Value) - len(d.blobs[it.Name])
	}
	if d.limit > 0 && grow > 0 && d.size()+grow > d.limit {
		return ErrFull
	}
	for _, k := range b.Delete {
		d.remove(k)
	}
	for _, r := range slices.Concat(b.Add, b.Put) {
		d.put(r)
	}
	set(d.meta, b.Meta)
	set(d.blobs, b.Blobs)
	return nil
}

func set(m map[string][]byte, items []Item) {
	for _, it := range items {
		if it.Value == nil {
			delete(m, it.Name)
		} else {
			m[it.Name] = bytes.Clone(it.Value)
		}
	}
}

func (d *Disk) row(k rom.Ref) (Row, bool) {
	c := d.chains[k.Author]
	if c == nil {
		return Row{}, false
	}
	r, ok := c.rows[k.N]
	return r, ok
}

func (d *Disk) put(r Row) {
	c := d.chains[r.Author]
	if c == nil {
		c = &chain{rows: map[int64]Row{}}
		d.chains[r.Author] = c
	}
	if i, ok := slices.BinarySearch(c.ns, r.N); !ok {
		c.ns = slices.Insert(c.ns, i, r.N)
	}
	r.Line = bytes.Clone(r.Line)
	c.rows[r.N] = r
}

func (d *Disk) remove(k rom.Ref) {
	c := d.chains[k.Author]
	if c == nil {
		return
	}
	if i, ok := slices.BinarySearch(c.ns, k.N); ok {
		c.ns = slices.Delete(c.ns, i, i+1)
		delete(c.rows, k.N)
	}
}

// Last implements Store.
func (m *Mem) Last(_ context.Context, a rom.Author) (row Row, ok bool, err error) {
	err = m.do("Last", func(d *Disk) error {
		if c := d.chains[a]; c != nil && len(c.ns) > 0 {
			row, ok = c.rows[c.ns[len(c.ns)-1]], true
		}
		return nil
	})
	return row, ok && err == nil, err
}

// Rows implements Store.
func (m *Mem) Rows(_ context.Context, a rom.Author, from int64, most int) (rows []Row, err error) {
	err = m.do("Rows", func(d *Disk) error {
		c := d.chains[a]
		if c == nil {
			return nil
		}
		i, _ := slices.BinarySearch(c.ns, from)
		for ; i < len(c.ns) && len(rows) < most; i++ {
			rows = append(rows, c.rows[c.ns[i]])
		}
		return nil
	})
	return rows, err
}

// Each implements Store.
func (m *Mem) Each(_ context.Context, f func(Row) error) error {
	var all []Row
	err := m.do("Each", func(d *Disk) error {
		for _, a := range slices.Sorted(maps.Keys(d.chains)) {
			for _, n := range d.chains[a].ns {
				all = append(all, d.chains[a].rows[n])
			}
		}
		return nil
	})
	for i := 0; i < len(all) && err == nil; i++ {
		err = f(all[i])
	}
	return err
}

// Meta implements Store.
func (m *Mem) Meta(_ context.Context, name string) (v []byte, err error) {
	err = m.do("Meta", func(d *Disk) error { v = bytes.Clone(d.meta[name]); return nil })
	return v, err
}

// Blob implements Store.
func (m *Mem) Blob(_ context.Context, name string) (v []byte, err error) {
	err = m.do("Blob", func(d *Disk) error { v = bytes.Clone(d.blobs[name]); return nil })
	return v, err
}

// BlobNames implements Store.
func (m *Mem) BlobNames(context.Context) (names []string, err error) {
	err = m.do("BlobNames", func(d *Disk) error { names = slices.Sorted(maps.Keys(d.blobs)); return nil })
	return names, err
}

// Close implements Store. The disk stays.
func (m *Mem) Close() error { return nil }
