package screen

import (
	"strings"
	"testing"
	"time"

	"unsling/app/words"
	"unsling/engine/rom"
	"unsling/engine/session"
)

// TestPausedPlanPermitsNothing: while a plan rests, the phone neither repeats
// the answers of the phase nor leads to measuring (common practice, no source).
func TestPausedPlanPermitsNothing(t *testing.T) {
	s := on(t, 20, 10)
	if d := document(s.a, ""); !strings.Contains(d, `id="to-may-i"`) || !strings.Contains(d, `id="to-measure"`) || len(s.a.mayIList()) == 0 {
		t.Fatal("a plan that runs does not show its ways")
	}
	s.revise(func(p *rom.Plan) { p.State, p.Why = rom.Paused, "Your wound needs rest." })
	d := document(s.a, "")
	for _, id := range []string{"to-may-i", "to-limits", "to-measure"} {
		if strings.Contains(d, `id="`+id+`"`) {
			t.Errorf("a paused plan leads to %s", id)
		}
	}
	if got := s.a.mayIList(); len(got) > 0 {
		t.Errorf("a paused plan answers %+v", got)
	}
}

// TestMustNotFitsThePhase: the arm that may help is not told that it must not
// move by its own strength, and no phase below strengthening may carry.
func TestMustNotFitsThePhase(t *testing.T) {
	for class, want := range map[rom.Class]string{
		rom.Locked: words.NoOwnMoves.In(words.English), rom.Passive: words.NoOwnMoves.In(words.English),
		rom.ActiveAssisted: words.NoUnhelped.In(words.English), rom.Active: words.NoWeights.In(words.English), rom.Resisted: "",
	} {
		if got := words.MustNotBy(words.English, class); got != want {
			t.Errorf("%v: must not %q, want %q", class, got, want)
		}
	}
}

// TestOneNumberAtATime: the caption never holds seconds that the running
// timer has left behind.
func TestOneNumberAtATime(t *testing.T) {
	s := inHold(t, 1)
	for s.a.session.view.State == session.Holding {
		if v := s.a.viewSession(); strings.HasSuffix(v.Caption, "seconds left.") {
			t.Fatalf("the caption says %q beside %s", v.Caption, v.Big)
		}
		s.tick(time.Second)
	}
	said := strings.Join(s.f.said, " ")
	if !strings.Contains(said, "seconds left.") {
		t.Error("and nobody said it aloud")
	}
}

// TestTooMuchPainRestsFirst: after too much pain in a hold the phone asks for
// the pain after a rest, not again at once.
func TestTooMuchPainRestsFirst(t *testing.T) {
	s := inHold(t, 1)
	s.a.sessionPain(s.a.day.PainCap + 1)
	if v := s.a.viewSession(); v.Kind != kindPain || v.Question != s.a.t(words.PainRested) {
		t.Errorf("asked %q", v.Question)
	}
	d := document(inHold(t, 1).a, "")
	if strings.Index(d, `id="painNow"`) > strings.Index(d, `id="skip"`) {
		t.Error("too much pain stands below skipping")
	}
}
