//go:build js && wasm

package device

import (
	"syscall/js"

	"unsling/wasm/internal/jsrun"
)

// Sound plays short tones. The zero value is ready; it must not be copied.
type Sound struct{ audio js.Value }

// note is one tone of a cue: frequency in hertz, start and length in seconds.
type note struct{ hz, at, long float64 }

// cues are our own choice: rising to begin, falling to end, repeated for an alert.
var cues = map[string][]note{
	"tick":  {{880, 0, 0.06}},
	"begin": {{587, 0, 0.12}, {880, 0.14, 0.18}},
	"end":   {{880, 0, 0.12}, {587, 0.14, 0.24}},
	"alert": {{440, 0, 0.2}, {440, 0.3, 0.2}, {440, 0.6, 0.2}},
}

// Prepare unlocks sound and speech. It must run in a tap, since browsers are silent until then.
func (s *Sound) Prepare() {
	_ = jsrun.Try(func() error {
		if !s.audio.Truthy() {
			class := window().Get("AudioContext")
			if !class.Truthy() {
				class = window().Get("webkitAudioContext")
			}
			if !class.Truthy() {
				return ErrAbsent
			}
			s.audio = class.New()
		}
		s.wake()
		return nil
	})
	unlockSpeech()
}

// wake resumes a context that was suspended by the browser or interrupted by a call.
func (s *Sound) wake() {
	if text(s.audio, "state") != "running" {
		ignore(s.audio.Call("resume"))
	}
}

// Tone plays "tick", "begin", "end" or "alert"; other names, and a browser without sound, stay silent.
func (s *Sound) Tone(name string) {
	_ = jsrun.Try(func() error {
		if !s.audio.Truthy() {
			return ErrAbsent
		}
		s.wake()
		now := s.audio.Get("currentTime").Float()
		for _, n := range cues[name] {
			s.play(n, now+n.at)
		}
		return nil
	})
}

// play lets one tone swell and fade, so that it does not click.
func (s *Sound) play(n note, at float64) {
	osc, gain := s.audio.Call("createOscillator"), s.audio.Call("createGain")
	level := gain.Get("gain")
	level.Call("setValueAtTime", 0, at)
	level.Call("linearRampToValueAtTime", 0.35, at+0.015)
	level.Call("setValueAtTime", 0.35, at+n.long-0.03)
	level.Call("linearRampToValueAtTime", 0, at+n.long)
	osc.Get("frequency").Set("value", n.hz)
	osc.Call("connect", gain)
	gain.Call("connect", s.audio.Get("destination"))
	osc.Call("start", at)
	osc.Call("stop", at+n.long)
}

// Vibrate takes milliseconds on, off, on...; phones that cannot stay still.
func Vibrate(pattern []int) {
	list := make([]any, len(pattern))
	for i, ms := range pattern {
		list[i] = ms
	}
	if jsrun.Has(navigator(), "vibrate") {
		_, _ = jsrun.Call(navigator(), "vibrate", list)
	}
}

// ignore takes a promise whose end nobody waits for, so that a rejection is not reported as unhandled.
func ignore(promise js.Value) {
	if promise.Type() == js.TypeObject && jsrun.Has(promise, "catch") {
		promise.Call("catch", nothing)
	}
}

var nothing = js.FuncOf(func(js.Value, []js.Value) any { return nil })
