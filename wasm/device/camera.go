//go:build js && wasm

package device

import (
	"context"
	"fmt"
	"syscall/js"

	"unsling/wasm/internal/jsrun"
)

// Camera shows and takes photographs. The zero value is ready; it must not be copied.
type Camera struct {
	stream js.Value
	video  js.Value
	front  bool
}

// Open shows the live picture of the rear camera in the <video> with the given id, or of the front one where there is no
// other. It begins inside a tap. ErrRefused and ErrAbsent say that only a file is left.
func (c *Camera) Open(ctx context.Context, videoID string) error {
	c.Close()
	media := navigator().Get("mediaDevices")
	if !jsrun.Has(media, "getUserMedia") {
		return ErrAbsent
	}
	stream, err := jsrun.CallAwait(ctx, media, "getUserMedia", map[string]any{
		"audio": false,
		"video": map[string]any{
			"facingMode": map[string]any{"ideal": "environment"},
			"width":      map[string]any{"ideal": 1280},
			"height":     map[string]any{"ideal": 960},
		},
	})
	if err != nil {
		return refusal(err)
	}
	// Looked for only now: the tap that opens the camera may draw the page anew, and the element of before with it.
	video := document().Call("getElementById", videoID)
	c.stream, c.video = stream, video
	if !video.Truthy() {
		c.Close()
		return ErrAbsent
	}
	err = jsrun.Try(func() error {
		track := stream.Call("getVideoTracks").Index(0)
		c.front = jsrun.Has(track, "getSettings") && text(track.Call("getSettings"), "facingMode") == "user"
		video.Set("muted", true)
		video.Set("playsInline", true)
		return jsrun.Set(video, "srcObject", stream)
	})
	if err == nil {
		_, err = jsrun.CallAwait(ctx, video, "play")
	}
	if err != nil {
		c.Close()
		return fmt.Errorf("show the camera: %w", refusal(err))
	}
	return nil
}

// Take takes the picture that the video shows. Frames come as the lens sees them, never mirrored.
func (c *Camera) Take(ctx context.Context) (Picture, error) {
	if !c.stream.Truthy() {
		return Picture{}, ErrAbsent
	}
	w, h := c.video.Get("videoWidth").Int(), c.video.Get("videoHeight").Int()
	p, err := drawn(ctx, c.video, w, h)
	p.Front = c.front
	return p, err
}

// Close switches the camera off. Closing a closed one does nothing.
func (c *Camera) Close() {
	if c.stream.Truthy() {
		_ = jsrun.Try(func() error {
			tracks := c.stream.Call("getTracks")
			for i := range tracks.Length() {
				tracks.Index(i).Call("stop")
			}
			c.video.Set("srcObject", js.Null())
			return nil
		})
	}
	c.stream, c.video, c.front = js.Undefined(), js.Undefined(), false
}
