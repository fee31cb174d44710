package clinic

import (
	"net/url"
	"strings"
	"testing"

	"unsling/engine/protocol"
)

// TestOwnProtocol takes a protocol of the clinic's own from its first faulty
// text to prescription, by the same check as the command.
func TestOwnProtocol(t *testing.T) {
	text, ok := protocol.File("cuff-repair-small-medium")
	if !ok {
		t.Fatal("the protocol to begin with is gone")
	}
	own := strings.Replace(string(text), `"id": "cuff-repair-small-medium"`, `"id": "harbour-cuff"`, 1)
	if own == string(text) {
		t.Fatal("the id was not replaced")
	}
	w := newPractice(t)
	surgeon, therapist := w.as(vega), w.as(quill)

	faulty := strings.Replace(own, `"src"`, `"source"`, 1)
	faults := protocol.Check([]byte(faulty))
	if len(faults) == 0 {
		t.Fatal("the text is not faulty")
	}
	page := therapist.post("/clinic/protocols/own", url.Values{"text": {faulty}, "act": {"check"}})
	if page.StatusCode != 422 || !strings.Contains(page.page.words(), faults[0].Reason) {
		t.Errorf("a faulty protocol: %d, its fault %q is not named", page.StatusCode, faults[0].Reason)
	}
	page = therapist.post("/clinic/protocols/own", url.Values{"text": {own}, "act": {"adopt"}, "reviewed": {"yes"}})
	if page.StatusCode != 403 {
		t.Errorf("a therapist adopted: %d", page.StatusCode)
	}
	page = surgeon.post("/clinic/protocols/own", url.Values{"text": {string(text)}, "act": {"adopt"}, "reviewed": {"yes"}})
	if page.StatusCode != 422 {
		t.Errorf("the id of a protocol of the program was taken: %d", page.StatusCode)
	}
	page = surgeon.post("/clinic/protocols/own", url.Values{"text": {own}, "act": {"adopt"}})
	if page.StatusCode != 422 {
		t.Errorf("adopted without review: %d", page.StatusCode)
	}
	page = surgeon.post("/clinic/protocols/own", url.Values{"text": {own}, "act": {"adopt"}, "reviewed": {"yes"}})
	if page.StatusCode != 303 {
		t.Fatalf("a sound protocol: %d %s", page.StatusCode, page.page.words())
	}
	if page = surgeon.get("/clinic/protocols"); !strings.Contains(page.page.words(), "harbour-cuff") && !strings.Contains(page.body, "harbour-cuff") {
		t.Error("the clinic's own is not on the list")
	}
}
