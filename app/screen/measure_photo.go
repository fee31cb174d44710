package screen

import (
	"errors"
	"strings"

	"unsling/app/words"
	"unsling/engine/gonio"
	"unsling/engine/rom"
)

// photoState is the picture with its marks.
type photoState struct {
	live    bool  // the camera's picture is shown
	due     int64 // Clock.Mono at which the self-timer takes it, 0 for none
	said    int   // last number of the self-timer that was said
	picture Picture
	other   Picture     // a second one of the same moment, marked only if the first is past the limit
	marks   []rom.Point // those placed so far, in the order of the way's landmarks
	at      int         // the mark that moves
	fine    bool        // small steps
	drag    bool
	loupe   bool           // the mark at hand is shown magnified
	held    *gonio.Gravity // how the phone was held; nil when not known
}

const (
	videoID  = "camera"
	fileID   = "photo-file"
	selfTime = 10_000 // ms of the self-timer

	coarseStep, fineStep = 20, 3 // of the arrows, in thousandths of the picture's width
)

// openCamera shows the live picture. It begins inside a tap.
func (a *App) openCamera() {
	s := &a.measure
	s.photo.live, s.trouble = true, ""
	a.startLevel()
	asked := a.asks()
	err := errBroken
	a.run(func() { err = a.d.Camera.Open(videoID) }, func() {
		switch {
		case err == nil && !s.photo.live:
			a.d.Camera.Close()
		case err != nil && asked():
			s.photo.live = false
			a.stopLevel()
			s.trouble = a.t(words.CameraNone)
			if errors.Is(err, ErrRefused) {
				s.trouble = a.t(words.CameraNo)
			}
		}
	})
}

// takePhoto takes the picture now, selfTimer in ten seconds.
func (a *App) takePhoto() {
	a.measure.photo.due = 0
	a.fetchPicture(a.d.Camera.Take, a.held(), a.limits())
}

// fetchPicture waits for a picture and goes to its marks. One that comes after
// its measurement was left may show the other arm: it is dropped. twice takes
// another one at once: an arm past its limit is not led there again for it.
func (a *App) fetchPicture(fetch func() (Picture, error), held *gonio.Gravity, twice bool) {
	asked, hold := a.asks(), a.holdNow()
	var p, q Picture
	err := errBroken
	a.run(func() {
		if p, err = fetch(); err == nil && twice {
			q, _ = fetch() // without it there is one set
		}
	}, func() {
		switch {
		case !asked():
			if err == nil {
				a.d.Camera.Drop(p)
			}
			if q.URL != "" {
				a.d.Camera.Drop(q)
			}
		case err != nil:
			a.measure.trouble = a.t(words.PhotoBad)
		default:
			a.gotPicture(p)
			a.measure.hold = hold
			a.measure.photo.held, a.measure.photo.other = held, q
		}
	})
}

// asks returns what tells whether camera and sensor are still wanted for what
// asks now.
func (a *App) asks() func() bool {
	turn := a.turn
	return func() bool { return a.turn == turn }
}

func (a *App) selfTimer() {
	a.d.Cues.Prepare()
	a.measure.photo.due = a.d.Clock.Mono() + selfTime
	a.measure.photo.said = 0
	a.voice(a.t(words.PhotoStarts))
}

// fileChosen reads the file that was chosen.
func (a *App) fileChosen() {
	a.fetchPicture(func() (Picture, error) { return a.d.Camera.FromFile(fileID) }, nil, false)
}

func (a *App) gotPicture(p Picture) {
	s := &a.measure
	if p.Width < 1 || p.Height < 1 || !strings.HasPrefix(p.URL, "blob:") {
		s.trouble = a.t(words.PhotoBad)
		return
	}
	a.closeCamera()
	a.dropPicture()
	s.photo = photoState{picture: p}
	s.step, s.trouble = stepPhoto, ""
	a.aloud = a.markSentence()
}

func (a *App) closeCamera() {
	a.turn++
	if a.measure.photo.live {
		a.d.Camera.Close()
	}
	a.measure.photo.live, a.measure.photo.due = false, 0
	a.stopLevel()
}

func (a *App) dropPicture() {
	a.dropMarked()
	if p := a.measure.photo.other; p.URL != "" {
		a.d.Camera.Drop(p)
	}
	a.measure.photo.other = Picture{}
}

