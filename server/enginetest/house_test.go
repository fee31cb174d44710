package enginetest

import (
	"crypto/rand"
	"encoding/json"
	"fmt"
	"image"
	"image/color"
	"image/draw"
	"image/png"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"unsling/engine/rom"
	"unsling/server/access"
	"unsling/server/browsertest"
	"unsling/server/ledger"
	"unsling/server/ledger/badgerstore"
	"unsling/sync/replica"
	"unsling/sync/wire"
)

// house is the real server with the invented clinic, and what demo.json says about it.
type house struct {
	t         *testing.T
	data, bin string
	*browsertest.Program

	Staff       []struct{ Login, Password string }
	Invitations []invitation
}

type invitation struct{ Patient, Code, Link string }

func (h *house) read() {
	h.t.Helper()
	text, err := os.ReadFile(filepath.Join(h.data, "demo.json"))
	if err != nil {
		h.t.Fatal(err)
	}
	if err := json.Unmarshal(text, h); err != nil {
		h.t.Fatal(err)
	}
}

func (h *house) next() invitation {
	h.t.Helper()
	if len(h.Invitations) == 0 {
		h.t.Fatal("no invitation is left")
	}
	return h.Invitations[0]
}

func (h *house) password(login string) string {
	for _, s := range h.Staff {
		if s.Login == login {
			return s.Password
		}
	}
	h.t.Fatalf("the demo has no sign-in %q", login)
	return ""
}

// verify runs the program's own check of its data folder.
func (h *house) verify() {
	h.t.Helper()
	out, err := exec.Command(h.bin, "verify", h.data).CombinedOutput()
	if err != nil || !strings.Contains(string(out), " 0 faults") {
		h.t.Errorf("verify: %v\n%s", err, out)
	}
}

// log reads a patient's log from the store while the server is down.
func (h *house) log(name string) (lines []ledger.Line) {
	h.t.Helper()
	ring, err := access.OpenKeyring(filepath.Join(h.data, "keys"), rand.Reader, time.Now())
	if err != nil {
		h.t.Fatal(err)
	}
	store, err := badgerstore.Open(filepath.Join(h.data, "store"), badgerstore.Options{
		Content: ring.Content, ClinicMAC: ring.ClinicMAC, Chance: rand.Reader, Run: "t", Started: time.Now(),
		Fold: ledger.Fold{Version: replica.FoldVersion, Add: func(facts []byte, lines []ledger.Line) ([]byte, error) { // as the server's own
			for _, l := range lines {
				if !l.Erased {
					facts = append(append(facts, l.Bytes...), '\n')
				}
			}
			return facts, nil
		}},
	})
	if err != nil {
		h.t.Fatal(err)
	}
	defer store.Close()
	rows, err := store.Panel("")
	if err != nil {
		h.t.Fatal(err)
	}
	for _, r := range rows {
		if r.Patient.Name == name {
			if lines, err = store.Read(r.Patient.ID, 1, 0); err != nil || r.Quarantined != 0 {
				h.t.Fatalf("the log: %v, %d lines set aside", err, r.Quarantined)
			}
		}
	}
	if len(lines) == 0 {
		h.t.Fatalf("the store has no log of %s", name)
	}
	return lines
}

// onceAndInOrder checks that the phone's lines are a chain without gap in which every line names the one before, and that
// there are so many of each kind.
func onceAndInOrder(t *testing.T, lines []ledger.Line, kinds map[wire.Kind]int) (author rom.Author) {
	t.Helper()
	var n int64
	prev := wire.NoPrev
	got := map[wire.Kind]int{}
	for _, l := range lines {
		if l.Author.FromClinic() {
			continue
		}
		rec, err := wire.Decode(l.Bytes)
		if err != nil {
			t.Fatalf("line %d: %v", l.Seq, err)
		}
		if author == "" {
			author = l.Author
		}
		if l.Author != author || rec.N != n+1 || rec.Prev != prev {
			t.Errorf("line %d is %s %d after %d of %s", l.Seq, l.Author, rec.N, n, author)
		}
		n, prev = rec.N, wire.HashOf(l.Bytes)
		got[rec.Kind]++
	}
	for kind, want := range kinds {
		if got[kind] != want {
			t.Errorf("%d records of kind %s in the store, want %d", got[kind], kind, want)
		}
	}
	return author
}

