package main

import (
	"fmt"
	"io/fs"
	"net/http"
	"os"
	"path/filepath"
	"sort"
	"strings"
)

// killed kills the server right after its answers and looks whether everything that was acknowledged is there.
func killed(a *assault) (string, error) {
	p, err := a.join()
	if err != nil {
		return "", err
	}
	acked := int64(0)
	const rounds = 5
	for i := range rounds {
		p.write(fmt.Sprint("before kill ", i))
		r, reply, _ := p.send()
		if r.status != http.StatusOK {
			return "", fmt.Errorf("exchange: %s", r)
		}
		acked = reply.Ack.N
		a.t.kill()
		if err := a.t.start(); err != nil {
			return "", err
		}
		r, reply, lines := p.exchange(p.token, p.id, acked+1)
		own := int64(0)
		for _, l := range lines {
			if strings.Contains(string(l.Bytes), string(p.id)) {
				own++
			}
		}
		if r.status != http.StatusOK || reply.Ack.N != acked || own != acked {
			return "", fmt.Errorf("kill %d: %s; %d lines acknowledged, %d there, mark %d", i+1, r, acked, own, reply.Ack.N)
		}
	}
	return fmt.Sprintf("%d kills (SIGKILL) right after the answer: every acknowledged line is there, tokens go on", rounds), nil
}

func copyTree(from, to string) error {
	return filepath.WalkDir(from, func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		rel, err := filepath.Rel(from, path)
		if err != nil {
			return err
		}
		at := filepath.Join(to, rel)
		if d.IsDir() {
			return os.MkdirAll(at, 0o700)
		}
		data, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		return os.WriteFile(at, data, 0o600)
	})
}

// tampered changes bytes in copies of the store, and lets the program's own checks look.
func tampered(a *assault) (string, error) {
	a.t.stop()
	defer func() {
		if a.t.cmd == nil {
			_ = a.t.start()
		}
	}()
	sound := a.t.data + "-copy"
	defer os.RemoveAll(sound)
	again := func() error { _ = os.RemoveAll(sound); return copyTree(a.t.data, sound) }
	if err := again(); err != nil {
		return "", err
	}
	if said, err := a.t.command("verify", sound); err != nil {
		return "", fmt.Errorf("an untouched copy is called damaged: %s", said)
	}
	if said, err := a.t.command("audit", "verify", "--data", sound); err != nil {
		return "", fmt.Errorf("an untouched audit log is called damaged: %s", said)
	}
	var files []string // of the store that the copies are made of
	for _, kind := range []string{"*.sst", "*.vlog", "*.mem"} {
		found, err := filepath.Glob(filepath.Join(a.t.data, "store", kind))
		if err != nil {
			return "", err
		}
		files = append(files, found...)
	}
	sort.Slice(files, func(i, k int) bool { return size(files[i]) > size(files[k]) })
	tried, missed := 0, []string{}
	for _, f := range files[:min(2, len(files))] {
		for _, part := range []int64{3, 7} {
			if err := again(); err != nil {
				return "", err
			}
			data, err := os.ReadFile(f)
			if err != nil {
				return "", err
			}
			at := filled(data) * part / 10
			if at < 64 {
				continue
			}
			data[at] ^= 0x10
			if err := os.WriteFile(filepath.Join(sound, "store", filepath.Base(f)), data, 0o600); err != nil {
				return "", err
			}
			tried++
			if said, err := a.t.command("verify", sound); err == nil {
				missed = append(missed, fmt.Sprintf("%s at %d: %s", filepath.Base(f), at, strings.TrimSpace(said)))
			}
		}
	}
	if tried == 0 {
		return "", fmt.Errorf("no file of the store was found to change")
	}
	if len(missed) > 0 {
		return "", fmt.Errorf("a flipped bit is not noticed: %s", strings.Join(missed, "; "))
	}
	// An old copy of the audit log is a chain that fits: the head that was noted elsewhere shows it.
	if err := again(); err != nil {
		return "", err
	}
	if said, err := a.t.command("audit", "verify", "--data", sound, "--head", "999999:"+strings.Repeat("A", 43)); err == nil {
		return "", fmt.Errorf("a noted head that the log does not have is not noticed: %s", said)
	}
	return fmt.Sprintf("%d flipped bits in the largest files: all noticed; a shortened audit log is noticed by a head noted elsewhere", tried), nil
}

func size(path string) int64 {
	i, err := os.Stat(path)
	if err != nil {
		return 0
	}
	return i.Size()
}

// filled is how far a file is written: the store makes some larger beforehand.
func filled(data []byte) int64 {
	n := len(data)
	for n > 0 && data[n-1] == 0 {
		n--
	}
	return int64(n)
}

// logged looks through everything that the server has written to its log during the whole attack.
func logged(a *assault) (string, error) {
	said := a.t.said()
	if strings.Count(said, "\n") < 100 {
		return "", fmt.Errorf("the log has hardly a line: nothing can be said")
	}
	a.mu.Lock()
	needles := append([]string{}, a.secrets...)
	a.mu.Unlock()
	for _, p := range a.t.Staff {
		needles = append(needles, p.Name)
	}
	for _, i := range a.t.Invitations {
		needles = append(needles, i.Patient)
	}
	needles = append(needles, "twisted 1", "before kill", "on the lost phone", "canary-", "alert(1)", "wrong password")
	for _, line := range strings.Split(said, "\n") {
		// The demo prints its sign-ins and links for who sits before it; everything after it is the server's log.
		if !strings.HasPrefix(line, "{") && !strings.Contains(line, "level=") {
			continue
		}
		if found, has := contains(line, needles...); has {
			return "", fmt.Errorf("the log holds %q", found[:min(12, len(found))]+"...")
		}
	}
	return fmt.Sprintf("%d lines of the log searched for %d secrets, names and texts: none", strings.Count(said, "\n"), len(needles)), nil
}

// stolenDisk searches the files of the store, without its keys.
func stolenDisk(a *assault) (string, error) {
	needles := []string{"twisted 1", "before kill 1", "on the lost phone", "<script>alert(1)</script>"}
	for _, i := range a.t.Invitations {
		needles = append(needles, i.Code, i.secret())
	}
	for _, p := range a.t.Staff {
		needles = append(needles, p.Password)
	}
	files := 0
	err := filepath.WalkDir(filepath.Join(a.t.data, "store"), func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return nil // a file that the server has just removed
		}
		data, err := os.ReadFile(path)
		if err != nil {
			return nil
		}
		files++
		if found, has := contains(string(data), needles...); has {
			return fmt.Errorf("%s holds %q in clear", filepath.Base(path), found[:min(12, len(found))]+"...")
		}
		return nil
	})
	if err != nil {
		return "", err
	}
	if files < 3 {
		return "", fmt.Errorf("only %d files were found", files)
	}
	entries, err := os.ReadDir(filepath.Join(a.t.data, "keys"))
	if err != nil || len(entries) == 0 {
		return "", fmt.Errorf("the keys: %d files, %v", len(entries), err)
	}
	for _, e := range entries {
		i, err := e.Info()
		if err != nil || i.Mode().Perm()&0o077 != 0 {
			return "", fmt.Errorf("%s may be read by others: %v", e.Name(), i.Mode())
		}
	}
	return fmt.Sprintf("%d files of the store hold no record, code or password in clear; keys lie apart, for their owner only; backups: TestRestoreDrill, TestErasureReachesOldSeries", files), nil
}
