package screen

// Guard keeps others out of the app and empties the phone. Every method may
// block.
type Guard interface {
	// Salt returns 16 random bytes.
	Salt() []byte
	// Stretch makes a slow hash of a PIN.
	Stretch(pin string, salt []byte) ([]byte, error)
	// CanCheck reports whether the phone can check its owner by itself, by
	// finger, face or its own code.
	CanCheck() bool
	// Bind lets the phone check its owner and returns the name of what it
	// will ask for from now on. ErrRefused and ErrAbsent as with a camera. It
	// begins inside a tap.
	Bind() (id []byte, err error)
	// Check lets the phone check its owner; an error means that it did not
	// see one. It begins inside a tap.
	Check(id []byte) error
	// Wipe erases records, pictures, keys, settings and the app's own files.
	// After it nothing can be kept until Restart.
	Wipe() error
	// Restart opens the app again.
	Restart()
}
