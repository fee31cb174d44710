// Package web serves everything that is the same for every patient: the neutral shell of the phone's app, its program
// (WebAssembly, compressed beforehand), its service worker, manifest and icons. It knows no patient and prints no text that
// a person has entered.
//
// All files together have one version. A page, a worker and a program of different versions are never mixed on a phone: the
// worker installs a version only when every file arrived with the hash that it lists.
//
// The program is built into dist by server/internal/buildweb. Without it the package still compiles and serves the shell;
// the program's address then answers 503 with a sentence, and [Site.Built] is false.
package web

//go:generate go run ../internal/drawicons assets

import (
	"embed"
	"fmt"
	"io/fs"
	"strings"
)

//go:embed assets
var assetFiles embed.FS

//go:embed all:dist
var distFiles embed.FS

// Site is the phone's static half, ready to be served. It is an http.Handler for every address that [Reserved] does not
// keep for others, and safe for concurrent use.
type Site struct {
	version string
	files   map[string]*file // by address; "/" is the shell
	built   bool
}

// Load reads the embedded files. It fails when dist is damaged or was built half.
func Load() (*Site, error) {
	assets, err := fs.Sub(assetFiles, "assets")
	if err != nil {
		return nil, err
	}
	dist, err := fs.Sub(distFiles, "dist")
	if err != nil {
		return nil, err
	}
	return LoadFrom(assets, dist)
}

// LoadFrom is Load with the files given: assets as in the folder of that name, dist as buildweb writes it.
func LoadFrom(assets, dist fs.FS) (*Site, error) {
	s := &Site{files: map[string]*file{}}
	if err := s.addAssets(assets); err != nil {
		return nil, fmt.Errorf("load the phone's files: %w", err)
	}
	if err := s.addDist(dist); err != nil {
		return nil, fmt.Errorf("load the phone's program: %w", err)
	}
	s.fill()
	return s, nil
}

// Version identifies the embedded files, 12 hex digits; the phone sends it with every request, as the app's version.
func (s *Site) Version() string { return s.version }

// Built reports whether the phone's program is embedded.
func (s *Site) Built() bool { return s.built }

// reservedPaths are the top-level names that belong to the clinic's pages, the interfaces and the operator.
var reservedPaths = []string{"clinic", "v1", "fhir", "healthz", "readyz", `\.well-known`}

// Reserved reports whether path (starting with "/") belongs to the clinic's pages, an interface or the operator, and so is
// never answered by the phone's shell, neither here nor by the service worker.
func Reserved(path string) bool {
	top, _, _ := strings.Cut(strings.TrimPrefix(path, "/"), "/")
	for _, name := range reservedPaths {
		if top == strings.ReplaceAll(name, `\`, "") {
			return true
		}
	}
	return false
}

// phonePlaces are the top-level names of the phone's screens, those of app/screen (TestPlacesAreThoseOfTheApp). What comes
// behind one belongs to it.
var phonePlaces = map[string]bool{
	"": true, "enrol": true, "first": true, "session": true, "measure": true, "so-far": true, "limits": true, "help": true,
	"first-days": true, "helper": true, "may-i": true, "morning": true, "learn": true, "settings": true, "lock": true,
	"phones": true, "leave": true, "reminders": true, "week": true, "who": true,
}

// phoneAddress reports whether path is one of the phone's screens. None of them has a point in it.
func phoneAddress(path string) bool {
	top, _, _ := strings.Cut(strings.TrimPrefix(path, "/"), "/")
	return phonePlaces[top] && !strings.ContainsAny(path, ".\\") && !strings.Contains(path, "//")
}

func reservedPattern() string { return "^/(" + strings.Join(reservedPaths, "|") + ")(/|$)" }
