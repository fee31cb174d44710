package session

import (
	"encoding/json"
	"fmt"

	"unsling/engine/rom"
)

const draftVersion = 1

// MaxDraft is the most bytes that an encoded draft takes.
const MaxDraft = 32 << 10

// Progress is what was done of one item so far.
type Progress struct {
	rom.SessionItem
	// Tries counts the repetitions that are over, long enough or not. A hold
	// that was broken off is no try: it comes again.
	Tries int `json:"tries,omitempty"`
}

// Draft is everything a session needs to go on after the app was killed.
type Draft struct {
	Version  int        `json:"v"`
	Config   Config     `json:"config"`
	State    State      `json:"state"`
	Item     int        `json:"item"`
	Items    []Progress `json:"items"`
	Before   *int       `json:"before,omitempty"`
	Worst    *int       `json:"worst,omitempty"`
	After    *int       `json:"after,omitempty"`
	Started  bool       `json:"started,omitempty"`
	PainHigh bool       `json:"pain_high,omitempty"`
	PainOver int        `json:"pain_over,omitempty"`
	// Ring says that an angle was over the limit: the clinic is to be rung
	// today, and the end of the session says so again.
	Ring     bool           `json:"ring,omitempty"`
	Medicine *bool          `json:"medicine,omitempty"`
	Helper   bool           `json:"helper,omitempty"`
	ByTap    bool           `json:"by_tap,omitempty"`
	Resumed  int            `json:"resumed,omitempty"`
	Elapsed  Millis         `json:"elapsed"`
	Ended    rom.Ending     `json:"ended,omitempty"`
	Stop     rom.StopReason `json:"stop,omitempty"`
}

// Encode returns the draft as JSON.
func (d Draft) Encode() ([]byte, error) {
	b, err := json.Marshal(d)
	if err != nil {
		return nil, fmt.Errorf("encode draft: %w", err)
	}
	return b, nil
}

// DecodeDraft reads what Encode wrote. Anything that no session could have
// left behind wraps ErrDraft.
func DecodeDraft(b []byte) (Draft, error) {
	if len(b) > MaxDraft {
		return Draft{}, fmt.Errorf("decode draft of %d bytes: %w", len(b), ErrDraft)
	}
	var d Draft
	if err := json.Unmarshal(b, &d); err != nil {
		return Draft{}, fmt.Errorf("decode draft: %w: %w", ErrDraft, err)
	}
	if err := d.validate(); err != nil {
		return Draft{}, fmt.Errorf("decode draft: %w", err)
	}
	return d, nil
}

func (d Draft) validate() error {
	if d.Version != draftVersion {
		return fmt.Errorf("version %d: %w", d.Version, ErrDraft)
	}
	if err := d.Config.validate(); err != nil {
		return fmt.Errorf("%w: %w", ErrDraft, err)
	}
	if len(d.Items) != len(d.Config.Items) || d.Item < 0 || d.Item >= len(d.Items) ||
		d.Elapsed < 0 || d.Elapsed > dayMillis || d.Resumed < 0 || d.PainOver < 0 || d.Ended != "" {
		return ErrDraft
	}
	switch d.State {
	case Ready, GetReady, Moving, Holding, Resting, Paused, Asking:
	default:
		return ErrDraft
	}
	for i, x := range d.Items {
		it := d.Config.Items[i]
		if x.Exercise != it.Exercise || x.Motion != it.Motion || x.Dose != it.Dose ||
			x.Tries < 0 || x.Tries > it.Dose.Reps || x.Tries > len(x.Holds) {
			return ErrDraft
		}
	}
	open := d.Items[d.Item]
	if d.State != Asking && (open.Skipped != "" || open.Tries >= open.Dose.Reps) {
		return ErrDraft
	}
	if d.room() > recordRoom {
		return ErrDraft
	}
	s := d.body()
	s.Ended = rom.Interrupted
	if err := s.Validate(); err != nil {
		return fmt.Errorf("%w: %w", ErrDraft, err)
	}
	return nil
}

// room returns the most bytes that the finished record may take.
func (d Draft) room() int {
	n := frameRoom
	for i, x := range d.Items {
		it := d.Config.Items[i]
		holds := len(x.Holds)
		if x.Skipped == "" {
			holds += max(0, it.Dose.Reps-x.Tries)
		}
		n += itemRoom + holds*it.holdRoom()
	}
	return n
}

// clone returns a copy that shares nothing.
func (d Draft) clone() Draft {
	d.Config.Items = append([]Item(nil), d.Config.Items...)
	d.Items = append([]Progress(nil), d.Items...)
	for i := range d.Items {
		holds := append([]rom.Hold(nil), d.Items[i].Holds...)
		for j := range holds {
			holds[j].Angle = same(holds[j].Angle)
		}
		d.Items[i].Holds = holds
	}
	d.Before, d.Worst, d.After, d.Medicine = same(d.Before), same(d.Worst), same(d.After), same(d.Medicine)
	return d
}

func same[T any](p *T) *T {
	if p == nil {
		return nil
	}
	v := *p
	return &v
}

// body returns the record of the session as it stands.
func (d Draft) body() rom.Session {
	d = d.clone()
	s := rom.Session{
		Episode: d.Config.Episode, ID: d.Config.ID, Due: d.Config.Due, Slot: d.Config.Slot, Phase: d.Config.Phase,
		Seconds: int(d.Elapsed / 1000), Before: d.Before, Worst: d.Worst, After: d.After,
		Ended: d.Ended, Stop: d.Stop, Resumed: d.Resumed,
		Medicine: d.Medicine, ByHelper: d.Helper, Therapist: d.Config.Therapist,
	}
	for _, x := range d.Items {
		if x.Skipped == "" && x.Tries < x.Dose.Reps {
			x.Skipped = rom.SkipStopped
		}
		s.Items = append(s.Items, x.SessionItem)
	}
	return s
}

// Resume returns a machine at the repetition that was running when the draft
// was kept, paused, with all finished holds. awaySeconds is the wall time
// since then, as data for the session's length; implausible values count as 0.
func Resume(d Draft, at Millis, awaySeconds int) (*Machine, Output, error) {
	if err := d.validate(); err != nil {
		return nil, Output{}, fmt.Errorf("resume session: %w", err)
	}
	m := &Machine{d: d.clone(), now: at}
	if awaySeconds > 0 && awaySeconds < 24*3600 {
		m.d.Elapsed = min(m.d.Elapsed+Millis(awaySeconds)*1000, dayMillis)
	}
	if m.d.Started {
		m.d.Resumed++
	}
	switch m.d.State {
	case Ready:
		m.enter(Ready, 0)
		switch {
		case m.d.Before == nil:
			m.notice = NoticePainFirst
		case m.d.PainHigh && m.d.Started:
			m.notice = NoticePain
		case m.d.PainHigh:
			m.notice = NoticePainBefore
		}
	case Asking:
		m.enter(Asking, 0)
	default:
		m.enter(Paused, 0)
		m.notice = NoticeResumed
		if m.d.PainHigh {
			m.notice = NoticePain
		}
	}
	m.out = Output{}
	m.keep()
	m.out.View = m.View()
	return m, m.out, nil
}

// Abandon returns the body of a session that is not taken up again. One of
// which only the last question was left is finished.
func Abandon(d Draft) (rom.Session, error) {
	if err := d.validate(); err != nil {
		return rom.Session{}, fmt.Errorf("abandon session: %w", err)
	}
	d.Ended = rom.Interrupted
	if d.State == Asking {
		d.Ended = rom.Finished
	}
	return d.body(), nil
}
