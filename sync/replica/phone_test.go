package replica

import (
	"testing"

	"unsling/sync/wire"
)

// exchange takes a phone through one exchange without records and returns
// what it would save.
func exchange(t *testing.T, s State, answer Event) (State, []Effect) {
	t.Helper()
	p := NewPhone(s)
	p.Step(Wake{App: "test"})
	p.Step(GotLines{})
	out := p.Step(answer)
	for _, e := range out {
		if save, ok := e.(Save); ok {
			return save.State, p.Step(Saved{})
		}
	}
	return p.State(), out
}

// What a verified backup has, it has: the number never falls within one life
// of the store. Of another life only that one's word counts.
func TestBackedUpNeverFalls(t *testing.T) {
	s := State{Author: "p", Epoch: "one", BackedUp: 40}
	for _, c := range []struct {
		epoch     string
		told, has int64
	}{{"one", 41, 41}, {"one", 40, 40}, {"one", 12, 40}, {"one", 0, 40}, {"two", 12, 12}, {"two", 0, 0}, {"two", 50, 50}} {
		got, _ := exchange(t, s, Answered{Reply: wire.Reply{Epoch: c.epoch, State: wire.Active, Seq: 1, BackedUp: c.told}})
		if got.BackedUp != c.has {
			t.Errorf("epoch %s says %d: %d, want %d", c.epoch, c.told, got.BackedUp, c.has)
		}
	}
}

// A phone that is not known remembers it over a restart, until it is known
// again or another.
func TestNotKnownIsRemembered(t *testing.T) {
	s := State{Author: "p", Epoch: "one"}
	got, rest := exchange(t, s, Refused{Err: wire.Refuse(wire.UnknownDevice)})
	if !got.Unknown || len(rest) != 2 || rest[0] != (Notice{NotKnown}) || rest[1] != (Rest{Code: wire.UnknownDevice}) {
		t.Fatalf("%+v, %v", got, rest)
	}
	if again, err := DecodeState(got.Encode()); err != nil || !again.Unknown {
		t.Fatalf("after a restart: %+v %v", again, err)
	}
	if p := NewPhone(s); p.Step(Rejoined{Author: "q", Epoch: "two"}) != nil {
		t.Error("a phone that is known became another")
	}
	if known, _ := exchange(t, got, Answered{Reply: wire.Reply{Epoch: "one", State: wire.Active, Seq: 1}}); known.Unknown {
		t.Error("known again, and it does not know")
	}
	got.Revoked = true
	p := NewPhone(got)
	save := p.Step(Rejoined{Author: "q", Epoch: "two"})[0].(Save)
	if n := save.State; n.Author != "q" || n.Unknown || n.Revoked || n.Epoch != "two" || !save.Moved || len(n.Old) != 1 || n.Old[0] != "p" {
		t.Errorf("enrolled anew: %+v", n)
	}
}

// A record of the clinic that this version cannot read says so; one of a phone
// does not, and what is understood does not either.
func TestNeedsUpdate(t *testing.T) {
	line := func(author string, k wire.Kind, v int) []byte {
		b, err := wire.Encode(wire.Record{
			Author: "c-1", N: 1, Prev: wire.NoPrev, Salt: wire.Salt([16]byte{1}), Kind: k, V: v, Run: "r", TZ: "UTC", Body: []byte(`{"gate":1}`),
		})
		if author != "" {
			b, err = wire.Encode(wire.Record{
				Author: "p-1", N: 1, Prev: wire.NoPrev, Salt: wire.Salt([16]byte{1}), Kind: k, V: v, Run: "r", TZ: "UTC", Body: []byte(`{"gate":1}`),
			})
		}
		if err != nil {
			t.Fatal(err)
		}
		return b
	}
	for _, c := range []struct {
		author string
		kind   wire.Kind
		v      int
		want   bool
	}{
		{"", wire.KindPlan, 99, true}, {"", wire.KindEpisode, 99, true}, {"", wire.KindClearance, 99, true},
		{"", wire.KindPlan, 1, false}, {"", wire.KindNote, 99, false}, {"", "stumble", 1, false}, {"p-1", wire.KindPlan, 99, false},
	} {
		var f Folder
		f.Add(line(c.author, c.kind, c.v))
		if f.NeedsUpdate() != c.want {
			t.Errorf("%s %s in version %d: %v", c.author, c.kind, c.v, !c.want)
		}
	}
}
