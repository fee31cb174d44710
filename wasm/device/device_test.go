//go:build js && wasm

package device

// These tests need a browser: server/browsertest builds them and runs them in Chromium, with the phone held upright, a
// false camera and every permission given.

import (
	"context"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/sha256"
	"encoding/base64"
	"errors"
	"math"
	"math/big"
	"strings"
	"sync/atomic"
	"syscall/js"
	"testing"
	"time"

	"unsling/wasm/idb"
	"unsling/wasm/internal/jsrun"
)

func within(t *testing.T) context.Context {
	t.Helper()
	ctx, cancel := context.WithTimeout(context.Background(), 2*time.Minute)
	t.Cleanup(cancel)
	return ctx
}

// element adds an element with an id to the page.
func element(t *testing.T, tag, id string) js.Value {
	t.Helper()
	e := document().Call("createElement", tag)
	e.Set("id", id)
	document().Get("body").Call("appendChild", e)
	t.Cleanup(func() { e.Call("remove") })
	return e
}

func database(t *testing.T) *idb.DB {
	t.Helper()
	db, err := idb.Open(within(t), "device-"+t.Name())
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(db.Close)
	return db
}

func TestUpFromOrientationAngles(t *testing.T) {
	// W3C Device Orientation and Motion, section 4.1 with its figures: at rest face up all angles are 0; beta turns the top up,
	// gamma turns the right side down.
	for _, c := range []struct {
		beta, gamma float64
		want        [3]float64
	}{
		{0, 0, [3]float64{0, 0, 1}},
		{90, 0, [3]float64{0, 1, 0}},
		{-90, 0, [3]float64{0, -1, 0}},
		{180, 0, [3]float64{0, 0, -1}},
		{0, 90, [3]float64{-1, 0, 0}},
		{0, -90, [3]float64{1, 0, 0}},
		{45, 0, [3]float64{0, math.Sqrt2 / 2, math.Sqrt2 / 2}},
	} {
		got := upOf(c.beta, c.gamma)
		for i := range got {
			if math.Abs(got[i]-c.want[i]) > 1e-12 {
				t.Errorf("beta %v gamma %v: %v, want %v", c.beta, c.gamma, got, c.want)
				break
			}
		}
	}
}

func TestTiltReadsGravityUpright(t *testing.T) {
	var last atomic.Value
	stop, err := Tilt(within(t), func(s Sample) { last.Store(s) })
	if err != nil {
		t.Fatal(err)
	}
	defer stop()
	s := last.Load().(Sample)
	if math.Abs(s.X) > 0.2 || math.Abs(s.Y-gravity) > 0.2 || math.Abs(s.Z) > 0.2 {
		t.Errorf("upright phone reads %+v, want 0, %.2f, 0 m/s2", s, gravity)
	}
	if s.At <= 0 || s.At > Mono() {
		t.Errorf("sample at %d ms, now %d ms", s.At, Mono())
	}
}

// TestTiltOfABrowserWithTheOtherSign: some browsers give the accelerometer negated; the angles settle it.
func TestTiltOfABrowserWithTheOtherSign(t *testing.T) {
	var got []Sample
	tl := &tilt{f: func(s Sample) { got = append(got, s) }, first: make(chan struct{})}
	object := func(fields map[string]any) js.Value { return js.ValueOf(fields) }
	tl.turned(object(map[string]any{"beta": 80, "gamma": 5}))
	up := upOf(80, 5)
	tl.moved(object(map[string]any{"accelerationIncludingGravity": map[string]any{
		"x": -gravity * up[0], "y": -gravity * up[1], "z": -gravity * up[2]}}))
	tl.moved(object(map[string]any{"accelerationIncludingGravity": map[string]any{"x": nil, "y": nil, "z": nil}}))
	tl.moved(object(map[string]any{"accelerationIncludingGravity": nil}))
	if len(got) != 1 || math.Abs(got[0].Y-gravity*up[1]) > 1e-9 || math.Abs(got[0].Z-gravity*up[2]) > 1e-9 {
		t.Errorf("samples %+v, want one along %v", got, up)
	}
}