// dropMarked drops the picture that is marked and keeps the other one.
func (a *App) dropMarked() {
	if p := a.measure.photo.picture; p.URL != "" {
		a.d.Camera.Drop(p)
	}
	a.measure.photo.picture, a.measure.photo.marks = Picture{}, nil
}

// tickPhoto runs the self-timer and says its last seconds.
func (a *App) tickPhoto() {
	p := &a.measure.photo
	if p.due == 0 {
		return
	}
	left := int((p.due - a.d.Clock.Mono() + 999) / 1000)
	if left <= 0 {
		if !a.prefs.Mute {
			a.d.Cues.Tone("begin")
		}
		a.takePhoto()
		return
	}
	if left != p.said && left <= 5 {
		p.said = left
		if !a.prefs.Mute {
			a.d.Cues.Tone("tick")
		}
		if !a.prefs.NoVoice {
			a.d.Cues.Speak(itoa(left), string(a.lang()))
		}
	}
}

func (a *App) countdown() string {
	p := a.measure.photo
	if p.due == 0 {
		return ""
	}
	return a.f(words.PhotoIn, max(0, int((p.due-a.d.Clock.Mono()+999)/1000)))
}

// highest is the largest y of the picture, in thousandths of its width.
func (p Picture) highest() int {
	if p.Width < 1 {
		return 1000
	}
	return min(4000, p.Height*1000/p.Width)
}

// placeMark puts the mark at hand to x, y in thousandths of the width, and
// goes on to the next one that is not placed.
func (a *App) placeMark(x, y int) {
	p := &a.measure.photo
	q := a.clampMark(rom.Point{X: x, Y: y})
	if len(p.marks) < len(a.measure.way.Landmarks) {
		p.marks = append(p.marks, q)
		p.at = len(p.marks) - 1
		if len(p.marks) < len(a.measure.way.Landmarks) {
			a.aloud = a.markSentence()
		} else {
			a.aloud = a.angleSentence()
		}
		return
	}
	p.at = a.nearest(q)
	p.marks[p.at] = q
	a.aloud = a.angleSentence()
}

// nearest is the index of the placed mark closest to q.
func (a *App) nearest(q rom.Point) int {
	best, at := 1<<30, 0
	for i, m := range a.measure.photo.marks {
		if d := (m.X-q.X)*(m.X-q.X) + (m.Y-q.Y)*(m.Y-q.Y); d < best {
			best, at = d, i
		}
	}
	return at
}

// dragMark begins, moves or ends a drag. A drag that begins beside every mark
// while marks are missing places the next one.
func (a *App) dragMark(phase string, x, y int) {
	p := &a.measure.photo
	switch phase {
	case "down":
		a.placeMark(x, y)
		p.drag, p.loupe = true, true
	case "move":
		if p.drag && p.at < len(p.marks) {
			p.marks[p.at] = a.clampMark(rom.Point{X: x, Y: y})
		}
	default:
		if p.drag {
			a.aloud = a.angleSentence()
		}
		p.drag, p.loupe = false, false
	}
}

// nudge moves the mark at hand by one step; a mark that is not placed begins
// in the middle.
func (a *App) nudge(dx, dy int) {
	p := &a.measure.photo
	p.loupe = true
	if p.at >= len(p.marks) || len(p.marks) == 0 {
		p.marks = append(p.marks, rom.Point{X: 500, Y: p.picture.highest() / 2})
		p.at = len(p.marks) - 1
		return
	}
	by := coarseStep
	if p.fine {
		by = fineStep
	}
	m := p.marks[p.at]
	p.marks[p.at] = a.clampMark(rom.Point{X: m.X + dx*by, Y: m.Y + dy*by})
	a.aloud = a.angleSentence()
}

// nextMark chooses the mark that the buttons move, placing the next one in
// the middle while marks are missing.
func (a *App) nextMark() {
	p := &a.measure.photo
	if len(p.marks) < len(a.measure.way.Landmarks) {
		p.marks = append(p.marks, rom.Point{X: 500, Y: p.picture.highest() / 2})
		p.at = len(p.marks) - 1
	} else if len(p.marks) > 0 {
		p.at = (p.at + 1) % len(p.marks)
	}
	a.aloud = a.markSentence()
}

func (a *App) clampMark(q rom.Point) rom.Point {
	return rom.Point{X: max(0, min(q.X, 1000)), Y: max(0, min(q.Y, a.measure.photo.picture.highest()))}
}