// bodies decodes the bodies of one kind.
func bodies[T any](t *testing.T, lines []ledger.Line, author rom.Author, kind wire.Kind) (out []T) {
	t.Helper()
	for _, l := range lines {
		rec, err := wire.Decode(l.Bytes)
		if err != nil || l.Author != author || rec.Kind != kind {
			continue
		}
		var body T
		if err := json.Unmarshal(rec.Body, &body); err != nil {
			t.Fatal(err)
		}
		out = append(out, body)
	}
	return out
}

// morning is a zone in which it is between nine and twelve now, on the date that the clinic's calendar shows: sessions are due
// by day and hour, and the test runs at any hour.
func morning(t *testing.T) string {
	t.Helper()
	const home = "Europe/Dublin"
	clinic, err := time.LoadLocation(home)
	if err != nil {
		t.Fatal(err)
	}
	now := time.Now().In(clinic)
	if h := now.Hour(); h == 9 || h == 10 {
		return home
	}
	_, east := now.Zone()
	east = max(east/3600+9-now.Hour(), -12)
	return fmt.Sprintf("Etc/GMT%+d", -east) // the sign of these names is the other way round
}

// spot is a place of a picture in thousandths of its width.
type spot struct{ X, Y float64 }

// sideView is where hip, shoulder and elbow of a right arm lie in a picture from its side, when it is raised by so many
// degrees; the angle is that between the two lines, as NORKIN2016 lays the arms of the goniometer.
func sideView(degrees float64) [3]spot {
	s, c := math.Sincos(degrees * math.Pi / 180)
	shoulder := spot{450, 600}
	return [3]spot{{shoulder.X, shoulder.Y + 420}, shoulder, {shoulder.X + float64(300*s), shoulder.Y + float64(300*c)}}
}

// photograph draws a person as far as three points need one, as a PNG file of 900 x 1200.
func photograph(t *testing.T, marks [3]spot) string {
	t.Helper()
	img := image.NewRGBA(image.Rect(0, 0, 900, 1200))
	draw.Draw(img, img.Bounds(), image.NewUniform(color.RGBA{222, 226, 220, 255}), image.Point{}, draw.Src)
	for _, limb := range [2][2]spot{{marks[0], marks[1]}, {marks[1], marks[2]}} {
		for f := 0.0; f <= 1; f += 0.002 {
			x, y := int((limb[0].X+(limb[1].X-limb[0].X)*f)*0.9), int((limb[0].Y+(limb[1].Y-limb[0].Y)*f)*0.9)
			draw.Draw(img, image.Rect(x-40, y-40, x+40, y+40), image.NewUniform(color.RGBA{96, 120, 140, 255}), image.Point{}, draw.Src)
		}
	}
	path := filepath.Join(t.TempDir(), "arm.png")
	f, err := os.Create(path)
	if err == nil {
		err = png.Encode(f, img)
	}
	if err == nil {
		err = f.Close()
	}
	if err != nil {
		t.Fatal(err)
	}
	return path
}

// touch presses a place of the photograph.
func (p *Page) touch(s spot) {
	p.t.Helper()
	var b struct{ X, Y, Width float64 }
	p.Eval("(() => { const r = document.querySelector('#photo').getBoundingClientRect(); return {X: r.x, Y: r.y, Width: r.width}; })()", &b)
	p.TapAt(b.X+s.X*b.Width/1000, b.Y+s.Y*b.Width/1000)
}
