package screen

// Deps is what the program gives to the screens.
type Deps struct {
	Clock    Clock
	Cues     Cues
	Camera   Camera
	Tilt     Tilt
	Platform Platform
	Journal  Journal
	Sender   Sender
	Guard    Guard
	People   People
	// NewID returns a random id for a session.
	NewID func() string
}
