package api

import (
	"context"
	"errors"
	"fmt"
	"regexp"
	"strconv"
	"time"

	"unsling/engine/rom"
	"unsling/server/ledger"
	"unsling/sync/client"
	"unsling/sync/journal"
	"unsling/sync/wire"
)

const (
	who   = `([A-Z][a-z]+)`
	which = `(second |new |copied |third )?`
)

// sentences are the words that the files may use.
func sentences() []sentence {
	one := func(form string, do func(s *story, m []string) []string) sentence {
		return sentence{regexp.MustCompile("^" + form + `\.?$`), do}
	}
	say := func(format string, args ...any) []string { return []string{fmt.Sprintf(format, args...)} }
	return []sentence{
		one(who+` gets a phone`, func(s *story, m []string) []string {
			id := rom.PatientID(m[1])
			raw, v, err := wire.EncodeBody(wire.KindEpisode, rom.Episode{ID: "e1", Version: 1, State: rom.Planned, Side: rom.Left, Procedures: rom.Procedures[:1], By: "vega"})
			if err == nil {
				err = s.store.CreatePatient(ledger.Patient{ID: id, Name: "Invented " + m[1]}, []rom.StaffID{"vega", "roth"},
					[]ledger.Draft{{Kind: wire.KindEpisode, V: v, Body: raw, At: s.at, Zone: "UTC"}}, s.trail("vega"))
			}
			if err != nil {
				s.t.Fatal(err)
			}
			p := &person{id: id}
			s.people[m[1]] = p
			p.phones = append(p.phones, s.add(id, s.invite(id)))
			return say("enrolled")
		}),
		one(who+` gets (?:a second|a new) phone`, func(s *story, m []string) []string {
			p := s.people[m[1]]
			p.phones = append(p.phones, s.add(p.id, s.invite(p.id)))
			return say("enrolled")
		}),
		one(`the `+which+`phone of `+who+` has no signal`, func(s *story, m []string) []string {
			s.phone(m[2], m[1]).signal = false
			return nil
		}),
		one(`the `+which+`phone of `+who+` has signal again`, func(s *story, m []string) []string {
			s.phone(m[2], m[1]).signal = true
			return nil
		}),
		one(who+` records pain (\d+)(?: on the `+which+`phone)?`, func(s *story, m []string) []string {
			n, _ := strconv.Atoi(m[2])
			return say("%s", s.append(s.phone(m[1], m[3]), 0, wire.KindPain, rom.Pain{Episode: "e1", Score: n, When: rom.PainAtRest}))
		}),
		one(who+` records (\d+) times(?: on the `+which+`phone)?`, func(s *story, m []string) []string {
			n, _ := strconv.Atoi(m[2])
			kept := 0
			for i := range n {
				if s.append(s.phone(m[1], m[3]), 0, wire.KindPain, rom.Pain{Episode: "e1", Score: i % 11, When: rom.PainAtRest}) == "kept" {
					kept++
				}
			}
			return say("%d kept", kept)
		}),
		one(`in two windows `+who+` records pain (\d+) and (\d+) at once`, func(s *story, m []string) []string {
			ph := s.phone(m[1], "")
			var out []string
			for i, text := range m[2:4] {
				n, _ := strconv.Atoi(text)
				out = append(out, s.append(ph, i, wire.KindPain, rom.Pain{Episode: "e1", Score: n, When: rom.PainAtRest}))
			}
			return say("the first window: %s; the second: %s", out[0], out[1])
		}),
		one(`the second window of `+who+` is in contact`, func(s *story, m []string) []string { return s.contact(s.phone(m[1], ""), 1) }),
		one(`the `+which+`phone of `+who+` is in contact`, func(s *story, m []string) []string { return s.contact(s.phone(m[2], m[1]), 0) }),
		one(`the clinic writes a plan for `+who+`: passive flexion to (\d+)`, func(s *story, m []string) []string {
			deg, _ := strconv.Atoi(m[2])
			return say("%s", s.plan(m[1], 0, rom.Running, deg))
		}),
		one(`the clinic changes plan (\d+) of `+who+`: passive flexion to (\d+)`, func(s *story, m []string) []string {
			base, _ := strconv.Atoi(m[1])
			deg, _ := strconv.Atoi(m[3])
			return say("%s", s.plan(m[2], base, rom.Running, deg))
		}),
		one(`the clinic stops plan (\d+) of `+who, func(s *story, m []string) []string {
			base, _ := strconv.Atoi(m[1])
			return say("%s", s.plan(m[2], base, rom.Stopped, 60))
		}),
		one(`a newer program of the clinic writes a plan for `+who, func(s *story, m []string) []string { return s.newerPlan(m[1]) }),
		one(`what does the `+which+`phone of `+who+` follow\?`, func(s *story, m []string) []string { return s.follows(s.phone(m[2], m[1])) }),
		one(`what does the clinic have of `+who+`\?`, func(s *story, m []string) []string { return s.has(m[1]) }),
		one(`the clinic revokes the `+which+`phone of `+who, func(s *story, m []string) []string {
			a, err := journal.Author(s.phone(m[2], m[1]).windows[0].store)(context.Background())
			if err == nil {
				err = s.store.RevokeAuthor(a, s.trail("vega"))
			}
			if err != nil {
				s.t.Fatal(err)
			}
			return nil
		}),
		one(`the clinic releases what the `+which+`phone of `+who+` sent since`, func(s *story, m []string) []string {
			a, err := journal.Author(s.phone(m[2], m[1]).windows[0].store)(context.Background())
			if err != nil {
				s.t.Fatal(err)
			}
			lines, err := s.store.Release(a, s.trail("vega"))
			if err != nil {
				s.t.Fatal(err)
			}
			return say("%s released", count(len(lines), "record"))
		}),
		one(who+` loses the phone for good`, func(s *story, m []string) []string {
			ph := s.phone(m[1], "")
			n := s.waiting(ph)
			ph.signal, ph.kept = false, map[string]bool{} // what was not sent is gone with it
			return say("gone with it: %s that the clinic never got", count(n, "record"))
		}),
		one(`the phone of `+who+` is restored onto another phone, with everything on it`, func(s *story, m []string) []string {
			ph, p := s.phone(m[1], ""), s.people[m[1]]
			c := &storyPhone{disk: ph.disk.Copy(), signal: true, keys: ph.keys, kept: map[string]bool{}}
			s.open(c, 1)
			p.phones = append(p.phones, c)
			return nil
		}),
		one(`the browser removes everything on the phone of `+who, func(s *story, m []string) []string {
			ph := s.phone(m[1], "")
			n := s.waiting(ph)
			ph.disk.Evict()
			s.open(ph, 1)
			ph.kept = map[string]bool{}
			return say("gone: %s that the clinic never got", count(n, "record"))
		}),
		one(`(?:the `+which+`phone of )?`+who+` is enrolled anew`, func(s *story, m []string) []string {
			ph, p := s.phone(m[2], m[1]), s.people[m[2]]
			w := ph.windows[0]
			_, err := w.client.Join(context.Background(), w.store, client.Invitation{Code: s.invite(p.id)})
			if err != nil {
				return say("refused: %v", err)
			}
			return say("enrolled; %s to be sent", count(s.waiting(ph), "record"))
		}),
		one(`the clock of the phone of `+who+` is (\d+) days ahead`, func(s *story, m []string) []string {
			n, _ := strconv.Atoi(m[2])
			s.phone(m[1], "").skew = time.Duration(n) * 24 * time.Hour
			return nil
		}),
		one(`the app of `+who+` is started again`, func(s *story, m []string) []string {
			s.open(s.phone(m[1], ""), 2)
			return nil
		}),
		one(`somebody copies the server's folder`, func(s *story, m []string) []string {
			if err := s.store.Close(); err != nil {
				s.t.Fatal(err)
			}
			s.copied = s.copyFolder(s.dir)
			s.openAt(s.dir)
			return nil
		}),
		one(`the old copy of the server's folder is put back`, func(s *story, m []string) []string {
			if err := s.store.Close(); err != nil {
				s.t.Fatal(err)
			}
			s.openAt(s.copyFolder(s.copied))
			return nil
		}),
		one(who+` asks for erasure, and two people of the clinic do it`, func(s *story, m []string) []string {
			p := s.people[m[1]]
			_, err := s.store.Erase(p.id, "vega", s.trail("vega"))
			if !errors.Is(err, ledger.ErrState) {
				s.t.Fatalf("one person alone: %v", err)
			}
			if err := s.store.AskErasure(p.id, "vega", s.trail("vega")); err != nil {
				s.t.Fatal(err)
			}
			r, err := s.store.Erase(p.id, "roth", s.trail("roth"))
			if err != nil {
				s.t.Fatal(err)
			}
			p.erased = true
			return say("%s erased; one person alone could not", count(int(r.Log.Seq), "record"))
		}),
	}
}

