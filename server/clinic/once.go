package clinic

import "sync"

// onces keeps a form from being taken twice: by a double click, or by the
// browser's own "send again". Every form carries a token of its own; the
// second request with it waits for the first and is sent to the same page.
type onces struct {
	mu    sync.Mutex
	forms map[string]*once
	order []string // the oldest first
}

// once is one form of one page that was shown.
type once struct {
	mu sync.Mutex
	to string // where the person was sent when it was taken; "" until then
}

// onceMost bounds how many forms are remembered.
const onceMost = 4096

// enter returns the form's row, locked by the caller until it is done.
func (o *onces) enter(key string) *once {
	o.mu.Lock()
	if o.forms == nil {
		o.forms = map[string]*once{}
	}
	one := o.forms[key]
	if one == nil {
		one = &once{}
		o.forms[key] = one
		o.order = append(o.order, key)
		if len(o.order) > onceMost {
			delete(o.forms, o.order[0])
			o.order = o.order[1:]
		}
	}
	o.mu.Unlock()
	one.mu.Lock()
	return one
}
