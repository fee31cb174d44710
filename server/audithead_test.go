package main

import (
	"bytes"
	"io"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"unsling/server/access"
	"unsling/server/ledger"
)

// paper is an audit log in memory that can be spoilt.
type paper []ledger.Entry

func (p paper) Note(ledger.Entry) error { return nil }

func (p paper) Audit(from int64, max int) ([]ledger.Entry, error) {
	i := slices.IndexFunc(p, func(e ledger.Entry) bool { return e.Seq >= from })
	if i < 0 {
		return nil, nil
	}
	return p[i:min(len(p), i+max)], nil
}

// chained computes the chain of what stands there anew, as somebody would who
// can write the whole store.
func (p paper) chained(t *testing.T) paper {
	t.Helper()
	p = slices.Clone(p)
	before := ""
	for i := range p {
		p[i].Seq = int64(i) + 1
		_, hash, err := ledger.ChainEntry(before, p[i])
		if err != nil {
			t.Fatal(err)
		}
		p[i].Hash, before = hash, hash
	}
	return p
}

// A log that was changed, shortened, put in another order, replaced by an old
// copy, or written anew from the beginning is found out (45 CFR 164.312 (b)
// and (c)(2); OWASP ASVS 5.0, 16.4.2): the first three by the chain alone, the
// others by heads that were kept elsewhere.
func TestAuditLogTamperedWith(t *testing.T) {
	var log bytes.Buffer
	h := testHouse(t, filepath.Join(t.TempDir(), "data"), &log)
	defer h.close()
	key := h.ring.AuditKey().Public()
	if err := h.signHead(); err != nil {
		t.Fatal(err)
	}
	if err := h.signHead(); err != nil { // nothing happened since: nothing is signed
		t.Fatal(err)
	}
	trail := h.trail()
	for _, id := range []string{"s1", "s2", "s3"} {
		if err := h.store.StartSession(ledger.Session{ID: id, Staff: "vega", Started: h.now(), Until: h.now().Add(time.Hour)}, trail); err != nil {
			t.Fatal(err)
		}
	}
	if err := h.signHead(); err != nil {
		t.Fatal(err)
	}
	all, err := h.store.Audit(1, 0)
	if err != nil {
		t.Fatal(err)
	}
	var kept []ledger.Head
	var texts []string
	for _, e := range all {
		if e.Act == access.HeadAct {
			head, err := access.VerifyHead(key, e.Resource)
			if err != nil {
				t.Fatal(err)
			}
			if len(kept) > 0 && head.Prev == 0 {
				t.Error("the second head does not name the first")
			}
			kept = append(kept, ledger.Head{Seq: head.Seq, Hash: head.Hash})
			texts = append(texts, e.Resource)
		}
	}
	if len(kept) != 2 || !strings.Contains(log.String(), texts[1]) {
		t.Fatalf("%d heads, or not in the server's log", len(kept))
	}
	whole := paper(all)
	if end, err := walkAudit(whole, kept, key); err != nil || end.Seq != int64(len(all)) {
		t.Fatalf("as it is: %v %v", end, err)
	}
	edit := func(i int, f func(*ledger.Entry)) paper {
		p := slices.Clone(whole)
		f(&p[i])
		return p
	}
	for name, c := range map[string]struct {
		log  paper
		says string
		bare bool // found without any head kept elsewhere
	}{
		"flipped":             {edit(3, func(e *ledger.Entry) { e.Actor = "W" + e.Actor[1:] }), "entry 4 does not fit", true},
		"flipped reason":      {edit(3, func(e *ledger.Entry) { e.Reason = "x" }), "entry 4 does not fit", true},
		"deleted":             {slices.Delete(slices.Clone(whole), 3, 4), "entry 4 does not fit", true},
		"swapped":             {slices.Concat(whole[:3], paper{whole[4], whole[3]}, whole[5:]), "entry 4 does not fit", true},
		"truncated":           {whole[:len(whole)-3], "its end is lost", false},
		"an old copy":         {whole[:kept[1].Seq-1], "its end is lost", false},
		"written anew":        {edit(3, func(e *ledger.Entry) { e.Actor = "nobody" }).chained(t), "audit entry", true},
		"anew, without heads": {slices.DeleteFunc(edit(3, func(e *ledger.Entry) { e.Actor = "nobody" }), func(e ledger.Entry) bool { return e.Act == access.HeadAct }).chained(t), "is not the one that was noted", false},
		"heads of somebody":   {edit(int(kept[0].Seq), func(e *ledger.Entry) { e.Resource = texts[1] }).chained(t), "does not fit the chain", true},
		"emptied":             {nil, "its end is lost", false},
	} {
		if _, err := walkAudit(c.log, kept, key); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v, want %q", name, err, c.says)
		}
		if _, err := walkAudit(c.log, nil, key); (err != nil) != c.bare {
			t.Errorf("%s, without heads kept elsewhere: %v", name, err)
		}
	}
	other := ledger.Head{Seq: kept[0].Seq, Hash: kept[1].Hash}
	if _, err := walkAudit(whole, append(kept, other), key); err == nil {
		t.Error("two heads of one entry that differ are taken")
	}
}

