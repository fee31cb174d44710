package enginetest

import (
	"context"
	"encoding/base64"
	"encoding/json"
	"errors"
	"fmt"
	"strings"
	"sync"
)

// bidi speaks WebDriver BiDi (W3C) over one socket with one tab.
type bidi struct {
	ws   *socket
	tab  string
	name string

	mu      sync.Mutex
	last    int64
	waiting map[int64]chan reply
	lines   []string
	gone    error
}

type reply struct {
	Type    string          `json:"type"`
	ID      int64           `json:"id"`
	Result  json.RawMessage `json:"result"`
	Error   string          `json:"error"`
	Message string          `json:"message"`
	Method  string          `json:"method"`
	Params  json.RawMessage `json:"params"`
}

// object is a JSON object that is sent.
type object map[string]any

// newBidi begins a session and takes the tab that is open.
func newBidi(ctx context.Context, address string) (*bidi, error) {
	ws, err := dial(address)
	if err != nil {
		return nil, err
	}
	b := &bidi{ws: ws, waiting: map[int64]chan reply{}}
	go b.listen()
	var session struct {
		Capabilities struct{ BrowserName, BrowserVersion string }
	}
	if err := b.call(ctx, "session.new", object{"capabilities": object{}}, &session); err != nil {
		return nil, err
	}
	b.name = session.Capabilities.BrowserName + " " + session.Capabilities.BrowserVersion
	var tree struct{ Contexts []struct{ Context string } }
	if err := b.call(ctx, "browsingContext.getTree", object{}, &tree); err != nil {
		return nil, err
	}
	if len(tree.Contexts) == 0 {
		return nil, errors.New("the browser has no tab")
	}
	b.tab = tree.Contexts[0].Context
	return b, b.call(ctx, "session.subscribe", object{"events": []string{"log.entryAdded"}}, nil)
}

// listen gives every answer to who waits for it, and notes what the page says.
func (b *bidi) listen() {
	for {
		text, err := b.ws.receive()
		var r reply
		if err == nil {
			err = json.Unmarshal(text, &r)
		}
		b.mu.Lock()
		if err != nil {
			b.gone = fmt.Errorf("the browser is gone: %w", err)
			for id, c := range b.waiting {
				delete(b.waiting, id)
				close(c)
			}
			b.mu.Unlock()
			return
		}
		if r.Type == "event" && r.Method == "log.entryAdded" {
			var entry struct{ Level, Text, Type string }
			if json.Unmarshal(r.Params, &entry) == nil && entry.Level == "error" {
				b.lines = append(b.lines, entry.Type+": "+entry.Text)
			}
		} else if c, ok := b.waiting[r.ID]; ok && r.Type != "event" {
			delete(b.waiting, r.ID)
			c <- r
		}
		b.mu.Unlock()
	}
}

// call sends a command and decodes its result into out, unless that is nil.
func (b *bidi) call(ctx context.Context, method string, params object, out any) error {
	c := make(chan reply, 1)
	b.mu.Lock()
	if b.gone != nil {
		b.mu.Unlock()
		return b.gone
	}
	b.last++
	id := b.last
	b.waiting[id] = c
	b.mu.Unlock()
	text, err := json.Marshal(object{"id": id, "method": method, "params": params})
	if err != nil {
		return err
	}
	if err := b.ws.send(opText, text); err != nil {
		return err
	}
	select {
	case <-ctx.Done():
		return fmt.Errorf("%s: %w", method, ctx.Err())
	case r, ok := <-c:
		switch {
		case !ok:
			return b.gone
		case r.Type == "error":
			return fmt.Errorf("%s: %s: %s", method, r.Error, r.Message)
		case out == nil:
			return nil
		}
		return json.Unmarshal(r.Result, out)
	}
}

func (b *bidi) about() string { return b.name }

func (b *bidi) said() []string {
	b.mu.Lock()
	defer b.mu.Unlock()
	return append([]string(nil), b.lines...)
}

func (b *bidi) open(ctx context.Context, url string) error {
	return b.call(ctx, "browsingContext.navigate", object{"context": b.tab, "url": url, "wait": "complete"}, nil)
}

func (b *bidi) reload(ctx context.Context) error {
	return b.call(ctx, "browsingContext.reload", object{"context": b.tab, "wait": "complete"}, nil)
}

func (b *bidi) eval(ctx context.Context, expression string) (string, error) {
	var out struct {
		Type   string
		Result struct {
			Type  string
			Value json.RawMessage
		}
		ExceptionDetails struct{ Text string }
	}
	err := b.call(ctx, "script.evaluate", object{
		"expression": "(async () => JSON.stringify((await (" + expression + ")) ?? null))()", "awaitPromise": true,
		"target": object{"context": b.tab}, "userActivation": false,
	}, &out)
	if err != nil {
		return "", err
	}
	if out.Type != "success" || out.Result.Type != "string" {
		return "", errors.New(out.ExceptionDetails.Text)
	}
	var text string
	return text, errors.Join(json.Unmarshal(out.Result.Value, &text), nil)
}

func (b *bidi) tap(ctx context.Context, x, y float64) error {
	return b.call(ctx, "input.performActions", object{"context": b.tab, "actions": []any{object{
		"type": "pointer", "id": "finger", "parameters": object{"pointerType": "touch"},
		"actions": []any{
			object{"type": "pointerMove", "x": int(x), "y": int(y)},
			object{"type": "pointerDown", "button": 0}, object{"type": "pause", "duration": 30}, object{"type": "pointerUp", "button": 0},
		},
	}}}, nil)
}

func (b *bidi) keys(ctx context.Context, text string) error {
	var acts []any
	for _, r := range text {
		acts = append(acts, object{"type": "keyDown", "value": string(r)}, object{"type": "keyUp", "value": string(r)})
	}
	return b.call(ctx, "input.performActions", object{"context": b.tab, "actions": []any{object{"type": "key", "id": "keys", "actions": acts}}}, nil)
}

func (b *bidi) files(ctx context.Context, selector string, paths ...string) error {
	var found struct{ Nodes []struct{ SharedID string } }
	err := b.call(ctx, "browsingContext.locateNodes", object{"context": b.tab, "locator": object{"type": "css", "value": selector}, "maxNodeCount": 1}, &found)
	if err != nil {
		return err
	}
	if len(found.Nodes) == 0 {
		return fmt.Errorf("no element %s", selector)
	}
	return b.call(ctx, "input.setFiles", object{"context": b.tab, "element": object{"sharedId": found.Nodes[0].SharedID}, "files": paths}, nil)
}

func (b *bidi) picture(ctx context.Context) ([]byte, error) {
	var out struct{ Data string }
	if err := b.call(ctx, "browsingContext.captureScreenshot", object{"context": b.tab}, &out); err != nil {
		return nil, err
	}
	return base64.StdEncoding.DecodeString(strings.TrimSpace(out.Data))
}