// newerPlan puts a plan of a later version into the log. The ledger of this
// version writes none; it takes one back that bears the clinic's seal.
func (s *story) newerPlan(name string) []string {
	p, ph := s.people[name], s.phone(name, "")
	line, err := wire.Seal(wire.Record{
		Author: "c-newer", N: 1, Prev: wire.NoPrev, Salt: wire.Salt([16]byte{9}), Kind: wire.KindPlan, V: 2,
		Run: "newer", At: s.at, TZ: "UTC", Body: []byte(`{"gate":"of a newer program"}`),
	}, s.ring.ClinicMAC, p.id)
	if err != nil {
		s.t.Fatal(err)
	}
	author, err := journal.Author(ph.windows[0].store)(context.Background())
	if err != nil {
		s.t.Fatal(err)
	}
	out, err := s.store.Exchange(ledger.ExchangeRequest{Author: author, At: s.at, Trail: s.trail("vega"), MaxLines: 1, MaxBytes: wire.MaxRecords,
		Request: wire.Request{Header: wire.Header{Proto: 1, Author: author, From: 1, Following: ph.windows[0].syncer.Following()}, Returned: [][]byte{line}}})
	if err != nil || out.Took.Returned != 1 {
		s.t.Fatalf("a plan of a newer program: %+v %v", out, err)
	}
	return nil
}

