package screen

import (
	"errors"
	"strings"
	"unicode"
	"unicode/utf8"
)

// People are those who share this phone, each with records, key, choices and
// lock of their own. A window belongs to one of them.
type People interface {
	// List names who is on this phone, whoever used it last first. Somebody
	// who has not joined a clinic yet is not among them. It does not block.
	List() []Person
	// Mine is whose window this is; "" while nobody has said. It does not block.
	Mine() string
	// Asks reports whether somebody has to say whose window this is before
	// anything of it is shown. It does not block.
	Asks() bool
	// Note keeps the letters of whose window this is. Somebody new is on this
	// phone from then on. It does not block.
	Note(letters string)
	// Choose makes this the window of a person. Where it was somebody else's
	// the app is opened anew. It blocks until what is being kept is kept.
	Choose(id string) error
	// Add makes this the window of somebody new, who joins with the secret of
	// an invitation or, without one, types the code. ErrCrowded: no room for
	// another. It blocks as Choose does.
	Add(secret string) error
}

// Person is somebody who uses this phone.
type Person struct {
	ID      string // means nothing outside this phone
	Letters string // chosen; "" for none yet
}

// ErrCrowded means that a phone holds no more people.
var ErrCrowded = errors.New("this phone holds as many people as it can")

// mostLetters is how many letters stand on top for who shares the phone.
const mostLetters = 3

// CleanLetters gives letters as they are shown: up to three letters or digits,
// large, "" for none. What is anything else is none, and not ok.
func CleanLetters(s string) (letters string, ok bool) {
	if len(s) > 100 {
		return "", false
	}
	letters = strings.ToUpper(strings.Join(strings.Fields(s), ""))
	if letters != "" && utf8.RuneCountInString(letters) > mostLetters {
		return "", false
	}
	for _, r := range letters {
		if !unicode.IsLetter(r) && !unicode.IsDigit(r) {
			return "", false
		}
	}
	return letters, utf8.ValidString(s)
}