func TestKeySignsForItsPublicPointAndStaysInside(t *testing.T) {
	ctx, db := within(t), database(t)
	key, err := LoadKey(ctx, db, "key")
	if err != nil {
		t.Fatal(err)
	}
	message := []byte("head.body")
	sig, err := key.Sign(ctx, message)
	if err != nil {
		t.Fatal(err)
	}
	// The other side is Go's own ECDSA.
	public := &ecdsa.PublicKey{Curve: elliptic.P256(), X: coordinate(t, key.X), Y: coordinate(t, key.Y)}
	sum := sha256.Sum256(message)
	if !ecdsa.Verify(public, sum[:], new(big.Int).SetBytes(sig[:32]), new(big.Int).SetBytes(sig[32:])) {
		t.Error("the signature does not verify")
	}
	sum[0] ^= 1
	if ecdsa.Verify(public, sum[:], new(big.Int).SetBytes(sig[:32]), new(big.Int).SetBytes(sig[32:])) {
		t.Error("the signature verifies for another message")
	}
	again, err := LoadKey(ctx, db, "key")
	if err != nil || again.X != key.X || again.Y != key.Y {
		t.Errorf("loaded again: %v, another key or an error", err)
	}
	if truth(key.pair.Get("privateKey"), "extractable") {
		t.Error("the private key can be read out")
	}
	s, _ := subtle()
	if _, err := jsrun.CallAwait(ctx, s, "exportKey", "jwk", key.pair.Get("privateKey")); err == nil {
		t.Error("the private key was exported")
	}
}

func coordinate(t *testing.T, s string) *big.Int {
	t.Helper()
	b, err := base64.RawURLEncoding.DecodeString(s)
	if err != nil || len(b) != 32 {
		t.Fatalf("coordinate %q: %v, %d bytes", s, err, len(b))
	}
	return new(big.Int).SetBytes(b)
}

func TestTwoWindowsMakeOneKey(t *testing.T) {
	ctx, db := within(t), database(t)
	keys := make(chan *Key, 4)
	for range cap(keys) {
		go func() {
			k, err := LoadKey(ctx, db, "key")
			if err != nil {
				t.Error(err)
			}
			keys <- k
		}()
	}
	first := <-keys
	for range cap(keys) - 1 {
		if k := <-keys; k == nil || first == nil || k.X != first.X {
			t.Error("two windows have different keys")
		}
	}
}

func TestLockIsHeldByOneAtATime(t *testing.T) {
	ctx := within(t)
	release, err := Hold(ctx, "l")
	if err != nil {
		t.Fatal(err)
	}
	if _, ok, err := TryHold(ctx, "l"); ok || err != nil {
		t.Errorf("a held lock was given again: %v, %v", ok, err)
	}
	short, cancel := context.WithTimeout(ctx, 50*time.Millisecond)
	defer cancel()
	if _, err := Hold(short, "l"); !errors.Is(err, context.DeadlineExceeded) {
		t.Errorf("waiting for a held lock: %v, want the deadline", err)
	}
	release()
	release()
	second, ok, err := TryHold(ctx, "l")
	for !ok && err == nil && ctx.Err() == nil { // letting go takes the browser a turn
		time.Sleep(10 * time.Millisecond)
		second, ok, err = TryHold(ctx, "l")
	}
	if !ok || err != nil {
		t.Fatalf("a free lock was not given: %v", err)
	}
	second()
}

func TestCameraGivesAPicture(t *testing.T) {
	ctx := within(t)
	element(t, "video", "v")
	var c Camera
	defer c.Close()
	if _, err := c.Take(ctx); !errors.Is(err, ErrAbsent) {
		t.Errorf("a picture of a closed camera: %v", err)
	}
	if err := c.Open(ctx, "v"); err != nil {
		t.Fatal(err)
	}
	p, err := c.Take(ctx)
	if err != nil {
		t.Fatal(err)
	}
	defer Drop(p.URL)
	if !strings.HasPrefix(p.URL, "blob:") || p.Width < 100 || p.Height < 100 {
		t.Errorf("picture %+v", p)
	}
	if err := c.Open(ctx, "no such element"); !errors.Is(err, ErrAbsent) {
		t.Errorf("no element to show it: %v, want ErrAbsent", err)
	}
}

