package screen

import (
	"errors"
	"time"

	"unsling/engine/gonio"
)

// Clock is the only source of time.
type Clock interface {
	// Now is the wall time in the phone's zone. It is data, never an order.
	Now() time.Time
	// Mono is a monotonic clock in milliseconds.
	Mono() int64
	// Every calls f about every d until stop is called.
	Every(d time.Duration, f func()) (stop func())
}

// Cues reach a patient who does not look at the screen. None of them is the
// only way in which something is said.
type Cues interface {
	// Prepare unlocks sound; it is called inside a tap and does not block.
	Prepare()
	// Tone plays "tick", "begin", "end" or "alert".
	Tone(name string)
	// Speak says text in the language ("en", "es"), after what is being said.
	Speak(text, lang string)
	// Hush ends speech at once.
	Hush()
	// HasVoice reports whether a voice of the language exists.
	HasVoice(lang string) bool
	// Vibrate takes milliseconds on, off, on...
	Vibrate(pattern []int)
	// KeepAwake keeps the screen lit, again after each return to the app,
	// until it is called with false. It blocks; an error means that the
	// phone refused.
	KeepAwake(on bool) error
}

// Picture is a photograph that stays on the phone.
type Picture struct {
	URL           string // "blob:..." for an <img>, until Drop
	Width, Height int    // pixels, upright
	Mirrored      bool   // taken by a front camera that mirrors
}

// Camera takes photographs. ErrRefused means that permission was denied,
// ErrAbsent that there is no camera.
type Camera interface {
	// Open shows the live picture in the <video> with the given id. It
	// blocks, and begins inside a tap.
	Open(video string) error
	// Take takes a picture. It blocks.
	Take() (Picture, error)
	Close()
	// FromFile reads the file chosen in the <input type=file> with the given
	// id. It blocks. ErrNoPicture means that it is no readable picture.
	FromFile(input string) (Picture, error)
	// Drop frees a picture.
	Drop(Picture)
}

// Tilt reads gravity from the phone's sensors.
type Tilt interface {
	// Start asks for permission inside the tap and sends samples until stop
	// is called. It blocks until the first sample, ErrRefused or ErrAbsent.
	// Systems that report the opposite sign are turned round by the caller.
	Start(f func(gonio.Sample)) (stop func(), err error)
}

// Platform is the browser and its storage.
type Platform interface {
	// About describes the installation.
	About() About
	// Install shows the browser's own question inside a tap. It blocks.
	Install() error
	// Persist asks the browser to keep the data, and tells its answer. It blocks.
	Persist() (kept bool, err error)
	// SaveFile hands a file to the patient.
	SaveFile(name, mime string, data []byte) error
	// Remember leaves what the shell needs before the program runs: language
	// and the clinic's name and number.
	Remember(lang, clinic, phone string)
	// Update lets a waiting version in and starts the app again; then the
	// page goes away. It is called only while no session runs here; ErrBusy:
	// one runs in another window. It blocks.
	Update() error
	// OnVisible calls f when the app leaves the screen and when it returns.
	OnVisible(f func(visible bool)) (cancel func())
}

// About describes the installation of the app.
type About struct {
	Kind        Kind
	Name        string // such as "Android, Chromium 156"; no identity
	Installed   bool   // runs from the home screen
	Installable bool   // Install would ask
	Online      bool
	Languages   []string // the browser's, preferred first
	Updating    bool     // a new version waits
	Version     string   // of the app
	Persisted   Answer   // whether the browser promised to keep the data
	Still       bool     // the patient prefers pictures that do not move
	// LastClinic and LastPhone are what Remember left at an earlier start:
	// known before the journal answers.
	LastClinic, LastPhone string
}

// Kind is a sort of phone, as far as installing differs.
type Kind string

// The kinds.
const (
	Apple   Kind = "apple" // iPhone and iPad: storage of tab and app are separate
	Android Kind = "android"
	Other   Kind = "other"
)

// Answer is a yes, a no, or not known yet.
type Answer int

// The answers.
const (
	NotKnown Answer = iota
	Yes
	No
)

// What a phone may refuse.
var (
	ErrRefused   = errors.New("permission was refused")
	ErrBusy      = errors.New("a session runs in another window")
	ErrAbsent    = errors.New("this phone has no such part")
	ErrNoPicture = errors.New("the file is no readable picture")
)
