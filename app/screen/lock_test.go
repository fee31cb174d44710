package screen

import (
	"strings"
	"testing"
	"time"

	"unsling/app/words"
	"unsling/engine/rom"
	"unsling/engine/session"
)

// locked is an app whose lock was set with a PIN and that was opened anew.
func locked(t *testing.T) *scene {
	t.Helper()
	s := on(t, 20, 10)
	s.a.Arrive("/lock", "")
	s.a.lock.pin, s.a.lock.again = "2580", "2580"
	s.a.setLockPIN()
	if s.a.lock.kept.Kind != lockByPIN || s.a.lock.locked || s.a.lock.problem != "" {
		t.Fatalf("setting a PIN: %+v", s.a.lock)
	}
	s.start()
	if !s.a.lock.locked || s.a.Shown() != PlaceLock {
		t.Fatalf("opened anew it shows %s", s.a.Shown())
	}
	return s
}

func (s *scene) tryPIN(pin string) {
	s.a.lock.pin = pin
	s.a.unlockPIN()
}

func TestLockByPIN(t *testing.T) {
	s := locked(t)
	for _, data := range s.f.kept {
		if strings.Contains(string(data), "2580") {
			t.Error("the PIN stands on the disk")
		}
	}
	s.tryPIN("2581")
	if !s.a.lock.locked || s.a.lock.problem != s.a.t(words.LockWrong) {
		t.Errorf("a wrong PIN: locked %v, %q", s.a.lock.locked, s.a.lock.problem)
	}
	s.tryPIN(" 2580 ")
	if s.a.lock.locked || s.a.Shown() != PlaceNow || s.a.lock.kept.Wrong != 0 {
		t.Errorf("the right PIN: %+v", s.a.lock)
	}
	for pin, want := range map[string]words.Text{
		"123": words.LockShort, "123456789": words.LockShort, "12a4": words.LockShort, "1234": words.LockSimple, "7777": words.LockSimple,
		"9876": words.LockSimple, "2581": words.LockDiffer,
	} {
		s.a.lock.pin, s.a.lock.again = pin, "2580"
		s.a.setLockPIN()
		if s.a.lock.problem != s.a.t(want) {
			t.Errorf("choosing %q: %q", pin, s.a.lock.problem)
		}
	}
}

// Wrong tries wait longer and longer, closing the app does not undo them, and
// a clock that is set back gives nothing away.
func TestLockTriesWait(t *testing.T) {
	s := locked(t)
	waits := []time.Duration{}
	for range 9 {
		s.tryPIN("0000")
		waits = append(waits, s.a.lockWait())
		s.start() // closed and opened
		if got := s.a.lockWait(); got != waits[len(waits)-1] {
			t.Errorf("opened anew it waits %v, before %v", got, waits[len(waits)-1])
		}
		tries := len(s.f.guard.stretched)
		if s.a.lockWait() > 0 {
			s.tryPIN("2580")
			if !s.a.lock.locked || len(s.f.guard.stretched) != tries {
				t.Error("a try was taken while it waits")
			}
			s.f.now = s.f.now.Add(-24 * time.Hour)
			if s.a.lockWait() < waits[len(waits)-1] {
				t.Error("a clock that was set back shortens the wait")
			}
			s.f.now = s.f.now.Add(24 * time.Hour)
		}
		s.f.pass(s.a.lockWait())
	}
	for i := 1; i < len(waits); i++ {
		if waits[i] < waits[i-1] {
			t.Errorf("waits do not grow: %v", waits)
		}
	}
	if waits[1] != 0 || waits[2] != 30*time.Second || waits[8] != time.Hour {
		t.Errorf("waits %v", waits)
	}
	s.tryPIN("2580")
	if s.a.lock.locked {
		t.Error("after the wait the right PIN does not open it")
	}
}