// The same by command, with a real old copy of the data folder.
func TestAuditVerifyWithHeads(t *testing.T) {
	dir := t.TempDir()
	data, old, file := filepath.Join(dir, "data"), filepath.Join(dir, "old"), filepath.Join(dir, "heads.txt")
	h := testHouse(t, data, io.Discard)
	if err := h.close(); err != nil {
		t.Fatal(err)
	}
	if err := os.CopyFS(old, os.DirFS(data)); err != nil {
		t.Fatal(err)
	}
	keys, err := filepath.Glob(filepath.Join(old, "keys", "*"))
	if err != nil || len(keys) == 0 {
		t.Fatal(keys, err)
	}
	for _, k := range keys {
		if err := os.Chmod(k, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	h = testHouse(t, data, io.Discard)
	if err := h.store.Note(ledger.Entry{At: h.now().UTC(), Actor: "server", Act: "test"}); err != nil {
		t.Fatal(err)
	}
	if err := h.signHead(); err != nil {
		t.Fatal(err)
	}
	health, err := h.store.Health()
	if err != nil {
		t.Fatal(err)
	}
	last, err := h.store.Audit(health.Audit, 1)
	if err != nil || len(last) != 1 {
		t.Fatal(err)
	}
	if err := h.close(); err != nil {
		t.Fatal(err)
	}
	write := func(text string) {
		t.Helper()
		if err := os.WriteFile(file, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	write("# kept by the notary\n\n" + last[0].Resource + "\n")
	wantCall(t, "the chain fits, 1 noted heads", "audit", "verify", "--data", data, "--heads", file)
	if _, err := call(t, "audit", "verify", "--data", old, "--heads", file); err == nil || !strings.Contains(err.Error(), "its end is lost") {
		t.Errorf("an old copy: %v", err)
	}
	wantCall(t, "the chain fits", "audit", "verify", "--data", old) // alone it cannot know
	write(last[0].Resource[:len(last[0].Resource)-6] + "AAAAAA\n")
	if _, err := call(t, "audit", "verify", "--data", data, "--heads", file); err == nil || !strings.Contains(err.Error(), "line 1 is not a head that this clinic signed") {
		t.Errorf("a forged head: %v", err)
	}
	write("# nothing\n")
	if _, err := call(t, "audit", "verify", "--data", data, "--heads", file); err == nil || !strings.Contains(err.Error(), "holds no signed head") {
		t.Errorf("no head: %v", err)
	}
}

// Keys change by themselves after the time that was set: tokens of the key
// before stay good, and the key set says so to others (RFC 7517).
func TestKeysRotateBySchedule(t *testing.T) {
	data := filepath.Join(t.TempDir(), "data")
	h := testHouse(t, data, io.Discard)
	defer h.close()
	now := time.Now()
	h.now = func() time.Time { return now }
	u := newUpkeep(h, serveOptions{data: data, rotateDays: 90})
	first := h.tokens.CurrentKeys()
	token, err := h.tokens.IssuePhone(access.Phone{Author: "a1"}, "j", now)
	if err != nil {
		t.Fatal(err)
	}
	u.rotateKeys()
	if h.tokens.CurrentKeys().Current.ID != first.Current.ID {
		t.Fatal("rotated on the first day")
	}
	now = now.Add(90*24*time.Hour - time.Minute)
	u.rotateKeys()
	if h.tokens.CurrentKeys().Current.ID != first.Current.ID {
		t.Fatal("rotated a minute early")
	}
	if token, err = h.tokens.IssuePhone(access.Phone{Author: "a1"}, "j", now); err != nil {
		t.Fatal(err)
	}
	now = now.Add(2 * time.Minute)
	u.rotateKeys()
	u.rotateKeys()
	keys := h.tokens.CurrentKeys()
	if keys.Current.ID != first.Next.ID || keys.Previous.ID != first.Current.ID || u.snapshot().Rotated.Err != "" {
		t.Fatalf("after 90 days: %+v", u.snapshot().Rotated)
	}
	if _, err := h.tokens.ParsePhone(token, now); err != nil {
		t.Errorf("a token of the key before: %v", err)
	}
	rec := httptest.NewRecorder()
	h.handler.ServeHTTP(rec, httptest.NewRequest(http.MethodGet, "http://localhost:1/.well-known/jwks.json", nil))
	for what, id := range map[string]string{"next": keys.Next.ID, "current": keys.Current.ID, "previous": keys.Previous.ID} {
		if !strings.Contains(rec.Body.String(), id) {
			t.Errorf("the %s key is not published", what)
		}
	}
	saved, err := access.ReadKeyring(filepath.Join(data, "keys"))
	if err != nil || saved.Signing.Current.ID != keys.Current.ID {
		t.Errorf("saved: %v", err)
	}
}
