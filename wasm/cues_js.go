//go:build js && wasm

package main

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"time"

	"unsling/app/screen"
	"unsling/engine/gonio"
	"unsling/wasm/device"
)

// The types here give the device to the screens, in the screens' own terms.

type clock struct{}

func (clock) Now() time.Time                                { return device.Now() }
func (clock) Mono() int64                                   { return device.Mono() }
func (clock) Every(d time.Duration, f func()) (stop func()) { return device.Every(d, f) }

// sessionLock is held by the window in which a session runs.
const sessionLock = "unsling-session"

type cues struct {
	sound device.Sound
	wake  device.Wake
	// session names the lock that tells other windows of a session of this window's person.
	session func() string

	mu      sync.Mutex
	release func() // of that lock; nil while no session runs
}

func (c *cues) Prepare()                  { c.sound.Prepare() }
func (c *cues) Tone(name string)          { c.sound.Tone(name) }
func (c *cues) Speak(text, lang string)   { device.Speak(text, lang) }
func (c *cues) Hush()                     { device.Hush() }
func (c *cues) HasVoice(lang string) bool { return device.HasVoice(lang) }
func (c *cues) Vibrate(pattern []int)     { device.Vibrate(pattern) }

// KeepAwake is called for the length of a session, so it also tells other windows that one runs: no update is let in meanwhile.
func (c *cues) KeepAwake(on bool) error {
	ctx, cancel := context.WithTimeout(context.Background(), 5*time.Second)
	defer cancel()
	c.tell(ctx, on)
	return inTerms(c.wake.Keep(ctx, on))
}

func (c *cues) tell(ctx context.Context, on bool) {
	c.mu.Lock()
	defer c.mu.Unlock()
	switch {
	case on && c.release == nil:
		if release, ok, err := device.TryHold(ctx, c.session()); err == nil && ok {
			c.release = release
		}
	case !on && c.release != nil:
		c.release()
		c.release = nil
	}
}

type camera struct{ camera device.Camera }

func (c *camera) Open(video string) error { return inTerms(c.camera.Open(context.Background(), video)) }
func (c *camera) Close()                  { c.camera.Close() }
func (c *camera) Drop(p screen.Picture)   { device.Drop(p.URL) }

func (c *camera) Take() (screen.Picture, error) {
	p, err := c.camera.Take(context.Background())
	return picture(p), inTerms(err)
}

func (c *camera) FromFile(input string) (screen.Picture, error) {
	p, err := device.FromFile(context.Background(), input)
	return picture(p), inTerms(err)
}

// picture never says mirrored: browsers hand out what the lens saw, also from a front camera.
func picture(p device.Picture) screen.Picture {
	return screen.Picture{URL: p.URL, Width: p.Width, Height: p.Height}
}

type tilt struct{}

func (tilt) Start(f func(gonio.Sample)) (stop func(), err error) {
	stop, err = device.Tilt(context.Background(), func(s device.Sample) {
		f(gonio.Sample{X: s.X, Y: s.Y, Z: s.Z})
	})
	return stop, inTerms(err)
}

// inTerms gives a refusal of the device the screens' name.
func inTerms(err error) error {
	for from, to := range map[error]error{
		device.ErrRefused: screen.ErrRefused, device.ErrAbsent: screen.ErrAbsent, device.ErrNoPicture: screen.ErrNoPicture,
		device.ErrSession: screen.ErrBusy,
	} {
		if errors.Is(err, from) {
			return fmt.Errorf("%w: %w", to, err)
		}
	}
	return err
}