// TestLockBlocksNoHelp: whatever is locked, help, signs and numbers are there,
// what was written is not, and no note counts as seen.
func TestLockBlocksNoHelp(t *testing.T) {
	s := locked(t)
	s.f.facts.History.Notes = []rom.Entry[rom.Note]{{Meta: s.meta(50, operated.Add(19)), Body: rom.Note{Episode: episodeID, Text: "private", By: surgeon}}}
	s.a.Arrive("/help", "")
	s.a.Changed()
	v := s.a.viewHelp()
	if _, number := s.a.clinic(); s.a.Shown() != PlaceHelp || number == "" || len(v.Groups) == 0 || v.Groups[0].Title == "" {
		t.Errorf("help while locked: %s, %+v", s.a.Shown(), v)
	}
	if len(v.Notes) != 0 || len(v.Reports) != 0 {
		t.Error("help shows what was written while locked")
	}
	s.a.chooseSign(rom.SignWound)
	s.a.sendSign(false)
	if len(s.f.appended) != 1 || s.f.kinds[0] != "sign" {
		t.Errorf("a warning sign told while locked: %v", s.f.kinds)
	}
	s.a.Arrive("/", "")
	if s.a.Shown() != PlaceLock {
		t.Errorf("back from help it shows %s", s.a.Shown())
	}
	for _, place := range []string{"/so-far", "/limits", "/session", "/measure", "/settings", "/phones", "/lock"} {
		s.a.Arrive(place, "")
		if s.a.Shown() != PlaceLock {
			t.Errorf("%s shows %s while locked", place, s.a.Shown())
		}
	}
}

func TestLockComesWhenAwayLong(t *testing.T) {
	s := locked(t)
	s.tryPIN("2580")
	away := func(d time.Duration) { s.a.Hidden(); s.f.pass(d); s.a.Back() }
	away(4 * time.Minute)
	if s.a.lock.locked {
		t.Error("locked after 4 minutes, although 5 are set")
	}
	away(5 * time.Minute)
	if !s.a.lock.locked {
		t.Error("not locked after 5 minutes")
	}
	s.tryPIN("2580")
	s.a.Hidden()
	s.f.now = s.f.now.Add(-time.Hour)
	s.a.Back()
	if !s.a.lock.locked {
		t.Error("a clock that was set back keeps it open")
	}
	s.f.now = s.f.now.Add(time.Hour)
	s.tryPIN("2580")
	s.a.setLockMinutes(15)
	away(14 * time.Minute)
	if s.a.lock.locked {
		t.Error("locked after 14 minutes, although 15 are set")
	}
	// A session that runs, and its stop button, stay open.
	s.a.startMain()
	s.a.sessionPain(1)
	s.a.sessionTap(session.Start)
	if !s.a.session.waits() {
		t.Fatal("no session runs")
	}
	away(40 * time.Minute)
	if s.a.lock.locked || s.a.Shown() != PlaceSession {
		t.Errorf("in a session: locked %v, shows %s", s.a.lock.locked, s.a.Shown())
	}
}

func TestLockByTheOwner(t *testing.T) {
	s := on(t, 20, 10)
	s.f.guard.can = true
	s.a.Arrive("/lock", "")
	if !s.a.lock.can {
		t.Error("what the phone can is not asked")
	}
	s.f.guard.bindErr = ErrRefused
	s.a.setLockOwn()
	if s.a.lock.kept.Kind != lockNone || s.a.lock.problem == "" {
		t.Error("a refusal turned the lock on")
	}
	s.f.guard.bindErr = nil
	s.a.setLockOwn()
	s.start()
	s.f.guard.checkErr = ErrRefused
	s.a.unlockOwn()
	if !s.a.lock.locked {
		t.Error("a refusal unlocks")
	}
	s.f.guard.checkErr = nil
	s.a.unlockOwn()
	if s.a.lock.locked {
		t.Error("the owner does not unlock")
	}
}

func TestLockForgotten(t *testing.T) {
	s := locked(t)
	s.a.lock.forgot = true
	s.a.lock.code = "abc"
	s.a.unlockByCode()
	if len(s.f.guard.vouched) != 0 || s.a.lock.problem == "" {
		t.Error("a short code is sent")
	}
	s.a.lock.code = "7k2m-9xq4"
	s.f.guard.vouchErr = &Refusal{Code: "device_taken"}
	s.a.unlockByCode()
	if !s.a.lock.locked || s.a.lock.problem != s.a.t(words.ForgotNo) {
		t.Errorf("another patient's code: %v, %q", s.a.lock.locked, s.a.lock.problem)
	}
	s.f.guard.vouchErr = nil
	s.a.unlockByCode()
	if s.a.lock.locked || s.a.lock.kept.Kind != lockNone || s.f.kept[lockName] != nil || s.f.guard.vouched[0] != "7K2M9XQ4/" {
		t.Errorf("the clinic's code: %+v, %v", s.a.lock, s.f.guard.vouched)
	}
}

