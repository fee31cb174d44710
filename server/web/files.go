package web

import (
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"path"
	"sort"
	"strconv"
	"strings"
)

// file is one address: its content as it is, or compressed, or both.
type file struct {
	mime  string
	hash  string // SHA-256 of the plain content, hex
	plain []byte // nil for the program, which is kept compressed only
	gzip  []byte // nil where it would not pay
	br    []byte
}

var mimes = map[string]string{
	".html":        "text/html; charset=utf-8",
	".css":         "text/css; charset=utf-8",
	".js":          "text/javascript; charset=utf-8",
	".svg":         "image/svg+xml",
	".png":         "image/png",
	".webmanifest": "application/manifest+json",
}

const (
	shellAddress  = "/"
	workerAddress = "/worker.js"
	bootAddress   = "/boot.js"
	wasmAddress   = "/app.wasm"
)

func (s *Site) add(address, mime string, content []byte) {
	s.files[address] = &file{mime: mime, hash: hashOf(content), plain: content}
}

// addAssets takes every file of the folder of static files; shell.html stands at "/".
func (s *Site) addAssets(assets fs.FS) error {
	names, err := fs.Glob(assets, "*")
	if err != nil {
		return err
	}
	for _, name := range names {
		content, err := fs.ReadFile(assets, name)
		if err != nil {
			return err
		}
		mime, ok := mimes[path.Ext(name)]
		if !ok {
			return fmt.Errorf("%s: no content type known for it", name)
		}
		address := "/" + name
		if name == "shell.html" {
			address = shellAddress
		}
		s.add(address, mime, content)
	}
	for _, need := range []string{shellAddress, workerAddress, bootAddress} {
		if s.files[need] == nil {
			return fmt.Errorf("nothing for the address %s", need)
		}
	}
	return nil
}

// addDist takes what buildweb wrote, or nothing when it has not run.
func (s *Site) addDist(dist fs.FS) error {
	for _, name := range []string{"wasm_exec.js", "phone.css"} {
		content, err := fs.ReadFile(dist, name)
		if err != nil && !errors.Is(err, fs.ErrNotExist) {
			return err
		}
		s.add("/"+name, mimes[path.Ext(name)], content)
	}
	text, err := fs.ReadFile(dist, "build.json")
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil {
		return err
	}
	var build struct {
		Wasm              string
		Raw, Gzip, Brotli int
	}
	if err := json.Unmarshal(text, &build); err != nil {
		return fmt.Errorf("build.json: %w", err)
	}
	f := &file{mime: "application/wasm", hash: build.Wasm}
	if f.gzip, err = fs.ReadFile(dist, "app.wasm.gz"); err != nil {
		return err
	}
	if f.br, err = fs.ReadFile(dist, "app.wasm.br"); err != nil {
		return err
	}
	if len(f.gzip) != build.Gzip || len(f.br) != build.Brotli || build.Raw <= 0 || len(build.Wasm) != 2*sha256.Size {
		return errors.New("the files do not fit together: build it again (make run, or go run ./server/internal/buildweb)")
	}
	s.files[wasmAddress] = f
	s.built = true
	s.fillSlot(bootAddress, "{{WASMBYTES}}", strconv.Itoa(build.Raw))
	return nil
}

// fill takes the version from all contents and writes it, and the list of files, into the two scripts that need them.
func (s *Site) fill() {
	sum := sha256.New()
	for _, address := range s.addresses() {
		fmt.Fprintf(sum, "%s %s\n", address, s.files[address].hash)
	}
	s.version = hex.EncodeToString(sum.Sum(nil))[:12]

	s.fillSlot(bootAddress, "{{WASMBYTES}}", "1") // only when no program is built
	s.fillSlot(bootAddress, "{{VERSION}}", s.version)
	list := map[string]string{}
	for _, address := range s.addresses() {
		// What is shown before installing is not needed afterwards, and would only fill the phone.
		if address != workerAddress && !strings.HasPrefix(address, "/screenshot-") {
			list[address] = s.files[address].hash
		}
	}
	text, err := json.Marshal(list)
	if err != nil {
		panic(err) // strings always marshal
	}
	s.fillSlot(workerAddress, "{{VERSION}}", s.version)
	s.fillSlot(workerAddress, "{{FILES}}", string(text))
	pattern, err := json.Marshal(reservedPattern())
	if err != nil {
		panic(err)
	}
	s.fillSlot(workerAddress, `"{{RESERVED}}"`, string(pattern))
	for _, f := range s.files {
		f.squeeze()
	}
}

func (s *Site) fillSlot(address, slot, value string) {
	old := s.files[address]
	s.add(address, old.mime, bytes.ReplaceAll(old.plain, []byte(slot), []byte(value)))
}

func (s *Site) addresses() []string {
	all := make([]string, 0, len(s.files))
	for address := range s.files {
		all = append(all, address)
	}
	sort.Strings(all)
	return all
}

// squeeze adds a gzip form to texts that are worth it.
func (f *file) squeeze() {
	if len(f.plain) < 1024 || f.mime == "image/png" {
		return
	}
	var buf bytes.Buffer
	w, err := gzip.NewWriterLevel(&buf, gzip.BestCompression)
	if err != nil {
		panic(err) // the level is a constant in range
	}
	if _, err := w.Write(f.plain); err != nil || w.Close() != nil {
		return // a buffer does not fail; the plain form is there anyway
	}
	f.gzip = buf.Bytes()
}

func hashOf(content []byte) string {
	sum := sha256.Sum256(content)
	return hex.EncodeToString(sum[:])
}
