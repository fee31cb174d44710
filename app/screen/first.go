package screen

import (
	"unsling/app/words"
	"unsling/engine/rom"
)

// The pages of the first run, in their order.
const (
	firstWelcome = iota
	firstSafety
	firstConsent
	firstSide
	firstHand
	firstSound
	firstInstall
	firstKeep
	firstWho
	// FirstDone is the number of pages: the first run is over.
	FirstDone
)

type firstState struct {
	wrongSide rom.Side // the shoulder that was tapped and is not the clinic's
	played    bool
	silent    bool // nothing was heard
	answer    Answer
	letters   string // typed on the page of who this is
	again     bool   // that page alone: the letters are changed
	problem   string
}

// firstView is one page of the first run.
type firstView struct {
	Page      int
	Back      bool // there is a page before
	Step      string
	Title     string
	Text      []string
	Wrong     bool // stop: the other shoulder
	Answer    Answer
	AnswerSay string
	Steps     []string
	Pictures  []string // one for each step
	Goes      []string // what leaves the phone
	Stays     []string
	Letters   string
	Shared    bool // somebody else is here: letters are needed
	Problem   string
	Installed bool
	CanAsk    bool // the browser's own install question is there
	Played    bool
	Silent    bool
	NoVoice   bool
}

func (a *App) viewFirst() firstView {
	p := a.firstPage()
	clinic, _ := a.clinic()
	v := firstView{Page: p, Back: p > 0, Step: a.f(words.StepOf, p+1, FirstDone)}
	if a.sideDiffers() || a.onlyLetters() {
		v.Step, v.Back = "", a.first.again
	}
	switch p {
	case firstWelcome:
		v.Title = a.t(words.FirstTitle)
		if clinic != "" {
			v.Text = []string{a.f(words.FirstFrom, clinic)}
		}
		v.Text = append(v.Text, a.texts(words.FirstDoes, words.FirstTimes, words.FirstWorks, words.FirstNot)...)
	case firstSafety:
		name, _ := a.emergency()
		v.Title = a.t(words.SafeTitle)
		v.Text = []string{
			a.t(words.SafeStop), a.t(words.SafeLimit), a.f(words.SafeEmerg, name), a.t(words.NobodyWatch),
			a.t(words.SurgeonRule),
		}
	case firstConsent:
		v.Title = a.t(words.ConsentTitle)
		v.Goes = a.texts(words.ConsentWhat1, words.ConsentWhat2, words.ConsentWhat3, words.ConsentWhat4)
		v.Stays = a.texts(words.ConsentStay1, words.ConsentStay2)
		v.Text = a.texts(words.ConsentLeave)
	case firstWho:
		v.Title, v.Text = a.t(words.WhoTitle), a.texts(words.WhoLead)
		if v.Shared = a.shared(); v.Shared || a.onlyLetters() {
			v.Title = a.t(words.WhoYours)
		}
		v.Letters, v.Problem = a.first.letters, a.first.problem
	case firstSide:
		v.Title, v.Text = a.t(words.SideTitle), a.texts(words.SideAsk)
		if a.first.wrongSide != "" {
			v.Wrong, v.Title, v.Text = true, a.t(words.SideWrong), a.texts(words.SideWrongDo)
		}
	case firstHand:
		v.Title, v.Text = a.t(words.HandTitle), a.texts(words.HandAsk)
	case firstSound:
		v.Title, v.Text = a.t(words.SoundTitle), a.texts(words.SoundLead)
		v.Played, v.Silent = a.first.played, a.first.silent
		v.NoVoice = !a.d.Cues.HasVoice(string(a.lang()))
	case firstInstall:
		v.Title, v.Text, v.Steps = a.t(words.InstallTitle), a.texts(words.InstallLead), a.installSteps()
		v.Pictures = a.installPictures()
		v.Installed, v.CanAsk = a.about.Installed, a.about.Installable
		if v.Installed {
			v.Text, v.Steps, v.Pictures = a.texts(words.InstallDone), nil, nil
		}
	case firstKeep:
		v.Title, v.Text = a.t(words.KeepTitle), a.texts(words.KeepLead)
		if v.Answer = a.first.answer; v.Answer != NotKnown {
			v.AnswerSay = a.keepAnswer(v.Answer)
		}
	}
	return v
}

// sideDiffers reports whether the shoulder that was tapped is not the one of
// the episode that counts now: it came later, was corrected, or is another.
// Nothing may start until a tap agrees.
func (a *App) sideDiffers() bool {
	e := a.day.Episode
	return a.prefs.First >= FirstDone && a.prefs.Tapped != "" && e.Side != "" && !e.State.Ended() && a.prefs.Tapped != e.Side
}

