//go:build js && wasm

package device

import (
	"context"
	"strings"
	"syscall/js"

	"unsling/wasm/internal/jsrun"
)

// Kind is a sort of phone, as far as installing differs.
type Kind int

// The kinds.
const (
	Other Kind = iota
	Apple      // iPhone and iPad: a browser tab and the installed app have separate storage
	Android
)

// KindOfPhone tells what sort of phone this is.
func KindOfPhone() Kind {
	agent := text(navigator(), "userAgent")
	touch, _ := number(navigator(), "maxTouchPoints")
	switch {
	case strings.Contains(agent, "iPhone"), strings.Contains(agent, "iPad"), strings.Contains(agent, "iPod"),
		strings.Contains(agent, "Macintosh") && touch > 1: // an iPad calls itself a Macintosh
		return Apple
	case strings.Contains(agent, "Android"):
		return Android
	}
	return Other
}

// Describe names system and browser, such as "Android, Chromium 156". It identifies nobody.
func Describe() string {
	agent := text(navigator(), "userAgent")
	system := "computer"
	switch KindOfPhone() {
	case Apple:
		system = "iPhone or iPad"
	case Android:
		system = "Android"
	}
	for _, b := range []struct{ mark, name string }{
		{"Firefox/", "Firefox"}, {"FxiOS/", "Firefox"}, {"EdgA/", "Edge"}, {"Edg/", "Edge"}, {"SamsungBrowser/", "Samsung Internet"},
		{"CriOS/", "Chrome"}, {"Chrome/", "Chromium"}, {"Version/", "Safari"},
	} {
		if _, rest, ok := strings.Cut(agent, b.mark); ok {
			major, _, _ := strings.Cut(rest, ".")
			if len(major) > 0 && len(major) <= 4 {
				return system + ", " + b.name + " " + major
			}
		}
	}
	return system
}

// Installed reports whether the app runs from the home screen.
func Installed() bool {
	if truth(navigator(), "standalone") {
		return true
	}
	if !jsrun.Has(window(), "matchMedia") {
		return false
	}
	for _, mode := range []string{"standalone", "fullscreen", "minimal-ui"} {
		if m, err := jsrun.Call(window(), "matchMedia", "(display-mode: "+mode+")"); err == nil && truth(m, "matches") {
			return true
		}
	}
	return false
}

// Installable reports whether Install would ask.
func Installable() bool { return truth(boot(), "install") }

// Install shows the browser's own question, inside a tap, and waits for the answer. ErrRefused means no, ErrAbsent that this
// browser has no such question now.
func Install(ctx context.Context) error {
	if !Installable() {
		return ErrAbsent
	}
	event := boot().Get("install")
	boot().Set("install", js.Null()) // it can be used once
	if _, err := jsrun.CallAwait(ctx, event, "prompt"); err != nil {
		return refusal(err)
	}
	choice, err := jsrun.Await(ctx, event.Get("userChoice"))
	if err != nil {
		return refusal(err)
	}
	if text(choice, "outcome") != "accepted" {
		return ErrRefused
	}
	return nil
}

// OnInstallable calls f when Installable or Installed may have changed.
func OnInstallable(f func()) (cancel func()) {
	return jsrun.Listen(window(), "unsling-install", func(js.Value) { f() })
}

// Languages are the browser's, preferred first, such as "es-MX".
func Languages() []string {
	list := navigator().Get("languages")
	if list.Type() != js.TypeObject {
		return nil
	}
	var all []string
	for i := range list.Length() {
		if v := list.Index(i); v.Type() == js.TypeString {
			all = append(all, v.String())
		}
	}
	return all
}

// StillWanted reports whether the person has asked the system for pictures that do not move.
func StillWanted() bool {
	if !jsrun.Has(window(), "matchMedia") {
		return false
	}
	m, err := jsrun.Call(window(), "matchMedia", "(prefers-reduced-motion: reduce)")
	return err == nil && truth(m, "matches")
}
