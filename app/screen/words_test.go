package screen

import (
	"testing"

	"unsling/app/words"
	"unsling/engine/gonio"
	"unsling/engine/protocol"
	"unsling/engine/rom"
	"unsling/engine/schedule"
	"unsling/engine/session"
	"unsling/sync/wire"
)

// TestEveryKeyOfTheEngineHasWords holds the catalogue to the engine's keys.
func TestEveryKeyOfTheEngineHasWords(t *testing.T) {
	for _, l := range words.Langs {
		say := func(what, key, text string) {
			if text == "" {
				t.Errorf("%s: no words for %s %q", l, what, key)
			}
		}
		for _, n := range []session.Notice{
			session.NoticePaused, session.NoticeSuspended, session.NoticeResumed, session.NoticeStillThere, session.NoticePainFirst,
			session.NoticePainBefore, session.NoticePain, session.NoticePainAfter, session.NoticePainStop, session.NoticeClose,
			session.NoticeOver, session.NoticeNarrowed, session.NoticeClosed, session.NoticeByClinic, session.NoticeCallNow, session.NoticeDone,
		} {
			say("notice", string(n), words.Guided(l, string(n), 0))
		}
		for _, k := range []string{
			session.SayGetReady, session.SayCount, session.SayMove, session.SayHold, session.SayHalf, session.SayLeft,
			session.SayRest, session.SayBack, session.SayNext, session.SayAskPain,
		} {
			say("cue", k, words.Guided(l, k, 3))
		}
		for _, r := range []schedule.Reason{
			schedule.WhyNotYet, schedule.WhyClass, schedule.WhyMotion, schedule.WhyProcedure, schedule.WhyClosed, schedule.WhyPaused,
			schedule.WhyStopped, schedule.WhyHalted, schedule.WhyNotConfirmed, schedule.WhyPostponed, schedule.WhyNoPlan,
			schedule.WhyEnded, schedule.WhyUnknownExercise,
		} {
			say("reason", string(r), words.LockReason(l, string(r)))
		}
		for _, w := range []gonio.Warning{
			gonio.WarnPlane, gonio.WarnMirrored, gonio.WarnLean, gonio.WarnUpsideDown, gonio.WarnDirection, gonio.WarnAcross, gonio.WarnShort,
		} {
			say("warning", string(w), words.Warning(l, string(w)))
		}
		for _, m := range rom.Motions {
			g := gonio.GuideFor(m)
			if g.HoldStill != "" {
				say("hold", g.HoldStill, words.Watch(l, g.HoldStill))
			}
			for _, k := range g.WatchFor {
				say("watch", k, words.Watch(l, k))
			}
			for _, w := range g.Ways {
				say("position", string(w.Position), words.Position(l, w.Position))
				if w.View != "" {
					say("view", string(w.View), words.SetUp(l, "view."+string(w.View)))
				}
				for _, s := range w.Setups {
					say("set-up", string(s), words.SetUp(l, "setup."+string(s)))
				}
				for _, k := range w.Landmarks {
					say("landmark", string(k), words.Landmark(l, string(k)))
				}
			}
		}
		for _, p := range protocol.All() {
			for _, ph := range p.Phases {
				for _, f := range ph.Forbidden {
					say("forbidden combination", f, words.Forbidden(l, f))
				}
			}
		}
		for _, r := range protocol.Signs() {
			if r.Sign != rom.SignOther && words.Sign(l, r.Sign) == words.Sign(l, rom.SignOther) {
				t.Errorf("%s: no words for sign %s", l, r.Sign)
			}
		}
		for _, e := range protocol.Catalogue() {
			say("exercise", string(e.ID), words.ExerciseName(l, e.ID))
		}
	}
	for _, k := range []wire.Kind{wire.KindSession, wire.KindReading, wire.KindPain, wire.KindSign, wire.KindSling, wire.KindQuestion} {
		if !words.KnownKind(string(k)) {
			t.Errorf("no words for records of kind %s", k)
		}
	}
}
