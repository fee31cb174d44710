package screen

import (
	"github.com/maxence-charriere/go-app/v10/pkg/app"

	"unsling/app/words"
	"unsling/engine/rom"
)

func (p *Phone) drawSettings() app.UI {
	a := p.a
	v := a.viewSettings()
	onOff := func(id, label string, on bool, set func(bool)) app.UI {
		return p.choices(id, label,
			p.choice(id+"-on", a.t(words.On), on, func() { set(true) }),
			p.choice(id+"-off", a.t(words.Off), !on, func() { set(false) }))
	}
	var langs []app.UI
	for _, l := range words.Langs {
		langs = append(langs, p.choice("lang-"+string(l), l.Name(), a.lang() == l, func() { a.chooseLanguage(l) }))
	}
	return app.Div().Class("page").Body(
		title(a.t(words.SettingsTitle)),
		p.choices("hand", a.t(words.SetHand),
			p.choice("hand-left", a.t(words.SetHandLeft), a.prefs.FreeHand == rom.Left, func() { a.setHand(rom.Left) }),
			p.choice("hand-right", a.t(words.SetHandRight), a.prefs.FreeHand == rom.Right, func() { a.setHand(rom.Right) })),
		p.choices("lang", a.t(words.SetLanguage), langs...),
		para("status", v.Unreviewed),
		p.choices("size", a.t(words.SetSize),
			p.choice("size-0", a.t(words.SizeNormal), a.prefs.Size == 0, func() { a.setSize(0) }),
			p.choice("size-1", a.t(words.SizeLarge), a.prefs.Size == 1, func() { a.setSize(1) }),
			p.choice("size-2", a.t(words.SizeLargest), a.prefs.Size == 2, func() { a.setSize(2) })),
		onOff("sound", a.t(words.SetSound), !a.prefs.Mute, a.setSound),
		onOff("voice", a.t(words.SetVoice), !a.prefs.NoVoice, a.setVoice),
		onOff("pictures", a.t(words.SetMotion), !a.prefs.Still, a.setPictures),
		p.row("to-reminders", "", a.t(words.RemindTitle), a.t(words.RemindLead), func() { a.goTo(PlaceReminders) }),
		app.Section().Class("block").Body(
			app.H2().Text(a.t(words.SetRecords)),
			app.P().ID("unsent").Text(v.Unsent),
			app.P().ID("status").Text(v.Status),
			app.P().ID("contact").Text(v.Contact),
			para("notice", v.Failed),
			p.button("send-now", "wide", a.t(words.SetSendNow), a.sendNow).Disabled(v.Busy),
			p.button("share", "wide quiet", a.t(words.ShareOpen), a.shareRecord),
			p.button("export", "wide quiet", a.t(words.ShareRaw), a.export),
			para("notice", v.Exported),
		),
		app.Section().Class("block").Body(
			app.H2().Text(a.t(words.SetStorage)),
			app.P().ID("storage").Text(v.Storage),
			p.button("persist", "wide quiet", a.t(words.KeepAsk), a.askPersist),
			when(v.CanAsk && !v.Installed, func() app.UI { return p.button("install", "wide quiet", a.t(words.InstallButton), a.install) }),
			when(v.Installed, func() app.UI { return app.P().Text(a.t(words.InstallDone)) }),
			when(v.Updating, func() app.UI { return app.P().Text(a.t(words.UpdateReady)) }),
			when(v.Updating, func() app.UI { return p.button("update", "wide", a.t(words.UpdateNow), a.update) }),
		),
		app.Section().Class("block").Body(
			app.H2().Text(a.t(words.SetPrivacy)),
			p.button("to-lock", "wide quiet", a.t(words.LockTitle), func() { a.goTo(PlaceLock) }),
			p.button("to-phones", "wide quiet", a.t(words.PhonesTitle), func() { a.goTo(PlacePhones) }),
			p.button("to-who", "wide quiet", a.t(v.People), a.toWho),
			p.button("to-leave", "wide quiet", a.t(a.leaveWord(words.LeaveTitle, words.WhoErase)), func() { a.goTo(PlaceLeave) }),
		),
		app.Section().Class("block").Body(
			app.H2().Text(a.t(words.SetAbout)),
			app.P().Text(a.t(words.SetIntended)),
			para("status", v.Version),
			para("status", v.Plan),
		),
		bar(p.button("back", "quiet", a.t(words.Back), func() { a.goTo(PlaceNow) })),
	)
}
