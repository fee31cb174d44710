package clinic

import (
	"archive/zip"
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"html"
	"io"
	"net/http"
	"net/url"
	"os"
	"strings"
	"testing"

	"unsling/engine/rom"
	"unsling/sync/wire"
)

// unzip returns the files of an export by name.
func unzip(t *testing.T, data []byte) map[string][]byte {
	t.Helper()
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		t.Fatal(err)
	}
	out := map[string][]byte{}
	for _, f := range z.File {
		r, err := f.Open()
		if err != nil {
			t.Fatal(err)
		}
		if out[f.Name], err = io.ReadAll(r); err != nil {
			t.Fatal(err)
		}
	}
	return out
}

// The whole record by the page: every line of the log as it was written, in
// order; the same taken apart, with what became of it; a page that needs
// nothing else and escapes what people wrote; the act in the audit log.
func TestExportHoldsTheWholeRecord(t *testing.T) {
	p := newPractice(t)
	x := p.running("Ada <b>Rowe</b>")
	w := p.as(vega)
	ep := string(x.episode().ID)
	w.taken(w.post(x.base+"/entry/note", url.Values{"episode": {ep}, "text": {"Please rest & <script>alert(1)</script>"}}))
	a := w.post(x.base+"/export", url.Values{})
	if a.StatusCode != http.StatusOK || a.Header.Get("Content-Type") != "application/zip" || !strings.HasPrefix(a.Header.Get("Content-Disposition"), "attachment;") {
		t.Fatalf("%d %v %s", a.StatusCode, a.Header, alerts(a))
	}
	files := unzip(t, []byte(a.body))
	if dir := os.Getenv("UNSLING_EXPORT"); dir != "" { // to look at
		for name, text := range files {
			p.must(os.WriteFile(dir+"/"+name, text, 0o600))
		}
	}

	lines, err := p.store.Read(x.id, 1, 0)
	p.must(err)
	got := bytes.Split(bytes.TrimSuffix(files["lines.ndjson"], []byte("\n")), []byte("\n"))
	if len(got) != len(lines) || len(lines) < 5 {
		t.Fatalf("%d lines, the log has %d", len(got), len(lines))
	}
	var record struct {
		Patient struct{ ID, Name string }
		Staff   map[string]struct{ Name, Role string }
		Lines   []struct {
			Seq  int64
			Hash wire.Hash
			Kind wire.Kind
			Body json.RawMessage
			Text string
		}
		SHA256 map[string]string
	}
	p.must(json.Unmarshal(files["record.json"], &record))
	prev := map[rom.Author]wire.Hash{}
	for i, l := range lines {
		if !bytes.Equal(got[i], l.Bytes) {
			t.Errorf("line %d is not as it was written", i+1)
		}
		rec, err := wire.Decode(got[i]) // the chain can be followed with the file alone
		p.must(err)
		if before, ok := prev[rec.Author]; ok && rec.Prev != before {
			t.Errorf("line %d does not name the one before it", i+1)
		}
		prev[rec.Author] = wire.HashOf(got[i])
		if one := record.Lines[i]; one.Seq != l.Seq || one.Hash != l.Hash || one.Kind != rec.Kind || !json.Valid(one.Body) || one.Text == "" {
			t.Errorf("record %d taken apart: %+v", i+1, one)
		}
	}
	if record.Patient.Name != "Ada <b>Rowe</b>" || record.Staff[string(vega)].Name != "Dr Ines Vega" || record.Staff[string(fenn)].Name != "" {
		t.Errorf("%+v, %+v", record.Patient, record.Staff)
	}
	for _, name := range []string{"README.txt", "record.html", "lines.ndjson", "dictionary.json"} {
		sum := sha256.Sum256(files[name])
		if len(files[name]) < 100 || record.SHA256[name] != hex.EncodeToString(sum[:]) {
			t.Errorf("%s: %d bytes, its hash is not in record.json", name, len(files[name]))
		}
	}
	var words dictionary
	p.must(json.Unmarshal(files["dictionary.json"], &words))
	for _, l := range record.Lines {
		if !strings.Contains(string(files["dictionary.json"]), `"kind": "`+string(l.Kind)+`"`) {
			t.Errorf("the dictionary lacks %s", l.Kind)
		}
	}

	page := string(files["record.html"])
	for _, want := range []string{html.EscapeString("Ada <b>Rowe</b>"), "Dr Ines Vega", "Please rest &amp; &lt;script&gt;", "makes no diagnosis", "default-src &#39;none&#39;"} {
		if !strings.Contains(page, want) && !strings.Contains(page, strings.ReplaceAll(want, "&#39;", "'")) {
			t.Errorf("the page lacks %q", want)
		}
	}
	for _, bad := range []string{"<script", "http://", "https://", "<link", "src=", "<b>Rowe"} {
		if strings.Contains(strings.ReplaceAll(page, "http://www.w3.org/2000/svg", ""), bad) {
			t.Errorf("the page holds %q", bad)
		}
	}

	said := false
	entries, err := p.store.Audit(1, 0)
	p.must(err)
	for _, e := range entries {
		said = said || e.Act == "patient.export" && e.Actor == string(vega) && e.Patient == string(x.id) && strings.Contains(e.Resource, "SHA-256")
	}
	if !said {
		t.Error("the audit log does not say that the record was handed out")
	}
	p.as(marsh).refused(p.as(marsh).post(x.base+"/export", url.Values{}), http.StatusForbidden, "your role may not do this")
}

