package browsertest

import (
	"encoding/json"
	"flag"
	"image/png"
	"os"
	"path/filepath"
	"strconv"
	"testing"
)

var screenshots = flag.Bool("screenshots", false, "take the pictures that the manifest shows before installing")

// manifestShots are what an app store page of a browser shows: W3C Web App Manifest, "screenshots"; Chromium wants 320 to
// 3840 px a side.
var manifestShots = []struct {
	file, shot    string
	width, height int64
}{
	{"screenshot-narrow.png", "now", 360, 640},
	{"screenshot-hold.png", "session-hold", 360, 640},
	{"screenshot-wide.png", "now", 768, 640},
}

// TestManifestScreenshots holds the manifest to its pictures; with -args -screenshots it takes them anew first.
func TestManifestScreenshots(t *testing.T) {
	const assets = "../web/assets"
	if *screenshots {
		a := enterStage(t, Start(t, ""), newStage(t))
		for _, s := range manifestShots {
			l := plain
			l.Width, l.Height = s.width, s.height
			a.become(l)
			a.show(s.shot)
			a.Screenshot(filepath.Join(assets, s.file))
		}
	}
	text, err := os.ReadFile(filepath.Join(assets, "manifest.webmanifest"))
	if err != nil {
		t.Fatal(err)
	}
	var manifest struct {
		Screenshots []struct {
			Src, Sizes, Type, Label string
			FormFactor              string `json:"form_factor"`
		}
	}
	if err := json.Unmarshal(text, &manifest); err != nil {
		t.Fatal(err)
	}
	if len(manifest.Screenshots) != len(manifestShots) {
		t.Fatalf("the manifest shows %d pictures, want %d", len(manifest.Screenshots), len(manifestShots))
	}
	for _, s := range manifest.Screenshots {
		f, err := os.Open(filepath.Join(assets, s.Src))
		if err != nil {
			t.Fatal(err)
		}
		size, err := png.DecodeConfig(f)
		info, _ := f.Stat()
		f.Close()
		if err != nil || s.Sizes != strconv.Itoa(size.Width)+"x"+strconv.Itoa(size.Height) || s.Type != "image/png" || s.Label == "" || min(size.Width, size.Height) < 320 {
			t.Errorf("%s: %v, %dx%d, manifest says %s", s.Src, err, size.Width, size.Height, s.Sizes)
		}
		if info.Size() > 80<<10 {
			t.Errorf("%s: %d bytes are too many for every phone to keep", s.Src, info.Size())
		}
	}
}