// firstPage is the page of the first run that is shown.
func (a *App) firstPage() int {
	switch {
	case a.first.again:
		return firstWho
	case a.sideDiffers():
		return firstSide
	case a.onlyLetters():
		return firstWho
	}
	return a.prefs.First
}

func (a *App) keepAnswer(x Answer) string {
	switch x {
	case Yes:
		return a.t(words.KeepYes)
	case No:
		return a.t(words.KeepNo)
	}
	return a.t(words.KeepUnsure)
}

// firstNext goes on. The page of the shoulder lets nobody pass without a tap
// that agrees with the clinic.
func (a *App) firstNext() {
	if a.onlyLetters() {
		if a.takeLetters() {
			a.first = firstState{}
			a.savePrefs()
		}
		return
	}
	if a.prefs.First == firstSide && a.day.Episode.Side != "" && a.prefs.Tapped != a.day.Episode.Side {
		return
	}
	if a.prefs.First == firstWho && !a.takeLetters() {
		return
	}
	a.prefs.First++
	a.first.silent, a.aloud = false, ""
	if a.prefs.First == firstKeep {
		a.first.answer = a.about.Persisted
	}
	a.savePrefs()
	if a.prefs.First >= FirstDone {
		a.noteInstall()
		a.goTo(PlaceNow)
	}
}

// takeLetters keeps the letters that tell two people apart who share a phone;
// none means that nobody else uses it.
func (a *App) takeLetters() bool {
	s, ok := CleanLetters(a.first.letters)
	a.first.problem = ""
	switch {
	case !ok, s == "" && a.shared():
		a.first.problem = a.t(words.WhoBad)
	case s != "" && a.takenLetters(s):
		a.first.problem = a.t(words.WhoTaken)
	}
	if a.first.problem != "" {
		a.aloud = a.first.problem
		return false
	}
	a.prefs.Letters = s
	a.d.People.Note(s)
	return true
}

func (a *App) firstBack() {
	a.first.again = false
	if a.prefs.First > 0 && a.prefs.First < FirstDone {
		a.prefs.First--
		a.first.wrongSide = ""
		a.savePrefs()
	}
}

// tapSide takes the operated shoulder. A side that is not the clinic's stops
// everything and asks for a call; it is recorded, so that the clinic sees it.
func (a *App) tapSide(side rom.Side) {
	theirs := a.day.Episode.Side
	if theirs != "" && side != theirs {
		a.first.wrongSide = side
		a.aloud = a.t(words.SideWrong) + " " + a.t(words.SideWrongDo)
		a.recordInstall(side)
		return
	}
	again := a.prefs.First >= FirstDone
	a.prefs.Tapped = side
	a.prefs.FreeHand = side.Other()
	if !again {
		a.firstNext()
		return
	}
	a.first.wrongSide = ""
	a.savePrefs()
	a.recordInstall(side)
	a.look()
}

func (a *App) sideAgain() { a.first.wrongSide = "" }

func (a *App) chooseHand(side rom.Side) {
	a.prefs.FreeHand = side
	a.firstNext()
}

func (a *App) chooseLanguage(l words.Lang) {
	a.prefs.Language = l
	a.savePrefs()
}

// playSound plays what a session sounds like.
func (a *App) playSound() {
	a.d.Cues.Prepare()
	a.d.Cues.Tone("begin")
	a.d.Cues.Speak(a.t(words.SoundTry), string(a.lang()))
	a.d.Cues.Vibrate([]int{200})
	a.first.played, a.first.silent = true, false
}

func (a *App) hearNothing() { a.first.silent = true }

// install shows the browser's own question.
func (a *App) install() {
	a.run(func() { _ = a.d.Platform.Install() }, func() { a.look() })
}

// askPersist asks the browser to keep the data and shows its answer.
func (a *App) askPersist() {
	var yes bool
	err := errBroken
	a.run(func() { yes, err = a.d.Platform.Persist() }, func() {
		a.first.answer = No
		if yes && err == nil {
			a.first.answer = Yes
		}
		a.look()
		a.aloud = a.keepAnswer(a.first.answer)
	})
}

// noteInstall records the installation once the first run is over.
func (a *App) noteInstall() { a.recordInstall(a.prefs.Tapped) }

func (a *App) recordInstall(side rom.Side) {
	body := rom.Install{
		App: a.about.Version, Platform: a.about.Name, Language: string(a.lang()), FreeHand: a.prefs.FreeHand,
		Persisted: a.about.Persisted == Yes, SideTapped: side,
	}
	a.write("install", body, func(_ rom.Ref, err error) {
		if err != nil {
			a.say(a.storageSays(err), false)
		}
	})
}
