//go:build js && wasm

package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"strconv"
	"strings"
	"sync"
	"time"

	"unsling/app/screen"
	"unsling/sync/client"
	"unsling/wasm/device"
	"unsling/wasm/idb"
)

// Where the list lies, of all windows, and whose window a tab is.
const (
	listKey = "unsling.people"
	tabKey  = "unsling.who"
)

// people are those of this phone, as one window sees them. It is a screen.People.
type people struct {
	tell   func()                // told when something changed
	settle func(context.Context) // waits until what is being kept is kept

	chosen chan struct{} // closed once it is known whose window this is

	mu    sync.Mutex
	list  []person
	whole bool   // the list can be trusted; before, none is written
	mine  string // "" while nobody was chosen
	said  bool   // somebody said whose window this is
	asks  bool   // more people were found than the list named
	ended bool   // this window is nobody's any more: the person has left, or it is about to be another's
}

var _ screen.People = (*people)(nil)

// newPeople looks who is there, without waiting for anything. A phone with one person asks nothing.
func newPeople() *people {
	p := &people{tell: func() {}, settle: func(context.Context) {}, chosen: make(chan struct{})}
	p.list, p.whole = readPeople(device.Noted(false, listKey))
	switch tab := tabPerson(); {
	case tab != "":
		p.mine, p.said = tab, true
	case len(p.list) == 0:
		p.mine = databases[0]
	case len(p.list) == 1:
		p.mine = p.list[0].DB
	}
	if p.mine != "" {
		close(p.chosen)
	}
	device.OnNoted(listKey, p.reread)
	return p
}

// tabPerson is whose window this tab was a short while ago: a page that is loaded anew asks no sooner than one that stayed.
func tabPerson() string {
	db, at, _ := strings.Cut(device.Noted(true, tabKey), " ")
	seconds, err := strconv.ParseInt(at, 10, 64)
	if age := device.Now().Sub(time.Unix(seconds, 0)).Abs(); err != nil || !known(db) || age > screen.WhoAgain { // clocks are corrected
		return ""
	}
	return db
}

// stamp notes that this tab is still its person's. It does so where the person has said so.
func (p *people) stamp() {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.said && !p.ended {
		_ = stampTab(p.mine)
	}
}

func stampTab(db string) error {
	return device.Note(true, tabKey, db+" "+strconv.FormatInt(device.Now().Unix(), 10))
}

// reread takes over what another window has written.
func (p *people) reread() {
	p.mu.Lock()
	if list, whole := readPeople(device.Noted(false, listKey)); whole && !p.ended {
		p.list, p.whole = list, true
	}
	p.mu.Unlock()
	p.tell()
}

// save writes a list that can be trusted. Another window may have written since, so it begins with what is there.
func (p *people) save(change func([]person) []person) {
	if p.ended {
		return
	}
	if list, whole := readPeople(device.Noted(false, listKey)); whole && p.whole {
		p.list = list
	}
	p.list = change(p.list)
	if p.whole {
		_ = device.Note(false, listKey, writePeople(p.list)) // found again where it cannot be written
	}
}

func (p *people) List() []screen.Person {
	p.mu.Lock()
	defer p.mu.Unlock()
	out := make([]screen.Person, len(p.list))
	for i, one := range p.list {
		out[i] = screen.Person{ID: one.DB, Letters: one.Letters}
	}
	return out
}

// known gives the list and whether it can be trusted.
func (p *people) known() ([]person, bool) {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.list, p.whole
}

func (p *people) Mine() string {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.mine
}

func (p *people) Asks() bool {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.mine == "" || p.asks
}

func (p *people) Note(letters string) {
	p.mu.Lock()
	defer p.mu.Unlock()
	if i := index(p.list, p.mine); p.mine == "" || i >= 0 && p.list[i].Letters == letters && p.whole {
		return
	}
	isNew := index(p.list, p.mine) < 0
	p.save(func(list []person) []person {
		if list = noted(list, person{p.mine, letters}); isNew {
			list = first(list, p.mine)
		}
		return list
	})
}

// own names something for each person; of the first it is what it was when a phone held one.
func (p *people) own(name string) string { return ownOf(name, p.Mine()) }

func ownOf(name, db string) string {
	if db == "" || db == databases[0] {
		return name
	}
	return name + "/" + db
}

func (p *people) Choose(id string) error {
	if !known(id) {
		return fmt.Errorf("%w: nobody of that name", screen.ErrStorage)
	}
	return p.become(id, "/")
}

