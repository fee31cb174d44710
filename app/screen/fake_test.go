package screen

import (
	"errors"
	"time"

	"unsling/engine/gonio"
	"unsling/engine/rom"
)

// fakePhone stands for everything that Deps names. Nothing in it is real but
// the rules of the interfaces.
type fakePhone struct {
	now   time.Time
	mono  int64
	about About
	facts Facts
	kept  map[string][]byte

	said, tones []string
	vibrated    int
	awake       bool
	refuseAwake error

	full        error // Append and Keep fail with it
	appended    []any
	kinds       []string
	enrolled    []string
	enrolErr    error
	exchanges   int
	camera      error
	picture     Picture
	dropped     []string
	tilt        func(gonio.Sample)
	tiltErr     error
	lit         bool // the camera is on
	sensors     int  // that run
	file        []byte
	updates     int
	updateErr   error
	persist     bool
	subscribers []func()
	guard       fakeGuard
	people      fakePeople

	off     bool     // work is done away from the UI's thread
	blocked []string // what blocks and was called on it
}

// away does work as the root component does it: away from the UI, then back.
func (f *fakePhone) away(work, then func()) {
	was := f.off
	f.off = true
	work()
	f.off = was
	then()
}

// blocks notes a call that would stop the UI while it waits: a browser then
// acts by itself, such as sending a form.
func (f *fakePhone) blocks(name string) {
	if !f.off {
		f.blocked = append(f.blocked, name)
	}
}

func (f *fakePhone) deps() Deps {
	return Deps{
		Clock: f, Cues: f, Camera: fakeCamera{f}, Tilt: fakeTilt{f}, Platform: f, Journal: f, Sender: f, Guard: &f.guard, People: &f.people,
		NewID: func() string { return "session-" + itoa(len(f.appended)+1) },
	}
}

func (f *fakePhone) Now() time.Time { return f.now }
func (f *fakePhone) Mono() int64    { return f.mono }
func (f *fakePhone) Every(time.Duration, func()) func() {
	return func() {}
}

// pass lets time go by.
func (f *fakePhone) pass(d time.Duration) {
	f.now = f.now.Add(d)
	f.mono += d.Milliseconds()
}

func (f *fakePhone) Prepare()             {}
func (f *fakePhone) Tone(name string)     { f.tones = append(f.tones, name) }
func (f *fakePhone) Speak(text, _ string) { f.said = append(f.said, text) }
func (f *fakePhone) Hush()                {}
func (f *fakePhone) HasVoice(string) bool { return true }
func (f *fakePhone) Vibrate([]int)        { f.vibrated++ }
func (f *fakePhone) KeepAwake(on bool) error {
	f.blocks("Cues.KeepAwake")
	f.awake = on
	return f.refuseAwake
}

type fakeCamera struct{ *fakePhone }

func (f fakeCamera) Open(string) error {
	f.blocks("Camera.Open")
	f.lit = f.camera == nil
	return f.camera
}
func (f fakeCamera) Take() (Picture, error) {
	f.blocks("Camera.Take")
	return f.picture, f.camera
}
func (f fakeCamera) Close() { f.lit = false }
func (f fakeCamera) FromFile(string) (Picture, error) {
	f.blocks("Camera.FromFile")
	return f.picture, nil
}
func (f fakeCamera) Drop(p Picture) { f.dropped = append(f.dropped, p.URL) }

type fakeTilt struct{ *fakePhone }

func (f fakeTilt) Start(g func(gonio.Sample)) (func(), error) {
	f.blocks("Tilt.Start")
	f.fakePhone.tilt = g
	if f.tiltErr != nil {
		return nil, f.tiltErr
	}
	f.sensors++
	return func() { f.fakePhone.tilt = nil; f.sensors-- }, nil
}

func (f *fakePhone) About() About { return f.about }
func (f *fakePhone) Install() error {
	f.blocks("Platform.Install")
	return nil
}
func (f *fakePhone) Persist() (bool, error) {
	f.blocks("Platform.Persist")
	f.about.Persisted = No
	if f.persist {
		f.about.Persisted = Yes
	}
	return f.persist, nil
}
func (f *fakePhone) SaveFile(_, _ string, data []byte) error {
	f.blocks("Platform.SaveFile")
	f.file = data
	return nil
}
func (f *fakePhone) Remember(string, string, string) {}
func (f *fakePhone) Update() error                   { f.updates++; return f.updateErr }
func (f *fakePhone) OnVisible(func(bool)) func()     { return func() {} }
func (f *fakePhone) Facts() Facts                    { return f.facts }
func (f *fakePhone) Subscribe(g func()) func() {
	f.subscribers = append(f.subscribers, g)
	return func() {}
}

