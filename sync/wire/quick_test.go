package wire

import (
	"encoding/base64"
	"encoding/json"
	"fmt"
	"reflect"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"unsling/engine/rom"
)

// The twin of the quick reader is encoding/json: on any body, whole or torn,
// what is read quickly is what json reads.

func sameAsJSON[T valid](t interface{ Fatalf(string, ...any) }, raw []byte) (read bool) {
	got, ok := quickly[T](raw)
	if !ok {
		return false
	}
	var want T
	if err := json.Unmarshal(raw, &want); err != nil {
		t.Fatalf("read quickly, though json says %v: %s", err, raw)
	}
	if !reflect.DeepEqual(got, want) {
		t.Fatalf("%s\nquick %+v\njson  %+v", raw, got, want)
	}
	return true
}

// everyQuick reads raw as every kind that is read quickly.
func everyQuick(t interface{ Fatalf(string, ...any) }, raw []byte) (reads int) {
	for _, read := range []bool{
		sameAsJSON[rom.Session](t, raw), sameAsJSON[rom.Reading](t, raw), sameAsJSON[rom.Pain](t, raw),
		sameAsJSON[rom.SlingReport](t, raw), sameAsJSON[rom.Seen](t, raw), sameAsJSON[rom.Task](t, raw),
	} {
		if read {
			reads++
		}
	}
	return reads
}

func pick[T any](r *rapid.T, name string, list ...T) T { return rapid.SampledFrom(list).Draw(r, name) }

var odd = []string{"", "e1", "a b", "ü", `"`, `\`, "<&>", "\x7f", "\u2028", "null", "~"}

func randomScore(r *rapid.T) *int {
	if rapid.Bool().Draw(r, "none") {
		return nil
	}
	n := rapid.IntRange(-1, 11).Draw(r, "score")
	return &n
}

func randomInt(r *rapid.T) int {
	return pick(r, "n", 0, 1, -1, 7, -70, 255, 36000, 999_999_999, 1_000_000_000, -1_000_000_001, 1<<31-1)
}

func randomSession(r *rapid.T) rom.Session {
	s := rom.Session{
		Episode: rom.EpisodeID(pick(r, "episode", odd...)), ID: rom.SessionID(pick(r, "id", odd...)), Due: rom.Date(rapid.IntRange(-30000, 90000).Draw(r, "due")),
		Slot: randomInt(r), Phase: pick(r, "phase", odd...), Seconds: randomInt(r), Before: randomScore(r), Worst: randomScore(r), After: randomScore(r),
		Ended: pick(r, "ended", rom.Finished, rom.StoppedByMe, "x"), Stop: pick(r, "stop", "", rom.StopPain), Resumed: pick(r, "resumed", 0, 2),
		ByHelper: rapid.Bool().Draw(r, "helper"), Therapist: rapid.Bool().Draw(r, "therapist"),
	}
	if rapid.Bool().Draw(r, "medicine") {
		b := rapid.Bool().Draw(r, "taken")
		s.Medicine = &b
	}
	for range rapid.IntRange(0, 3).Draw(r, "items") {
		it := rom.SessionItem{Exercise: pick(r, "ex", append([]rom.ExerciseID{"?"}, rom.Exercises...)...), Motion: pick(r, "m", "", rom.ERSide, "?"),
			Dose: rom.Dose{Hold: randomInt(r), Reps: randomInt(r), PerDay: 3}, Skipped: pick(r, "skipped", "", rom.SkipTired)}
		for range rapid.IntRange(0, 4).Draw(r, "holds") {
			h := rom.Hold{Tenths: randomInt(r), Counted: rapid.Bool().Draw(r, "ok"), Tapped: rapid.Bool().Draw(r, "tap")}
			if rapid.Bool().Draw(r, "angled") {
				a := rom.Degrees(randomInt(r))
				h.Angle = &a
			}
			it.Holds = append(it.Holds, h)
		}
		s.Items = append(s.Items, it)
	}
	return s
}

func randomReading(r *rapid.T) rom.Reading {
	d := rom.Reading{
		Episode: rom.EpisodeID(pick(r, "episode", odd...)), Side: pick(r, "side", rom.Left, rom.Right, ""), Motion: pick(r, "m", rom.ERSide, rom.HandBehindBack, "?"),
		Class: rom.Class(rapid.IntRange(0, 4).Draw(r, "class")), Method: pick(r, "method", rom.Photo, "?"), Position: pick(r, "position", "", rom.Supine),
		Angle: rom.Degrees(randomInt(r)), SE: rom.Degrees(randomInt(r)), Level: pick(r, "level", rom.Level(0), rom.LevelL3), Pain: randomScore(r),
		Baseline: rapid.Bool().Draw(r, "baseline"), Anaesthetic: rapid.Bool().Draw(r, "anaesthetic"), Glenohumeral: rapid.Bool().Draw(r, "gh"),
		By: rom.StaffID(pick(r, "by", odd...)), On: rom.Date(rapid.IntRange(-30000, 90000).Draw(r, "on")), Session: rom.SessionID(pick(r, "session", odd...)),
	}
	for range rapid.IntRange(0, 3).Draw(r, "trials") {
		t := rom.Trial{Angle: rom.Degrees(randomInt(r)), SE: rom.Degrees(randomInt(r)), OutOfPlane: rom.Degrees(randomInt(r))}
		for range rapid.IntRange(0, 3).Draw(r, "marks") {
			t.Landmarks = append(t.Landmarks, rom.Point{X: randomInt(r), Y: randomInt(r)})
		}
		d.Trials = append(d.Trials, t)
	}
	return d
}

func randomBody(r *rapid.T) any {
	switch rapid.IntRange(0, 5).Draw(r, "kind") {
	case 0:
		return randomReading(r)
	case 1:
		return rom.Pain{Episode: rom.EpisodeID(pick(r, "episode", odd...)), Score: randomInt(r), When: pick(r, "when", rom.PainAtNight, "")}
	case 2:
		return rom.SlingReport{Episode: "e", Day: rom.Date(rapid.IntRange(-30000, 90000).Draw(r, "day")), Worn: pick(r, "worn", "partly", "not")}
	case 3:
		return rom.Seen{What: rom.Ref{Author: rom.Author(pick(r, "author", odd...)), N: int64(randomInt(r))}, By: rom.StaffID(pick(r, "by", odd...))}
	case 4:
		return rom.Task{Episode: "e", Finding: pick(r, "finding", odd...), State: pick(r, "state", odd...), Act: pick(r, "act", rom.TaskSeen, rom.TaskTried),
			To: "x", Until: rom.Date(rapid.IntRange(-30000, 90000).Draw(r, "until")), Text: pick(r, "text", odd...), By: "y", On: 20000}
	}
	return randomSession(r)
}

// torn changes a few places of a text the way a hostile or careless writer
// would.
func torn(r *rapid.T, raw []byte) []byte {
	bits := []string{"", ",", ":", `"`, "{", "}", "[", "]", "null", "true", "0", "00", "-", "-0", "1e2", ".5", " ", "\n", `\u0041`, "\xff", `"m":"ER0",`, `"M":"x",`, `"pain":3`, "9999999999999999999", `"slot":1,"slot":2,`, "[]", "{}"}
	for range rapid.IntRange(0, 3).Draw(r, "cuts") {
		at := rapid.IntRange(0, len(raw)).Draw(r, "at")
		to := min(len(raw), at+rapid.IntRange(0, 6).Draw(r, "length"))
		raw = append(append(append([]byte{}, raw[:at]...), pick(r, "bit", bits...)...), raw[to:]...)
	}
	return raw
}

