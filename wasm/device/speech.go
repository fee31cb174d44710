//go:build js && wasm

package device

import (
	"strings"
	"syscall/js"

	"unsling/wasm/internal/jsrun"
)

func synthesis() (js.Value, bool) {
	s := window().Get("speechSynthesis")
	return s, jsrun.Has(s, "speak") && window().Get("SpeechSynthesisUtterance").Truthy()
}

// unlockSpeech says nothing, inside a tap: some phones speak later only if they have spoken there.
func unlockSpeech() {
	_ = jsrun.Try(func() error {
		synth, ok := synthesis()
		if !ok || synth.Get("speaking").Truthy() {
			return nil
		}
		u := window().Get("SpeechSynthesisUtterance").New("")
		u.Set("volume", 0)
		synth.Call("speak", u)
		return nil
	})
}

// Speak says text in the language ("en", "es") after what is being said. Without a voice of that language on the phone
// itself nothing is said: a voice on somebody's server would get the text.
func Speak(sentence, lang string) {
	_ = jsrun.Try(func() error {
		voice, ok := voiceOf(lang)
		if !ok {
			return ErrAbsent
		}
		synth, _ := synthesis()
		u := window().Get("SpeechSynthesisUtterance").New(sentence)
		_ = jsrun.Set(u, "voice", voice) // without it the language alone decides
		u.Set("lang", voice.Get("lang"))
		u.Set("rate", 0.95)
		if synth.Get("paused").Truthy() {
			synth.Call("resume")
		}
		synth.Call("speak", u)
		return nil
	})
}

// Hush ends speech at once.
func Hush() {
	if synth, ok := synthesis(); ok {
		_, _ = jsrun.Call(synth, "cancel")
	}
}

// HasVoice reports whether the phone itself has a voice of the language.
func HasVoice(lang string) (has bool) {
	_ = jsrun.Try(func() error { _, has = voiceOf(lang); return nil })
	return has
}

func voiceOf(lang string) (js.Value, bool) {
	synth, ok := synthesis()
	if !ok {
		return js.Undefined(), false
	}
	voices := synth.Call("getVoices")
	for i := range voices.Length() {
		v := voices.Index(i)
		tag := strings.ToLower(strings.ReplaceAll(text(v, "lang"), "_", "-"))
		if v.Get("localService").Truthy() && (tag == lang || strings.HasPrefix(tag, lang+"-")) {
			return v, true
		}
	}
	return js.Undefined(), false
}
