package replica_test

import (
	"bytes"
	"fmt"
	"reflect"
	"slices"
	"testing"

	"unsling/engine/dose"
	"unsling/engine/review"
	"unsling/engine/rom"
	"unsling/engine/schedule"
	"unsling/engine/trend"
	"unsling/sync/replica"
	"unsling/sync/wire"
)

// asks puts every question of the engine to a history on a day. Nothing may
// panic; what a finding says must be words, not the leftovers of a format.
func asks(t testing.TB, h rom.History, day rom.Date) {
	t.Helper()
	ids := append(h.EpisodeIDs(), h.Current(day), "none")
	for _, id := range ids[:min(len(ids), 5)] {
		in := review.Inputs{Phones: []review.Phone{{Author: "phone", Contact: day}}, Minute: 720}
		for _, x := range review.Findings(h, id, day, in) {
			if bytes.Contains([]byte(x.Staff), []byte("%!")) || bytes.Contains([]byte(x.Staff), []byte("NaN")) || x.Key == "" || x.Rule == "" {
				t.Fatalf("finding %+v", x)
			}
		}
		review.Explain(h, id, day, in)
		review.DoseAgainstGain(h, id, rom.ForwardFlexion, day, in)
		now := schedule.On(h, id, day, 720, schedule.With{LastContact: day})
		schedule.Narrow(now, schedule.On(schedule.Past(h, id, day.Add(-7)), id, day, 720, schedule.With{}))
		dose.Adhere(dose.Days(h, id, day.Add(-35), day, dose.Told{Through: day}))
		if c, ok := trend.At(h, id, day, trend.Options{}); ok {
			c.Stiffness()
			c.Pattern(nil)
			for _, s := range c.Series {
				sum := c.Summary(s.Key)
				if sum.Known && (sum.Now.Low > sum.Now.Mid || sum.Now.Mid > sum.Now.High) {
					t.Fatalf("level %+v", sum.Now)
				}
				sum.Reach(rom.Deg(120))
				trend.Agree(s.Pairs(day, trend.Options{}))
			}
		}
	}
	for _, s := range h.Scores {
		if _, err := trend.ScoreOf(s.Body); err != nil {
			t.Fatalf("a folded score does not compute: %v", err)
		}
	}
}

// history makes the log of a text: a line is the author (0 to 2), the kind's place in
// wire.Kinds (a letter from a on), days since surgery and the body. What is not
// of that form, or no record, is left out.
func history(text []byte) (lines [][]byte) {
	marks := map[rom.Author]wire.Mark{}
	kinds := wire.Kinds()
	for row := range bytes.SplitSeq(text, []byte("\n")) {
		var who, day int
		var kind byte
		if n, err := fmt.Sscanf(string(row[:min(len(row), 40)]), "%d%c%d", &who, &kind, &day); err != nil || n != 3 || kind < 'a' || int(kind-'a') >= len(kinds) {
			continue
		}
		i := bytes.IndexByte(row, '{')
		if i < 0 || len(lines) > 80 {
			continue
		}
		a := []rom.Author{"phone", "c-1", "other"}[uint(who)%3]
		m := marks[a]
		line, err := wire.Encode(wire.Record{Author: a, N: m.N + 1, Prev: m.Prev(), Salt: wire.Salt([16]byte{byte(m.N), byte(who)}), Kind: kinds[kind-'a'].Kind, V: 1,
			Run: "r", At: surgery.Add(day % 100_000).Time(), TZ: "UTC", Rev: 1, Body: row[i:]})
		if err != nil {
			continue
		}
		marks[a] = wire.Mark{N: m.N + 1, Hash: wire.HashOf(line)}
		lines = append(lines, line)
	}
	return lines
}

// seedText writes lines in the form that history reads.
func seedText(t testing.TB, lines [][]byte) []byte {
	var out []byte
	for _, l := range lines {
		r, err := wire.Decode(l)
		if err != nil {
			t.Fatal(err)
		}
		who := 0
		if r.Author.FromClinic() {
			who = 1
		}
		i := slices.IndexFunc(wire.Kinds(), func(k wire.KindInfo) bool { return k.Kind == r.Kind })
		out = fmt.Appendf(out, "%d%c%d%s\n", who, 'a'+i, rom.DateOf(r.At).Sub(surgery), r.Body)
	}
	return out
}

