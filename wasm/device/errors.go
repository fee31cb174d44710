package device

import "errors"

// What a phone may answer.
var (
	// ErrRefused: the person, or the browser on its own account, has refused.
	ErrRefused = errors.New("permission was refused")
	// ErrAbsent: this browser has no such part, or gives it to no page.
	ErrAbsent = errors.New("this phone has no such part")
	// ErrNoPicture: the file is no picture that this browser can read.
	ErrNoPicture = errors.New("the file is no readable picture")
	// ErrSession: a session is running in another window.
	ErrSession = errors.New("a session is running in another window")
)
