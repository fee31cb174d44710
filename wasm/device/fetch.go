//go:build js && wasm

package device

import (
	"context"
	"fmt"
	"syscall/js"
	"time"

	"unsling/sync/client"
	"unsling/wasm/internal/jsrun"
)

// Fetch makes HTTP requests by the browser's fetch. It is a client.Doer.
type Fetch struct {
	// Limit ends a request that has not been answered in full.
	Limit time.Duration
}

// Do sends a request to this origin, without cookies, and returns the status and the whole body, unpacked by the browser. It
// follows no redirection. An error means that no whole answer came.
func (f Fetch) Do(ctx context.Context, a client.Ask) (status int, body []byte, err error) {
	ctx, cancel := context.WithTimeout(ctx, f.Limit)
	defer cancel()
	headers := map[string]any{}
	for name, value := range a.Header {
		headers[name] = value
	}
	options := map[string]any{"method": a.Method, "headers": headers, "credentials": "omit", "cache": "no-store", "redirect": "error"}
	if a.Body != nil {
		options["body"] = jsrun.ToJS(a.Body)
	}
	if abort := js.Global().Get("AbortController"); abort.Truthy() {
		controller := abort.New()
		options["signal"] = controller.Get("signal")
		stop := context.AfterFunc(ctx, func() { _, _ = jsrun.Call(controller, "abort") })
		defer stop()
	}
	res, err := jsrun.CallAwait(ctx, js.Global(), "fetch", a.URL, options)
	if err != nil {
		return 0, nil, fmt.Errorf("fetch: %w", err)
	}
	buffer, err := jsrun.CallAwait(ctx, res, "arrayBuffer")
	if err != nil {
		return 0, nil, fmt.Errorf("fetch: %w", err)
	}
	body, _ = jsrun.ToGo(buffer)
	return res.Get("status").Int(), body, nil
}
