package screen

import (
	"errors"
	"sync"

	"unsling/app/words"
	"unsling/engine/gonio"
	"unsling/engine/rom"
)

// tiltState is a measurement with the phone laid on trunk and arm. The phone
// is not in sight then, so that it takes the reading by itself once it lies
// still, and says so.
type tiltState struct {
	on      bool
	stop    func()
	buffer  *sampleBuffer
	trunk   *gonio.Gravity
	begin   int64 // Clock.Mono from which readings count: time to lay the phone on
	steady  int64 // since when it lies still, 0 for not yet
	problem string
}

const (
	layTime    = 5000 // ms to lay the phone on
	steadyTime = 1500 // ms of stillness that make a reading
	restless   = 4000 // ms without stillness after which the screen says so
	mostKept   = 400  // samples, whatever the sensor's rate
)

// sampleBuffer takes samples from any goroutine and keeps those of the last
// steadyTime.
type sampleBuffer struct {
	mono func() int64
	mu   sync.Mutex
	list []gonio.Sample
	at   []int64
}

func (b *sampleBuffer) add(s gonio.Sample) {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.list, b.at = append(b.list, s), append(b.at, b.mono())
	b.trim()
}

// trim forgets what is older.
func (b *sampleBuffer) trim() {
	old, first := b.mono()-steadyTime, max(0, len(b.at)-mostKept)
	for first < len(b.at) && b.at[first] < old {
		first++
	}
	b.list, b.at = append(b.list[:0], b.list[first:]...), append(b.at[:0], b.at[first:]...)
}

func (b *sampleBuffer) clear() {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.list, b.at = b.list[:0], b.at[:0]
}

func (b *sampleBuffer) copy() []gonio.Sample {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.trim()
	return append([]gonio.Sample(nil), b.list...)
}

// startTilt begins inside a tap.
func (a *App) startTilt() {
	s := &a.measure
	a.d.Cues.Prepare()
	buffer := &sampleBuffer{mono: a.d.Clock.Mono}
	asked := a.asks()
	var stop func()
	err := errBroken
	a.run(func() { stop, err = a.d.Tilt.Start(buffer.add) }, func() {
		if !asked() || s.tilt.on { // left meanwhile, or tapped twice
			if err == nil {
				stop()
			}
			return
		}
		if err != nil {
			s.trouble = a.t(words.TiltNone)
			if errors.Is(err, ErrRefused) {
				s.trouble = a.t(words.TiltNo)
			}
			return
		}
		s.step, s.trouble = stepTilt, ""
		s.tilt = tiltState{on: true, stop: stop, buffer: buffer}
		a.lay()
	})
}

// lay gives time to lay the phone on and says where.
func (a *App) lay() {
	t := &a.measure.tilt
	t.begin, t.steady, t.problem = a.d.Clock.Mono()+layTime, 0, ""
	t.buffer.clear()
	a.voice(a.tiltWhere())
}

func (a *App) voice(text string) {
	a.aloud = text
	if !a.prefs.NoVoice {
		a.d.Cues.Speak(text, string(a.lang()))
	}
}

// tiltWhere says where the phone goes now.
func (a *App) tiltWhere() string {
	s := &a.measure
	if s.way.Trunk && s.tilt.trunk == nil {
		switch s.motion {
		case rom.ElbowFlexion, rom.ElbowExtension:
			return a.t(words.TiltUpper)
		}
		return a.t(words.TiltTrunk)
	}
	switch s.motion {
	case rom.ForwardFlexion, rom.Scaption, rom.Abduction, rom.Extension, rom.CrossBody:
		return a.t(words.TiltArm)
	}
	return a.t(words.TiltFore)
}

func (a *App) stopTilt() {
	t := &a.measure.tilt
	if t.on && t.stop != nil {
		t.stop()
	}
	t.on = false
}

// tickTilt takes the reading once the phone lies still.
func (a *App) tickTilt() {
	t := &a.measure.tilt
	now := a.d.Clock.Mono()
	if !t.on || now < t.begin {
		return
	}
	g, err := gonio.Still(t.buffer.copy())
	if err != nil {
		t.steady = 0
		t.problem = ""
		if errors.Is(err, gonio.ErrShaking) && now-t.begin > restless {
			t.problem = a.t(words.TiltShaky)
		}
		if errors.Is(err, gonio.ErrNoGravity) && now-t.begin > restless {
			t.problem = a.t(words.TiltBad)
		}
		return
	}
	if t.steady == 0 {
		t.steady = now
	}
	if now-t.steady >= steadyTime {
		a.gotGravity(g)
	}
}

// takeTilt takes the reading by a tap, if the phone lies still.
func (a *App) takeTilt() {
	t := &a.measure.tilt
	if !t.on {
		return
	}
	g, err := gonio.Still(t.buffer.copy())
	if err != nil {
		t.problem = a.t(words.TiltShaky)
		return
	}
	a.gotGravity(g)
}

func (a *App) gotGravity(g gonio.Gravity) {
	s := &a.measure
	if !a.prefs.Mute {
		a.d.Cues.Tone("end")
	}
	a.d.Cues.Vibrate([]int{200})
	if s.way.Trunk && s.tilt.trunk == nil {
		s.tilt.trunk = &g
		a.voice(a.t(words.TiltGot))
		a.lay()
		return
	}
	a.stopTilt()
	s.hold = a.holdNow()
	m, err := gonio.MeasureTilt(gonio.Laid{Motion: s.motion, Side: s.side, Position: s.way.Position, Arm: g, Trunk: s.tilt.trunk})
	if err != nil {
		s.trouble, s.step = a.t(words.TiltBad), stepSetUp
		return
	}
	a.voice(a.t(words.TiltGot))
	a.addTrial(m, nil)
}

// tiltView is the phone on the body.
type tiltView struct {
	Title, Where, State string
	Wait                string // "Starts in 3"
	Full                int    // thousandths of the steadiness bar
	Problem             string
	Trial               string
}

func (a *App) viewTilt() tiltView {
	s := &a.measure
	v := tiltView{Title: a.t(words.NowArm), Where: a.tiltWhere(), State: a.t(words.TiltStill), Problem: s.tilt.problem}
	if s.way.Trunk && s.tilt.trunk == nil {
		v.Title = a.t(words.NowTrunk)
	}
	if s.wanted > 1 {
		v.Trial = a.f(words.TrialOf, len(s.trials)+1, s.wanted)
	}
	now := a.d.Clock.Mono()
	if now < s.tilt.begin {
		v.Wait = a.f(words.ReadyIn, int((s.tilt.begin-now+999)/1000))
	}
	if s.tilt.steady > 0 {
		v.Full = int(min(1000, (now-s.tilt.steady)*1000/steadyTime))
		v.State = a.t(words.TiltSteady)
	}
	return v
}