func (f *fakePhone) Append(kind string, body any) (rom.Ref, error) {
	f.blocks("Journal.Append")
	if f.full != nil {
		return rom.Ref{}, f.full
	}
	f.kinds, f.appended = append(f.kinds, kind), append(f.appended, body)
	f.facts.Sending.Written++
	f.facts.Sending.Unsent = append(f.facts.Sending.Unsent, Waiting{Kind: kind, At: f.now})
	meta := rom.Meta{Ref: rom.Ref{Author: f.facts.Sending.Author, N: f.facts.Sending.Written}, At: f.now, Rev: f.facts.Following}
	h := &f.facts.History
	switch b := body.(type) {
	case rom.Session:
		h.Sessions = append(h.Sessions[:len(h.Sessions):len(h.Sessions)], rom.Entry[rom.Session]{Meta: meta, Body: b})
	case rom.Reading:
		h.Readings = append(h.Readings[:len(h.Readings):len(h.Readings)], rom.Entry[rom.Reading]{Meta: meta, Body: b})
	case rom.Sign:
		h.Signs = append(h.Signs[:len(h.Signs):len(h.Signs)], rom.Entry[rom.Sign]{Meta: meta, Body: b})
	case rom.Pain:
		h.Pains = append(h.Pains[:len(h.Pains):len(h.Pains)], rom.Entry[rom.Pain]{Meta: meta, Body: b})
	case rom.SlingReport:
		h.Slings = append(h.Slings[:len(h.Slings):len(h.Slings)], rom.Entry[rom.SlingReport]{Meta: meta, Body: b})
	case rom.Question:
		h.Questions = append(h.Questions[:len(h.Questions):len(h.Questions)], rom.Entry[rom.Question]{Meta: meta, Body: b})
	case rom.Seen:
		h.Seens = append(h.Seens[:len(h.Seens):len(h.Seens)], rom.Entry[rom.Seen]{Meta: meta, Body: b})
	case rom.Install:
		h.Installs = append(h.Installs[:len(h.Installs):len(h.Installs)], rom.Entry[rom.Install]{Meta: meta, Body: b})
	default:
		return rom.Ref{}, errors.New("the fake journal does not know this body")
	}
	return meta.Ref, nil
}

func (f *fakePhone) Keep(name string, data []byte) error {
	f.blocks("Journal.Keep")
	if f.full != nil {
		return f.full
	}
	if f.kept == nil {
		f.kept = map[string][]byte{}
	}
	if data == nil {
		delete(f.kept, name)
	} else {
		f.kept[name] = data
	}
	return nil
}
func (f *fakePhone) Kept(name string) ([]byte, error) {
	f.blocks("Journal.Kept")
	return f.kept[name], nil
}
func (f *fakePhone) Export() ([]byte, error) {
	f.blocks("Journal.Export")
	return []byte(`{"invented":true}`), nil
}

func (f *fakePhone) Enrol(code, pin string, mine bool) error {
	f.blocks("Sender.Enrol")
	if mine {
		pin += "/mine"
		f.enrolErr = nil
	}
	f.enrolled = append(f.enrolled, code+"/"+pin)
	if f.enrolErr == nil {
		f.facts.Account = Account{State: Active, Clinic: "Harbour Shoulder Clinic (invented)", Phone: "+1 555 0100"}
	}
	return f.enrolErr
}
func (f *fakePhone) Exchange() error {
	f.blocks("Sender.Exchange")
	f.exchanges++
	return nil
}

var (
	_ Clock    = (*fakePhone)(nil)
	_ Cues     = (*fakePhone)(nil)
	_ Platform = (*fakePhone)(nil)
	_ Journal  = (*fakePhone)(nil)
	_ Sender   = (*fakePhone)(nil)
	_ Camera   = fakeCamera{}
	_ Tilt     = fakeTilt{}
)
