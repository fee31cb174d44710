package screen

import (
	"testing"

	"unsling/app/words"
)

// guardShots are the screens of lock, phones and erasure.
func guardShots(t testing.TB) []shot {
	t.Helper()
	var out []shot
	add := func(name, place string, set func(*scene)) {
		s := on(t, 20, 10)
		s.f.guard.can = true
		s.a.Arrive(place, "")
		set(s)
		out = append(out, shot{name, s.a})
	}
	pin := lockKept{Kind: lockByPIN, Salt: []byte("s"), Hash: []byte("h"), Minutes: 5}
	add("lock-off", "/lock", func(*scene) {})
	add("lock-on", "/lock", func(s *scene) { s.a.lock.kept = pin })
	add("lock-pin", "/lock", func(s *scene) { s.a.lock.choosing, s.a.lock.problem = true, s.a.t(words.LockSimple) })
	add("locked", "/", func(s *scene) { s.a.lock.kept, s.a.lock.locked, s.a.lock.problem = pin, true, s.a.t(words.LockWrong) })
	add("locked-own", "/", func(s *scene) {
		s.a.lock.kept, s.a.lock.locked = lockKept{Kind: lockByOwn, ID: []byte("o"), Minutes: 1}, true
	})
	add("locked-forgot", "/", func(s *scene) { s.a.lock.kept, s.a.lock.locked, s.a.lock.forgot = pin, true, true })
	add("phones", "/phones", func(*scene) {})
	add("leave", "/leave", func(*scene) {})
	add("leave-unsent", "/leave", func(s *scene) {
		s.f.facts.Sending.Written, s.f.facts.Sending.Unsent = 1, []Waiting{{Kind: "question", At: s.f.now}}
		s.a.look()
	})
	add("leave-sure", "/leave", func(s *scene) { s.a.gone.sure = true })
	add("left", "/leave", func(s *scene) { s.a.gone.left, s.a.gone.number = true, "+1 555 0100" })
	add("key-lost", "/", func(s *scene) {
		s.f.facts = Facts{Loaded: true, Trouble: TroubleKeyLost}
		s.a.look()
	})
	return out
}
