package screen

import "testing"

// sharedPhone is a phone that two people use, open for AN.
func sharedPhone(t testing.TB, day int) *scene {
	t.Helper()
	s := on(t, day, 10)
	s.f.people = fakePeople{list: []Person{{ID: "a", Letters: "AN"}, {ID: "b", Letters: "BO"}}, mine: "a"}
	s.start()
	return s
}

// whoShots are the screens of people who share a phone.
func whoShots(t testing.TB) []shot {
	t.Helper()
	var out []shot
	add := func(name, place string, s *scene) {
		if place != "" {
			s.a.Arrive(place, "")
		}
		out = append(out, shot{name, s.a})
	}
	nobody := func() *scene {
		s := on(t, 20, 10)
		s.f.facts = Facts{}
		s.f.about.LastClinic, s.f.about.LastPhone = "Harbour Shoulder Clinic (invented)", "+1 555 0100"
		s.f.people = fakePeople{asks: true, list: []Person{{ID: "a", Letters: "AN"}, {ID: "b"}, {ID: "c", Letters: "WWW"}, {ID: "d", Letters: "Ø9"}}}
		s.start()
		return s
	}
	add("who-ask", "", nobody())
	add("help-who", "/help", nobody())
	s := sharedPhone(t, 20)
	s.f.facts.Sending.Written, s.f.facts.Sending.Unsent = 2, []Waiting{{Kind: "session"}, {Kind: "reading"}}
	s.a.look()
	add("who-change", "/who", s)
	add("who-share", "/who", on(t, 20, 10))
	s = on(t, 20, 10)
	s.a.Arrive("/enrol", "invented-secret")
	add("whose", "", s)
	s = sharedPhone(t, 20)
	s.a.Arrive("/who", "")
	s.a.changeLetters()
	s.a.first.letters = "bo"
	s.a.firstNext()
	add("who-letters", "", s)
	s = on(t, 20, 10)
	s.f.facts.Account = Account{}
	s.f.people = fakePeople{list: []Person{{ID: "a", Letters: "AN"}}, mine: "b"}
	s.start()
	add("enrol-new", "", s)
	add("now-shared", "", sharedPhone(t, 20))
	s = sharedPhone(t, 20)
	s.a.startMain()
	add("session-shared", "", s)
	add("measure-shared", "/measure", sharedPhone(t, 45))
	add("leave-shared", "/leave", sharedPhone(t, 20))
	s = sharedPhone(t, 20)
	s.a.gone.left, s.a.gone.others = true, true
	add("left-shared", "", s)
	return out
}
