package clinic

import (
	"encoding/json"
	"fmt"
	"net/url"
	"strings"
	"testing"
	"time"

	"unsling/engine/rom"
	"unsling/sync/wire"
)

// What came from a phone under the name of staff stands in every list as the
// patient's, and says that it does not count.
func TestForgedRecordsAreMarked(t *testing.T) {
	p := newPractice(t)
	x := p.running("Ada Rowe")
	ph := x.phone()
	r := own(x.episode(), rom.ERSide, 20)
	r.Method, r.By = rom.Goniometer, quill
	question := ph.write(p.now, wire.KindQuestion, rom.Question{Episode: x.episode().ID, Text: "May I drive?"})
	ph.write(p.now.Add(time.Second), wire.KindReading, r)
	ph.write(p.now.Add(2*time.Second), wire.KindSeen, rom.Seen{What: question, By: quill})
	ph.write(p.now.Add(3*time.Second), wire.KindClearance, rom.Clearance{Episode: x.episode().ID, Phase: "active", On: p.today(), By: quill, Reason: "healed"})
	ph.exchange()
	if h := x.history(); len(h.Readings) != 0 {
		t.Errorf("it counts: %+v", h.Readings)
	}
	w := p.as(quill)
	const named, kind = "names a member of staff but came from a phone: kept, not counted", "only the clinic writes this kind of record: kept, not counted"
	page := w.get(x.base + "/records")
	for what, note := range map[string]string{"Reading, ": named, "Read: record": named, "Phase active: cleared": kind} {
		found := false
		for _, row := range page.page.named("tr") {
			s := row.words()
			if !strings.Contains(s, what) {
				continue
			}
			if found = strings.Contains(s, note); !found || strings.Contains(s, "Quill") || !strings.Contains(s, "patient") {
				t.Errorf("in the list: %s", s)
			}
		}
		if !found {
			t.Errorf("%s is not marked", what)
		}
	}
	files := unzip(t, []byte(p.as(vega).post(x.base+"/export", url.Values{}).body))
	var record exported
	if err := json.Unmarshal(files["record.json"], &record); err != nil {
		t.Fatal(err)
	}
	marked := 0
	for _, l := range record.Lines {
		if l.Author != ph.author {
			continue
		}
		if l.Who != "patient" {
			t.Errorf("exported as written by %s: %+v", l.Who, l)
		}
		if l.Fault == named || l.Fault == kind {
			marked++
		}
	}
	if marked != 3 {
		t.Errorf("%d of 3 are marked in the export", marked)
	}
}

// A phone that says it follows a plan beyond all bounds keeps nobody from
// stopping the plan, nor from changing it.
func TestPhoneDoesNotHoldUpThePlan(t *testing.T) {
	p := newPractice(t)
	x := p.running("Ada Rowe")
	w := p.as(vega)
	for i, claim := range []struct {
		epoch string
		rev   int
	}{{"", 1<<63 - 1}, {"another life", 1<<63 - 1}, {"another life", 500}} {
		ph := x.phone()
		if claim.epoch != "" {
			ph.epoch = claim.epoch
		}
		ph.rev = claim.rev
		ph.exchange()
		before := x.plan().Rev
		w.taken(w.post(x.base+"/plan", change(t, w.get(x.base+"/plan"), "save", "act", "save", "state", "stopped", "why", fmt.Sprint("Ring us, ", i), "reason", "swelling")))
		if plan := x.plan(); plan.State != rom.Stopped || plan.Rev <= before || plan.Rev > 1000 {
			t.Errorf("%+v: revision %d is %s", claim, plan.Rev, plan.State)
		}
	}
}