// choose puts a file into an input, as a person does.
func choose(t *testing.T, id string, content []byte, mime string) js.Value {
	t.Helper()
	input := element(t, "input", id)
	input.Set("type", "file")
	transfer := window().Get("DataTransfer").New()
	file := window().Get("File").New([]any{jsrun.ToJS(content)}, "f", map[string]any{"type": mime})
	transfer.Get("items").Call("add", file)
	input.Set("files", transfer.Get("files"))
	return input
}

func TestPictureFromAFile(t *testing.T) {
	ctx := within(t)
	canvas := document().Call("createElement", "canvas")
	canvas.Set("width", 3200)
	canvas.Set("height", 1600)
	canvas.Call("getContext", "2d").Call("fillRect", 0, 0, 10, 10)
	url := canvas.Call("toDataURL", "image/png").String()
	png, err := base64.StdEncoding.DecodeString(url[strings.Index(url, ",")+1:])
	if err != nil {
		t.Fatal(err)
	}
	input := choose(t, "f1", png, "image/png")
	p, err := FromFile(ctx, "f1")
	if err != nil {
		t.Fatal(err)
	}
	defer Drop(p.URL)
	if p.Width != longSide || p.Height != longSide/2 {
		t.Errorf("%d x %d pixels, want %d x %d", p.Width, p.Height, longSide, longSide/2)
	}
	if input.Get("files").Length() != 0 {
		t.Error("the input still holds the file")
	}
	choose(t, "f2", []byte("no picture at all"), "image/jpeg")
	if _, err := FromFile(ctx, "f2"); !errors.Is(err, ErrNoPicture) {
		t.Errorf("a file that is no picture: %v", err)
	}
	if _, err := FromFile(ctx, "none"); !errors.Is(err, ErrNoPicture) {
		t.Errorf("no input: %v", err)
	}
}

func TestClockAndZoneAgreeWithThePage(t *testing.T) {
	before := int64(window().Get("Date").Call("now").Float())
	now := Now()
	after := int64(window().Get("Date").Call("now").Float())
	if ms := now.UnixMilli(); ms < before || ms > after {
		t.Errorf("Now is %d, the page's clock %d before and %d after", ms, before, after)
	}
	want := window().Get("Date").New(now.UnixMilli()).Call("getHours").Int()
	if now.Hour() != want {
		t.Errorf("hour %d, the page says %d", now.Hour(), want)
	}
	if Zone() == "" {
		t.Error("no zone")
	}
	begin := time.Now()
	a := Mono()
	time.Sleep(30 * time.Millisecond)
	if d := Mono() - a; d < 25 || d > time.Since(begin).Milliseconds()+5 {
		t.Errorf("%v took %d ms on Mono", time.Since(begin), d)
	}
	ticks := make(chan int, 100)
	n := 0
	stop := Every(5*time.Millisecond, func() { n++; ticks <- n; panic("a broken listener") })
	<-ticks
	<-ticks
	stop()
	stop()
}

func TestChanceIsNotConstant(t *testing.T) {
	seen := map[string]bool{}
	for range 200 {
		id := NewID()
		if len(id) != 22 || seen[id] {
			t.Fatalf("id %q comes twice, or is not 22 long", id)
		}
		seen[id] = true
	}
}

