//go:build js && wasm

package device

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"net/http"
	"syscall/js"
	"time"

	"unsling/wasm/internal/jsrun"
)

// Fetch makes HTTP requests by the browser's fetch. Of net/http it uses the
// shapes of request and answer only: the transport, with the TLS that no
// browser needs from us, would add 0.8 MB to the phone's compressed program.
type Fetch struct {
	// Limit ends a request that has not been answered in full.
	Limit time.Duration
}

// Do sends r to this origin, without cookies, and returns the whole answer.
// The body is unpacked by the browser.
func (f Fetch) Do(r *http.Request) (*http.Response, error) {
	ctx, cancel := context.WithTimeout(r.Context(), f.Limit)
	defer cancel()
	headers := map[string]any{}
	for name := range r.Header {
		headers[name] = r.Header.Get(name)
	}
	options := map[string]any{"method": r.Method, "headers": headers, "credentials": "omit", "cache": "no-store", "redirect": "error"}
	if r.Body != nil {
		defer r.Body.Close()
		body, err := io.ReadAll(r.Body)
		if err != nil {
			return nil, fmt.Errorf("read what is to be sent: %w", err)
		}
		options["body"] = jsrun.ToJS(body)
	}
	if abort := js.Global().Get("AbortController"); abort.Truthy() {
		controller := abort.New()
		options["signal"] = controller.Get("signal")
		stop := context.AfterFunc(ctx, func() { _, _ = jsrun.Call(controller, "abort") })
		defer stop()
	}
	res, err := jsrun.CallAwait(ctx, js.Global(), "fetch", r.URL.String(), options)
	if err != nil {
		return nil, fmt.Errorf("fetch: %w", err)
	}
	buffer, err := jsrun.CallAwait(ctx, res, "arrayBuffer")
	if err != nil {
		return nil, fmt.Errorf("fetch: %w", err)
	}
	body, _ := jsrun.ToGo(buffer)
	answer := &http.Response{StatusCode: res.Get("status").Int(), Header: http.Header{}, Body: io.NopCloser(bytes.NewReader(body)), ContentLength: int64(len(body)), Request: r}
	for _, name := range []string{"Content-Type", "Retry-After"} {
		if v, err := jsrun.Call(res.Get("headers"), "get", name); err == nil && v.Type() == js.TypeString {
			answer.Header.Set(name, v.String())
		}
	}
	return answer, nil
}
