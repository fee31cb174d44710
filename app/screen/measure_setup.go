package screen

import (
	"unsling/app/figure"
	"unsling/app/words"
	"unsling/engine/gonio"
	"unsling/engine/rom"
)

func (a *App) chooseWay(i int) {
	s := &a.measure
	if i < 0 || i >= len(s.ways) {
		return
	}
	s.way, s.step, s.trouble = s.ways[i], stepSetUp, ""
	if s.way.Method == rom.LevelMethod && len(s.way.Landmarks) == 0 {
		s.step = stepLevel
	}
}

// pictured reports whether the way at hand marks a photograph.
func (s *measureState) pictured() bool {
	return s.way.Method == rom.Photo || s.way.Method == rom.LevelMethod && len(s.way.Landmarks) > 0
}

// setUpView is how to lie and where the phone goes.
type setUpView struct {
	Title, Danger string
	Figure        string
	Stand         string // where a helper stands, for a picture from the side
	StandLines    []string
	Lines         []string
	Watch         []string
	Photo, Tilt   bool
	Trial         string
	Trouble       string
	Live          bool
	Countdown     string
	Level         levelView
	Helper        bool // only a helper can take the picture
}

func (a *App) viewSetUp() setUpView {
	s := &a.measure
	g := gonio.GuideFor(s.motion)
	v := setUpView{
		Title: a.armTitle(), Danger: a.dangerFirst(), Trouble: s.trouble,
		Photo: s.pictured(), Tilt: s.way.Method == rom.Tilt, Live: s.photo.live, Countdown: a.countdown(), Helper: !s.way.Alone(),
	}
	w := a.figureWords(v.Title)
	w.Now = a.t(words.AimWord)
	v.Figure = figure.MeasureIn(s.motion, s.way.Position, s.side, a.setUpMarks(), w)
	if s.wanted > 1 {
		v.Trial = a.f(words.TrialOf, len(s.trials)+1, s.wanted)
	}
	v.Lines = append(v.Lines, words.Position(a.lang(), s.way.Position))
	if v.Photo {
		v.Lines = append(v.Lines, words.SetUp(a.lang(), "view."+string(s.way.View)), a.t(words.PhotoShow))
		v.Level = a.viewLevel()
		if s.way.View == gonio.FromSide {
			v.Stand = figure.DailyLife(figure.HelperStand, s.side, figure.Words{Title: a.t(words.StandTitle)})
			v.StandLines = a.texts(words.Stand1, words.Stand2)
		}
	}
	if v.Tilt {
		v.Figure = figure.Strapped(s.motion, s.way.Position, a.tiltSpot(), s.side, a.setUpMarks(), w)
		v.Lines = append(v.Lines, a.tiltWhere())
	}
	for i, x := range s.way.Setups {
		if line := words.SetUp(a.lang(), "setup."+string(x)); i < 2 && line != "" && (x != gonio.WithHelper || i == 0) {
			v.Lines = append(v.Lines, line)
		}
	}
	if a.only() {
		v.Lines = append(v.Lines, a.t(words.OneTry))
	}
	if s.side != a.day.Episode.Side && !a.day.Baseline {
		v.Lines = append(v.Lines, a.t(words.OtherArmWhy))
	}
	if line := words.Watch(a.lang(), g.HoldStill); line != "" {
		v.Watch = append(v.Watch, line)
	}
	for _, k := range g.WatchFor {
		if line := words.Watch(a.lang(), k); line != "" && len(v.Watch) < 3 {
			v.Watch = append(v.Watch, line)
		}
	}
	return v
}

// only reports whether a single trial is all that the arm may bear now.
func (a *App) only() bool {
	rule, ok := a.measureRule(a.measure.motion)
	return ok && rule.DuringHold && a.measure.side == a.day.Episode.Side
}

// tiltSpot is where the phone goes now, for the picture; the words of
// tiltWhere say the same.
func (a *App) tiltSpot() figure.Spot {
	s := &a.measure
	if s.way.Trunk && s.tilt.trunk == nil {
		if s.motion == rom.ElbowFlexion || s.motion == rom.ElbowExtension {
			return figure.OnUpperArm
		}
		return figure.OnTrunk
	}
	switch s.motion {
	case rom.ForwardFlexion, rom.Scaption, rom.Abduction, rom.Extension, rom.CrossBody:
		return figure.OnUpperArm
	case rom.ForearmRotation:
		return figure.InFist
	}
	return figure.OnForearm
}

// tiltFigure shows where the phone goes now.
func (a *App) tiltFigure(title string) string {
	s := &a.measure
	return figure.Strapped(s.motion, s.way.Position, a.tiltSpot(), s.side, a.setUpMarks(), figure.Words{Title: title, Room: figure.Half})
}

// setUpMarks show where to stop, before anything was measured.
func (a *App) setUpMarks() figure.Marks {
	limit, ok := a.limitFor(a.measure.motion, a.measure.side)
	if !ok || limit.Open {
		return figure.Marks{}
	}
	if a.measure.motion.ByLevel() {
		return figure.Marks{Limit: figure.At(rom.Deg(int(limit.Highest))), Now: figure.At(rom.Deg(min(20, int(limit.Highest)+2)))}
	}
	m := figure.Marks{Limit: figure.At(limit.Ceiling)}
	if aim, ok := gonio.AimLine(limit, errorOf(a.measure.motion)); ok {
		m.Now = figure.At(aim) // no picture shows an arm past the limit
	}
	return m
}