func TestQuickIsJSON(t *testing.T) {
	reads := 0
	rapid.Check(t, func(r *rapid.T) {
		body := randomBody(r)
		raw, err := marshal(body)
		if err != nil {
			r.Fatalf("%v", err)
		}
		reads += everyQuick(r, torn(r, raw))
	})
	if reads == 0 {
		t.Error("nothing was read quickly, so nothing was compared")
	}
}

// What our own encoder writes is read quickly; else the quick reader would be
// dead weight that nobody misses.
func TestQuickReadsOwnBodies(t *testing.T) {
	angle, score, yes := rom.Deg(-5), 4, true
	full := rom.Session{Episode: "e", ID: "s", Due: 20000, Slot: 1, Phase: "protect", Seconds: 600, Before: &score, Worst: &score, After: &score,
		Ended: rom.StoppedByMe, Stop: rom.StopPain, Resumed: 1, Medicine: &yes, ByHelper: true, Therapist: true,
		Items: []rom.SessionItem{{Exercise: rom.Pendulum, Dose: rom.Dose{Hold: 20, Reps: 3, Rest: 5, PerDay: 2}, Skipped: rom.SkipTired},
			{Exercise: rom.StickER, Motion: rom.ERSide, Dose: rom.Dose{Reps: 1}, Holds: []rom.Hold{{Tenths: 200, Counted: true, Angle: &angle, Tapped: true}, {}}}}}
	reading := rom.Reading{Episode: "e", Side: rom.Left, Motion: rom.ERSide, Class: rom.Active, Method: rom.Photo, Position: rom.Supine, Angle: 300, SE: 40, Level: 3,
		Glenohumeral: true, Anaesthetic: true, Baseline: true, Pain: &score, By: "s", On: 20000, Session: "x",
		Trials: []rom.Trial{{Angle: 300, SE: 40, OutOfPlane: 20, Landmarks: []rom.Point{{X: 1, Y: -2}, {X: 3, Y: 4}}}, {}}}
	for _, body := range []any{full, reading, rom.Session{}, rom.Reading{Class: rom.Passive}, bodies[KindSession], bodies[KindReading], bodies[KindPain], bodies[KindSling], bodies[KindSeen], bodies[KindTask]} {
		raw, err := marshal(body)
		if err != nil {
			t.Fatal(err)
		}
		if everyQuick(t, raw) == 0 {
			t.Errorf("left to json: %s", raw)
		}
	}
}

