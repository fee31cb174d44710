package screen

import (
	"encoding/json"

	"unsling/app/words"
	"unsling/engine/rom"
)

// Prefs are the choices of the patient on this phone. They are kept with the
// journal and never sent, but for what an install record tells.
type Prefs struct {
	Language words.Lang `json:"lang"`
	FreeHand rom.Side   `json:"hand"`
	Mute     bool       `json:"mute,omitempty"`     // no tones
	NoVoice  bool       `json:"no_voice,omitempty"` // no speech
	Still    bool       `json:"still,omitempty"`    // no moving pictures
	ByTap    bool       `json:"by_tap,omitempty"`   // count by tap instead of the timer
	Size     int        `json:"size,omitempty"`     // 0, 1 or 2: normal, large, largest
	// First is how far the first run came; FirstDone when it is over.
	First int `json:"first,omitempty"`
	// Pages is how many pages the first run had when First was written; 0 for
	// the first version, which had 7.
	Pages int `json:"first_pages,omitempty"`
	// Letters stand on top, for people who share a phone; "" for none.
	Letters string `json:"letters,omitempty"`
	// Tapped is the shoulder that was tapped and agreed with the clinic's.
	Tapped rom.Side `json:"tapped,omitempty"`
	// Reminders are the times of the phone's calendar.
	Reminders reminderPrefs `json:"reminders,omitzero"`
	// Planned is what was tried before the operation.
	Planned plannedPrefs `json:"planned,omitzero"`
}

const prefsName = "prefs"

// defaultPrefs is what holds before the patient chose: the free hand is taken
// for the right one, until the operated side is known.
func defaultPrefs(a About) Prefs {
	return Prefs{Language: words.Choose(a.Languages), FreeHand: rom.Right}
}

// readPrefs reads what encode wrote; anything odd in it falls back.
func readPrefs(data []byte, a About) Prefs {
	p := defaultPrefs(a)
	if len(data) == 0 || json.Unmarshal(data, &p) != nil {
		return defaultPrefs(a)
	}
	if p.Language != words.English && p.Language != words.Spanish {
		p.Language = words.Choose(a.Languages)
	}
	if !p.FreeHand.Valid() {
		p.FreeHand = rom.Right
	}
	p.Size = max(0, min(p.Size, 2))
	p.Reminders = p.Reminders.cleaned()
	if was := max(p.Pages, 7); p.Pages != FirstDone {
		// Another version of the first run: whoever was through stays through,
		// whoever was not begins again.
		if p.First >= was {
			p.First = FirstDone
		} else {
			p.First = 0
		}
	}
	p.First = max(0, min(p.First, FirstDone))
	p.Letters, _ = CleanLetters(p.Letters)
	return p
}

func (p Prefs) encode() []byte {
	p.Pages = FirstDone
	b, err := json.Marshal(p)
	if err != nil { // cannot happen: plain values only
		return nil
	}
	return b
}