func (s *story) follows(ph *storyPhone) []string {
	h := ph.folder.History()
	p, ok := h.Plan("e1")
	switch {
	case !ok:
		return []string{"no plan yet"}
	case p.State == rom.Stopped:
		return []string{fmt.Sprintf("plan %d: stopped", p.Rev)}
	}
	return []string{fmt.Sprintf("plan %d: passive flexion to %.0f", p.Rev, float64(p.Phases[0].Limit(rom.ForwardFlexion).Ceiling)/10)}
}

// has is what the clinic sees.
func (s *story) has(name string) []string {
	p := s.people[name]
	lines, err := s.store.Read(p.id, 1, 0)
	if errors.Is(err, ledger.ErrErased) {
		return []string{"nothing: erased"}
	}
	if err != nil {
		s.t.Fatal(err)
	}
	pains, clinic, erased := 0, 0, 0
	salts := map[string]bool{}
	for _, l := range lines {
		rec, err := wire.Decode(l.Bytes)
		switch {
		case l.Erased:
			erased++
		case err != nil:
			s.t.Fatal(err)
		case l.Author.FromClinic():
			clinic++
		case rec.Kind == wire.KindPain && !salts[rec.Salt]:
			pains++
			salts[rec.Salt] = true
		}
	}
	if erased > 0 {
		return []string{fmt.Sprintf("%s, all erased", count(erased, "line"))}
	}
	out := []string{fmt.Sprintf("%s of pain, %s of its own", count(pains, "record"), count(clinic, "record"))}
	rows, err := s.store.Authors(p.id)
	if err != nil {
		s.t.Fatal(err)
	}
	for i, row := range rows {
		sealed, err := s.store.Sealed(row.ID)
		if err == nil && len(sealed) > 0 && row.State == ledger.Revoked {
			out = append(out, fmt.Sprintf("%s of phone %d under seal", count(len(sealed), "record"), i+1))
		}
	}
	aside, err := s.store.Quarantine(p.id)
	if err != nil {
		s.t.Fatal(err)
	}
	if len(aside) > 0 {
		out = append(out, fmt.Sprintf("%s set aside", count(len(aside), "line")))
	}
	return []string{joined(out)}
}