// FuzzHistory folds whole histories without sense and puts every question to
// them. The fold depends neither on order nor on repetition.
func FuzzHistory(f *testing.F) {
	year := yearOf(f)
	f.Add(seedText(f, year[:60]), 20)
	f.Add(seedText(f, append(slices.Clone(year[:12]), year[300:360]...)), 45)
	f.Add(append(seedText(f, year[:14]),
		// before surgery, centuries off, the same session twice, negative and endless holds, a reading of 32 bits, a void and an amendment of what is not there
		`0a-40000{"episode":"e1","id":"s","due":"1999-01-01","slot":1,"phase":"","seconds":0,"items":[{"ex":"stick-er","m":"ER0","dose":{"hold":-20,"reps":-1,"rest":0,"per_day":0},"holds":[{"t":-5},{"t":99999999999999999999}]}],"ended":"finished"}
0a12{"episode":"e1","id":"s","due":"2199-12-31","slot":24,"phase":"x","seconds":1,"items":[{"ex":"stick-er","m":"ER0","dose":{"hold":0,"reps":0,"rest":0,"per_day":0},"holds":[{"t":36000,"ok":true,"angle":-600}]}],"ended":"interrupted"}
0o90000{"episode":"e1","side":"right","m":"FF","class":"passive","method":"photo","angle":2147483647,"se":900}
0o14{"episode":"e1","side":"left","m":"FF","class":"active","method":"eye","angle":-600,"se":900}
0r15{"target":{"author":"phone","n":3},"reason":"x"}
0q15{"target":{"author":"phone","n":999},"v":1,"body":{"episode":"e1","score":3,"when":"rest"},"reason":"x"}
`...), 30)
	f.Add([]byte{}, 0)
	f.Fuzz(func(t *testing.T, text []byte, day int) {
		lines := history(text)
		h := replica.Fold(lines...)
		back := slices.Clone(lines)
		slices.Reverse(back)
		if got := replica.Fold(append(back, lines[:len(lines)/2]...)...); !reflect.DeepEqual(got, h) {
			t.Fatalf("another order folds into\n%+v\nnot\n%+v", got, h)
		}
		asks(t, h, surgery.Add(day%100_000))
	})
}

// Two plans that contradict each other, of the same base and number, and ten
// thousand readings in one day: one history, whichever came first, and an
// answer to every question.
func TestContradictionsAndFloods(t *testing.T) {
	var lines [][]byte
	c, ph := &pen{t: t, a: "c-1", out: &lines}, &pen{t: t, a: "phone", out: &lines}
	other := &pen{t: t, a: "c-2", out: &lines}
	year := yearOf(t)
	h := replica.Fold(year...)
	at := surgery.Add(20).Time()
	c.write(at, wire.KindEpisode, h.Episodes[0].Body)
	plan, stopped := h.Plans[0].Body, h.Plans[0].Body
	stopped.State, stopped.Why = rom.Stopped, "invented reason"
	c.write(at, wire.KindPlan, plan)
	other.write(at, wire.KindPlan, stopped)
	for i := range 10_000 {
		ph.write(at, wire.KindReading, rom.Reading{Episode: "e1", Side: rom.Right, Motion: rom.ForwardFlexion, Class: rom.Passive, Method: rom.Photo, Angle: rom.Deg(i % 150), SE: 70})
	}
	h = replica.Fold(lines...)
	slices.Reverse(lines)
	if got := replica.Fold(lines...); !reflect.DeepEqual(got, h) || len(h.Readings) != 10_000 || len(h.Plans) != 2 {
		t.Fatalf("%d readings, %d plans, the same in another order: %v", len(h.Readings), len(h.Plans), reflect.DeepEqual(got, h))
	}
	asks(t, h, surgery.Add(21))
}