func TestWakeLockComesBack(t *testing.T) {
	ctx := within(t)
	var w Wake
	if err := w.Keep(ctx, true); err != nil {
		t.Fatal(err)
	}
	first := w.lock
	if _, err := jsrun.CallAwait(ctx, first, "release"); err != nil { // as the browser does when the app is left
		t.Fatal(err)
	}
	w.again()
	if w.lock.Equal(first) || truth(w.lock, "released") {
		t.Error("the lock was not taken again")
	}
	second := w.lock
	if err := w.Keep(ctx, false); err != nil {
		t.Fatal(err)
	}
	for !truth(second, "released") && ctx.Err() == nil {
		time.Sleep(10 * time.Millisecond)
	}
	if !truth(second, "released") {
		t.Error("the lock is still held")
	}
	w.again()
	if w.lock.Truthy() {
		t.Error("the lock was taken although nobody wants it")
	}
}

func TestSilenceIsNoFault(t *testing.T) {
	var s Sound
	s.Tone("begin") // not prepared
	s.Prepare()
	for _, name := range []string{"tick", "begin", "end", "alert", "no such tone"} {
		s.Tone(name)
	}
	if text(s.audio, "state") != "running" && text(s.audio, "state") != "suspended" {
		t.Errorf("audio is %q", text(s.audio, "state"))
	}
	Vibrate([]int{10, 20, 10})
	if HasVoice("en") { // a browser without a window has no voice
		t.Log("this browser has a voice")
	}
	Speak("nothing", "en")
	Hush()
}

func TestSpeechPrefersAVoiceOnThePhone(t *testing.T) {
	var said []string
	speak := js.FuncOf(func(_ js.Value, args []js.Value) any { said = append(said, text(args[0], "text")); return nil })
	voices := js.FuncOf(func(js.Value, []js.Value) any {
		return []any{
			map[string]any{"lang": "en-US", "localService": false},
			map[string]any{"lang": "es_MX", "localService": true},
		}
	})
	defer speak.Release()
	defer voices.Release()
	object := js.Global().Get("Object")
	real := window().Get("speechSynthesis")
	replace := func(v any) {
		object.Call("defineProperty", window(), "speechSynthesis", map[string]any{"value": v, "configurable": true})
	}
	replace(map[string]any{"speak": speak, "getVoices": voices})
	defer replace(real)
	if HasVoice("en") || !HasVoice("es") {
		t.Errorf("voices: en %v, es %v; want only es, whose voice is on the phone", HasVoice("en"), HasVoice("es"))
	}
	Speak("one", "en")
	Speak("dos", "es")
	if strings.Join(said, " ") != "dos" {
		t.Errorf("said %q, want only what a voice on the phone can say", said)
	}
}

func TestRememberForTheStartScript(t *testing.T) {
	Remember("es", "Invented Clinic", "+1 555 0100")
	local := window().Get("localStorage")
	if got := local.Call("getItem", "unsling.clinic").String(); got != `{"name":"Invented Clinic","phone":"+1 555 0100"}` {
		t.Errorf("remembered %s", got)
	}
	Remember("en", "", "")
	if v := local.Call("getItem", "unsling.clinic"); v.IsNull() {
		t.Error("the number was forgotten by a program that does not know it yet")
	}
	if name, phone := RememberedClinic(); name != "Invented Clinic" || phone != "+1 555 0100" {
		t.Errorf("the next start remembers %q, %q", name, phone)
	}
	if got := local.Call("getItem", "unsling.lang").String(); got != "en" || !Remembered() {
		t.Errorf("language %q, remembered %v", got, Remembered())
	}
}

func TestBrowserDescribesItself(t *testing.T) {
	if got := Describe(); !strings.HasPrefix(got, "computer, Chromium ") {
		t.Errorf("described as %q", got)
	}
	if Installed() || Installable() {
		t.Error("a page of a test runner is neither installed nor installable")
	}
	ctx := within(t)
	if err := Install(ctx); !errors.Is(err, ErrAbsent) {
		t.Errorf("install: %v", err)
	}
	if err := ApplyUpdate(ctx); !errors.Is(err, ErrAbsent) {
		t.Errorf("update without a worker: %v", err)
	}
	kept, err := Persist(ctx)
	if err != nil || !kept {
		t.Errorf("persist: %v, %v; the permission was given", kept, err)
	}
}