// Restriction by the page: begun with a reason; nothing is changed and nothing
// handed out by who began it, the plan can still be stopped; lifted by another
// clinician who has told the patient.
func TestRestrictionByThePage(t *testing.T) {
	p := newPractice(t)
	x := p.running("Ada Rowe")
	began, other := p.as(vega), p.as(quill)
	began.taken(began.post(x.base+"/team", url.Values{"staff": {string(quill)}, "act": {"add"}}))
	at := x.base + "/restriction"
	began.refused(began.post(at, url.Values{"act": {"begin"}, "reason": {"short"}}), http.StatusUnprocessableEntity, "Please say why in a sentence")
	assistant := p.as(marsh)
	assistant.refused(assistant.post(at, url.Values{"act": {"begin"}, "reason": {"the patient objects to it"}}), http.StatusForbidden, "your role may not do this")
	page := began.taken(began.post(at, url.Values{"act": {"begin"}, "reason": {"the patient contests a reading"}}))
	if !strings.Contains(page.page.words(), "Processing is restricted since") || !strings.Contains(page.page.words(), "the patient contests a reading") {
		t.Errorf("the page: %s", page.page.words())
	}
	if text := began.get(x.base).page.words(); !strings.Contains(text, "Processing is restricted") {
		t.Error("the patient's page does not say so")
	}

	ep := string(x.episode().ID)
	const no = "may be looked at and not processed"
	for _, w := range []*person{began, other, assistant} {
		w.refused(w.post(x.base+"/entry/note", url.Values{"episode": {ep}, "text": {"Hello"}}), http.StatusForbidden, no)
		w.refused(w.post(x.base+"/invite", url.Values{"kind": {"desk"}}), http.StatusForbidden, no)
	}
	began.refused(began.post(x.base+"/export", url.Values{}), http.StatusForbidden, no)
	if a := other.post(x.base+"/export", url.Values{}); a.StatusCode != http.StatusOK {
		t.Errorf("who may lift it cannot hand it out: %d %s", a.StatusCode, alerts(a))
	}
	began.refused(began.post(at, url.Values{"act": {"begin"}, "reason": {"once more, to be sure"}}), http.StatusForbidden, no)
	began.refused(began.post(at, url.Values{"act": {"lift"}, "told": {"yes"}, "reason": {"settled with the patient"}}), http.StatusForbidden, "a second person has to do this")
	other.refused(other.post(at, url.Values{"act": {"lift"}, "reason": {"settled with the patient"}}), http.StatusUnprocessableEntity, "Please tell the patient first")
	other.taken(other.post(at, url.Values{"act": {"lift"}, "told": {"yes"}, "reason": {"settled with the patient"}}))
	if row, _ := p.store.Patient(x.id); row.Restricted != nil {
		t.Errorf("lifted: %+v", row.Restricted)
	}
	began.taken(began.post(x.base+"/entry/note", url.Values{"episode": {ep}, "text": {"Hello again"}}))
	var acts []string
	entries, err := p.store.Audit(1, 0)
	p.must(err)
	for _, e := range entries {
		if e.Act == "patient.restrict" || e.Act == "patient.lift" {
			acts = append(acts, e.Actor+" "+e.Reason)
		}
	}
	if want := string(vega) + " the patient contests a reading, " + string(quill) + " settled with the patient"; strings.Join(acts, ", ") != want {
		t.Errorf("in the audit log: %q", acts)
	}
}
