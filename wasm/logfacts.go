package main

import "unsling/app/screen"

// Facts is the latest snapshot.
func (l *phoneLog) Facts() screen.Facts {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.facts
}

// Subscribe calls f after each change of Facts.
func (l *phoneLog) Subscribe(f func()) (cancel func()) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.subs == nil {
		l.subs = map[int]func(){}
	}
	l.lastID++
	id := l.lastID
	l.subs[id] = f
	return func() {
		l.mu.Lock()
		defer l.mu.Unlock()
		delete(l.subs, id)
	}
}

// change changes the snapshot and tells everybody.
func (l *phoneLog) change(f func(*screen.Facts)) {
	for _, tell := range l.changed(f) {
		tell()
	}
}

// changed changes the snapshot and returns whom to tell.
func (l *phoneLog) changed(f func(*screen.Facts)) (subs []func()) {
	l.mu.Lock()
	defer l.mu.Unlock()
	f(&l.facts)
	for _, s := range l.subs {
		subs = append(subs, s)
	}
	return subs
}