func (p *people) Add(secret string) error {
	ctx, cancel := context.WithTimeout(context.Background(), guardLimit)
	defer cancel()
	if err := p.find(ctx); err != nil {
		return fmt.Errorf("%w: %w", screen.ErrStorage, err)
	}
	p.mu.Lock()
	db, ok := room(p.list)
	p.mu.Unlock()
	if !ok {
		return screen.ErrCrowded
	}
	address := "/enrol"
	if secret != "" {
		address += "#" + secret
	}
	return p.become(db, address)
}

// become makes this the window of db. A window that was nobody's goes on; one that was somebody's is loaded anew, so that
// nothing of the other goes on in it: no timer, no exchange, no open database.
func (p *people) become(db, address string) error {
	ctx, cancel := context.WithTimeout(context.Background(), guardLimit)
	defer cancel()
	p.mu.Lock()
	was := p.mine
	if err := stampTab(db); err != nil && was != "" && was != db {
		p.mu.Unlock()
		return fmt.Errorf("%w: %w", screen.ErrStorage, err)
	}
	p.save(func(list []person) []person { return first(list, db) })
	p.said, p.asks = true, false
	if was == "" {
		p.mine = db
		close(p.chosen)
	}
	p.ended = was != "" && was != db
	p.mu.Unlock()
	if was != "" && was != db {
		p.settle(ctx)
		device.OpenAt(address)
		return nil
	}
	p.tell()
	return nil
}

// find brings the list in step with the databases. From then on it can be trusted.
func (p *people) find(ctx context.Context) error {
	names, err := idb.Present(ctx, databases[:]...)
	if err != nil {
		return err
	}
	var found []person
	mine := p.Mine()
	for _, db := range names {
		if db == mine {
			continue
		}
		one, there, err := peek(ctx, db)
		if err != nil {
			return err
		}
		if there {
			found = append(found, one)
		}
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	before := len(p.list)
	p.whole = true
	p.save(func(list []person) []person { return inStep(list, names, found, p.mine) })
	if others := len(without(p.list, p.mine)); others > 0 && len(p.list) > before && !p.said {
		p.asks = true
	}
	return nil
}

// mend brings the list in step with the databases at the start of a window: it may be gone, odd, or old.
func (p *people) mend(ctx context.Context, l *phoneLog) {
	for p.Mine() != "" && !l.Facts().Loaded { // the start comes first
		if time.Sleep(200 * time.Millisecond); ctx.Err() != nil {
			return
		}
	}
	if p.find(ctx) == nil {
		if l.Facts().Account.State != screen.Unknown {
			p.mu.Lock()
			p.save(func(list []person) []person {
				if index(list, p.mine) < 0 {
					return noted(list, person{DB: p.mine})
				}
				return list
			})
			p.mu.Unlock()
		}
		p.tell()
	}
}

// peek looks whether somebody's records lie in a database, and which letters they chose.
func peek(ctx context.Context, name string) (one person, there bool, err error) {
	db, err := idb.Open(ctx, name)
	if err != nil {
		return one, false, err
	}
	defer db.Close()
	if db.Fresh() { // opening has made it
		db.Close()
		return one, false, idb.Drop(ctx, name)
	}
	records, err := idb.OpenJournal(ctx, db)
	if errors.Is(err, idb.ErrKeyLost) {
		return person{DB: name}, true, nil
	}
	if err != nil {
		return one, false, err
	}
	in, err := client.Load(ctx, records)
	if err != nil || in.Enrolled == nil {
		return one, false, err
	}
	var prefs struct {
		Letters string `json:"letters"`
	}
	if data, err := records.Meta(ctx, keptPrefix+"prefs"); err == nil {
		_ = json.Unmarshal(data, &prefs)
	}
	letters, _ := screen.CleanLetters(prefs.Letters)
	return person{name, letters}, true, nil
}

// leave takes the person of this window, whose database was emptied, off the list, and reports whether anybody is left.
func (p *people) leave(ctx context.Context) bool {
	_ = p.find(ctx) // without it the list alone counts
	p.mu.Lock()
	defer p.mu.Unlock()
	p.save(func(list []person) []person { return without(list, p.mine) })
	p.ended = true
	_ = device.Note(true, tabKey, "")
	return len(p.list) > 0
}

// left makes this tab nobody's: another window has emptied its database.
func (p *people) left() {
	p.mu.Lock()
	p.ended = true
	p.mu.Unlock()
	_ = device.Note(true, tabKey, "")
	device.Reload()
}