func FuzzQuick(f *testing.F) {
	for _, k := range []Kind{KindSession, KindReading, KindPain, KindSling, KindSeen, KindTask} {
		raw, err := marshal(bodies[k])
		if err != nil {
			f.Fatal(err)
		}
		f.Add([]byte(raw))
	}
	f.Add([]byte(`{"episode":"e","id":"s","due":"2024-02-30","slot":01,"items":[],"ended":"finished"}`))
	f.Fuzz(func(t *testing.T, raw []byte) { everyQuick(t, raw) })
}

// The times of the envelope against package time.
func TestTimesAreThoseOfTheLibrary(t *testing.T) {
	slow := func(at string) (time.Time, bool) {
		x, err := time.Parse(atLayout, at)
		if err != nil || formatAt(x) != at {
			return time.Time{}, false
		}
		if _, off := x.Zone(); off != 0 {
			return x.In(time.FixedZone("", off)), true
		}
		return x.UTC(), true
	}
	check := func(t interface{ Fatalf(string, ...any) }, at string) {
		got, ok := parseAt(at)
		want, wantOK := slow(at)
		if ok != wantOK || ok && (!got.Equal(want) || formatAt(got) != at || !reflect.DeepEqual(got, want)) {
			t.Fatalf("%s: %v %v, the library says %v %v", at, got, ok, want, wantOK)
		}
	}
	for _, at := range []string{
		"2024-02-29T23:59:59.999Z", "2023-02-29T00:00:00.000Z", "2100-02-29T00:00:00.000Z", "2024-04-31T00:00:00.000Z", "2024-01-01T24:00:00.000Z", "2024-01-01T00:60:00.000Z",
		"2016-12-31T23:59:60.000Z", "2024-01-01T00:00:00.000+00:00", "2024-01-01T00:00:00.000-00:00", "2024-01-01T00:00:00.000+05:45", "2024-01-01T00:00:00.000-09:30",
		"2024-01-01T00:00:00.000+12:45", "2024-01-01T00:00:00.000+14:00", "2024-01-01T00:00:00.000+24:00", "2024-01-01T00:00:00.000+05:60", "0000-01-01T00:00:00.000Z", "9999-12-31T23:59:59.999-12:00",
		"0000-01-01T00:00:00.000+12:00", "2024-01-01T00:00:00.000z", "2024-01-01 00:00:00.000Z", "2024-01-01T00:00:00,000Z", "2024-13-01T00:00:00.000Z", "2024-00-10T00:00:00.000Z", "",
	} {
		check(t, at)
	}
	rapid.Check(t, func(r *rapid.T) {
		x := time.UnixMilli(rapid.Int64Range(-62_000_000_000_000, 253_000_000_000_000).Draw(r, "ms")).In(time.FixedZone("", 60*rapid.IntRange(-15*60, 15*60).Draw(r, "minutes")))
		check(r, string(torn(r, []byte(formatAt(x)))))
		check(r, formatAt(x))
	})
}

// RFC 4648 section 5, as encoding/base64 reads it strictly.
func TestBase64IsThatOfTheLibrary(t *testing.T) {
	slow := func(s string, n int) bool {
		if len(s) != base64.RawURLEncoding.EncodedLen(n) || strings.ContainsAny(s, "\r\n") {
			return false
		}
		_, err := base64.RawURLEncoding.Strict().DecodeString(s)
		return err == nil
	}
	rapid.Check(t, func(r *rapid.T) {
		n := pick(r, "bytes", 16, 32)
		s := base64.RawURLEncoding.EncodeToString(rapid.SliceOfN(rapid.Byte(), n, n).Draw(r, "b"))
		at := rapid.IntRange(0, len(s)-1).Draw(r, "at")
		s = s[:at] + string(rapid.Byte().Draw(r, "c")) + s[at+1:]
		if got, want := isBase64(s, n), slow(s, n); got != want {
			r.Fatalf("%q for %d bytes: %v, the library says %v", s, n, got, want)
		}
	})
	for c := range 256 {
		s := fmt.Sprintf("%s%c", strings.Repeat("A", 21), byte(c))
		if got, want := isBase64(s, 16), slow(s, 16); got != want {
			t.Errorf("last letter %q: %v, the library says %v", byte(c), got, want)
		}
	}
}