// A lock on the disk that makes no sense locks nobody out.
func TestLockDamaged(t *testing.T) {
	for _, data := range []string{"", "{", `{"kind":"pin"}`, `{"kind":"own"}`, `{"kind":"other","hash":"AA==","salt":"AA=="}`} {
		if k := readLock([]byte(data)); k.Kind != lockNone {
			t.Errorf("%q is a lock: %+v", data, k)
		}
	}
}

func TestLeaving(t *testing.T) {
	s := on(t, 20, 10)
	s.a.write("question", rom.Question{Episode: episodeID, Text: "x"}, func(_ rom.Ref, err error) {
		if err != nil {
			t.Fatal(err)
		}
	})
	s.a.Arrive("/leave", "")
	s.a.Changed()
	v := s.a.viewLeave()
	if !v.Unsent || !strings.Contains(v.Lost, "1 message") {
		t.Errorf("what is lost: %+v", v)
	}
	s.a.leaveNow()
	if s.f.guard.wipes != 0 {
		t.Fatal("erased without a second yes")
	}
	s.a.askErase()
	s.f.pass(250 * time.Millisecond)
	if s.a.leaveNow(); s.f.guard.wipes != 0 || !s.a.viewLeave().Soon || !s.a.Ticking() {
		t.Fatal("erased by a double tap")
	}
	s.a.askErase()
	s.f.pass(sureTime * time.Millisecond)
	s.f.guard.wipeErr = ErrStorage
	s.a.leaveNow()
	if s.a.gone.left || s.a.viewLeave().Failed == "" {
		t.Error("a phone that could not be emptied is called empty")
	}
	s.f.guard.wipeErr = nil
	s.f.guard.leaveErr = &Refusal{Code: "offline"} // the key is gone now
	s.a.leaveNow()
	if !s.a.gone.left || s.a.Shown() != PlaceLeave || s.f.guard.wipeFrom != 2 || !s.a.gone.told {
		t.Errorf("after leaving: %+v", s.a.gone)
	}
	if s.a.gone.number != "+1 555 0100" {
		t.Errorf("the number to call is %q", s.a.gone.number)
	}

	s = on(t, 20, 10)
	s.a.Arrive("/leave", "")
	s.f.guard.leaveErr = &Refusal{Code: "offline"}
	s.a.askErase()
	s.f.pass(sureTime * time.Millisecond)
	s.a.leaveNow()
	if v := s.a.viewLeave(); !s.a.gone.left || v.Told != s.a.t(words.LeftUntold) {
		t.Errorf("offline: %+v", v)
	}
}

// When a part of the storage was removed, the app says so and offers nothing
// but help, the number and a new beginning.
func TestKeyLost(t *testing.T) {
	s := on(t, 20, 10)
	s.f.facts = Facts{Loaded: true, Trouble: TroubleKeyLost}
	for _, place := range []string{"/", "/session", "/settings", "/enrol"} {
		s.a.Arrive(place, "")
		if s.a.Shown() != PlaceLeave || s.a.troubleLine() == "" || s.a.viewLeave().Why == "" {
			t.Errorf("%s shows %s", place, s.a.Shown())
		}
	}
	s.a.Arrive("/help", "")
	if s.a.Shown() != PlaceHelp {
		t.Error("help is closed")
	}
	s.a.Arrive("/", "")
	s.a.askErase()
	s.f.pass(sureTime * time.Millisecond)
	s.a.leaveNow()
	if v := s.a.viewLeave(); !s.a.gone.left || v.Told != s.a.t(words.LeftUntold) {
		t.Errorf("a phone that cannot sign any more: %+v", v)
	}
}
