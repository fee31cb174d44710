//go:build js && wasm

package main

import (
	"context"
	"sync/atomic"

	"unsling/app/screen"
	"unsling/wasm/device"
)

// platform is the browser and its storage as the screens see it. It is a screen.Platform.
type platform struct {
	changed   func() // told when About would say something else
	folk      *people
	updating  atomic.Bool
	persisted atomic.Int32 // a screen.Answer
}

// watch keeps what About tells up to date.
func (p *platform) watch(ctx context.Context) {
	device.OnOnline(func(bool) { p.changed() })
	device.OnInstallable(p.changed)
	device.OnUpdate(ctx, func() {
		p.updating.Store(true)
		p.changed()
	})
	kept, err := device.Persisted(ctx)
	if err == nil && !kept && device.Installed() {
		kept, err = device.Persist(ctx) // some browsers come round once the app is installed; in a tab some would ask the person
	}
	if err == nil {
		p.note(kept)
	}
}

func (p *platform) note(kept bool) {
	answer := screen.No
	if kept {
		answer = screen.Yes
	}
	p.persisted.Store(int32(answer))
	p.changed()
}

func (p *platform) About() screen.About {
	kind := map[device.Kind]screen.Kind{device.Apple: screen.Apple, device.Android: screen.Android, device.Other: screen.Other}
	clinic, phone := device.RememberedClinic()
	languages := device.Languages()
	if last := device.RememberedLang(); last != "" && p.folk.Mine() == "" {
		languages = append([]string{last}, languages...) // nobody's choices are read yet
	}
	return screen.About{
		LastClinic:  clinic,
		LastPhone:   phone,
		Kind:        kind[device.KindOfPhone()],
		Name:        device.Describe(),
		Installed:   device.Installed(),
		Installable: device.Installable(),
		Online:      device.Online(),
		Languages:   languages,
		Updating:    p.updating.Load(),
		Version:     device.Version(),
		Persisted:   screen.Answer(p.persisted.Load()),
		Still:       device.StillWanted(),
	}
}

func (p *platform) Install() error {
	err := device.Install(context.Background())
	p.changed()
	return inTerms(err)
}

func (p *platform) Persist() (kept bool, err error) {
	kept, err = device.Persist(context.Background())
	if err == nil {
		p.note(kept)
	}
	return kept, inTerms(err)
}

func (p *platform) SaveFile(name, mime string, data []byte) error {
	return device.SaveFile(name, mime, data)
}

func (p *platform) Remember(lang, clinic, phone string) { device.Remember(lang, clinic, phone) }

// Update lets the waiting version in; while a session runs in another window nothing happens, and the offer stays.
func (p *platform) Update() error {
	var sessions []string // of everybody: all windows are loaded anew
	for _, db := range databases {
		sessions = append(sessions, ownOf(sessionLock, db))
	}
	return inTerms(device.ApplyUpdate(context.Background(), sessions...))
}

func (p *platform) OnVisible(f func(visible bool)) (cancel func()) { return device.OnVisible(f) }
