//go:build js && wasm

package device

import (
	"context"
	"fmt"
	"syscall/js"

	"unsling/wasm/internal/jsrun"
)

// Picture is a photograph in the memory of the page; it goes nowhere by itself.
type Picture struct {
	URL           string   // "blob:..." for an <img>, until Drop
	Width, Height int      // pixels, upright
	Front         bool     // taken by the camera on the screen's side
	Blob          js.Value // the JPEG, without the file's own data on place and time
}

const (
	longSide    = 1600     // pixels; enough for landmarks, little enough for an old phone's memory
	largestFile = 60 << 20 // bytes
)

// FromFile reads the file chosen in the <input type=file> with the given id and empties the input. ErrNoPicture means that
// it is no readable picture, or that none was chosen.
func FromFile(ctx context.Context, inputID string) (Picture, error) {
	input := document().Call("getElementById", inputID)
	if !input.Truthy() || !input.Get("files").Truthy() || input.Get("files").Length() == 0 {
		return Picture{}, ErrNoPicture
	}
	file := input.Get("files").Index(0)
	defer input.Set("value", "")
	if size, ok := number(file, "size"); !ok || size > largestFile {
		return Picture{}, fmt.Errorf("%w: too large", ErrNoPicture)
	}
	bitmap, w, h, err := decode(ctx, file)
	if err != nil {
		return Picture{}, fmt.Errorf("%w: %w", ErrNoPicture, err)
	}
	p, err := drawn(ctx, bitmap, w, h)
	if jsrun.Has(bitmap, "close") {
		bitmap.Call("close")
	}
	return p, err
}

// decode reads an image file, turned upright as its camera noted.
func decode(ctx context.Context, file js.Value) (source js.Value, w, h int, err error) {
	if window().Get("createImageBitmap").Truthy() {
		bitmap, err := jsrun.CallAwait(ctx, window(), "createImageBitmap", file, map[string]any{"imageOrientation": "from-image"})
		if err == nil {
			return bitmap, bitmap.Get("width").Int(), bitmap.Get("height").Int(), nil
		}
	}
	// Older browsers know only the element, which turns pictures upright by itself.
	url := window().Get("URL").Call("createObjectURL", file)
	defer window().Get("URL").Call("revokeObjectURL", url)
	img := window().Get("Image").New()
	img.Set("src", url)
	if _, err := jsrun.CallAwait(ctx, img, "decode"); err != nil {
		return js.Undefined(), 0, 0, err
	}
	return img, img.Get("naturalWidth").Int(), img.Get("naturalHeight").Int(), nil
}

// drawn makes a Picture of what can be drawn on a canvas, w by h pixels, made smaller if it is large.
func drawn(ctx context.Context, source js.Value, w, h int) (Picture, error) {
	if w <= 0 || h <= 0 {
		return Picture{}, ErrNoPicture
	}
	if long := max(w, h); long > longSide {
		w, h = max(1, w*longSide/long), max(1, h*longSide/long)
	}
	canvas := document().Call("createElement", "canvas")
	canvas.Set("width", w)
	canvas.Set("height", h)
	defer func() { canvas.Set("width", 0); canvas.Set("height", 0) }() // some phones keep the memory otherwise
	done := make(chan js.Value, 1)
	got := js.FuncOf(func(_ js.Value, args []js.Value) any {
		done <- args[0]
		return nil
	})
	defer got.Release()
	err := jsrun.Try(func() error {
		canvas.Call("getContext", "2d").Call("drawImage", source, 0, 0, w, h)
		canvas.Call("toBlob", got, "image/jpeg", 0.9)
		return nil
	})
	if err != nil {
		return Picture{}, fmt.Errorf("%w: %w", ErrNoPicture, err)
	}
	select {
	case blob := <-done:
		if !blob.Truthy() {
			return Picture{}, ErrNoPicture
		}
		url := window().Get("URL").Call("createObjectURL", blob)
		return Picture{URL: url.String(), Width: w, Height: h, Blob: blob}, nil
	case <-ctx.Done():
		return Picture{}, ctx.Err()
	}
}

// Drop frees the picture of an address that Take or FromFile gave.
func Drop(url string) {
	if url != "" {
		_, _ = jsrun.Call(window().Get("URL"), "revokeObjectURL", url)
	}
}
