package calendar

import (
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// reading is what ical.js (2.2.1) makes of a calendar: an iCalendar library
// that is none of ours.
const reading = `
import ICAL from "ical.js";
import fs from "fs";
const root = new ICAL.Component(ICAL.parse(fs.readFileSync(0, "utf8")));
const out = { version: root.getFirstPropertyValue("version"), method: root.getFirstPropertyValue("method"), events: [] };
for (const c of root.getAllSubcomponents("vevent")) {
  const e = new ICAL.Event(c);
  const times = [];
  const it = e.iterator();
  for (let t = it.next(); t && times.length < 100; t = it.next()) times.push(t.toString());
  const alarm = c.getFirstSubcomponent("valarm");
  out.events.push({ uid: e.uid, sequence: e.sequence, summary: e.summary, description: e.description, zone: e.startDate.zone.tzid,
    end: e.endDate.toString(), status: c.getFirstPropertyValue("status"), times,
    alarm: alarm ? [alarm.getFirstPropertyValue("action"), alarm.getFirstPropertyValue("trigger").toString(), alarm.getFirstPropertyValue("description")] : [] });
}
console.log(JSON.stringify(out));
`

func TestReadByAnotherLibrary(t *testing.T) {
	modules, err := filepath.Abs("../../.ci/node")
	if err != nil {
		t.Fatal(err)
	}
	script := filepath.Join(modules, "node_modules", ".unsling-calendar.mjs") // beside the library, where Node finds it
	if err := os.WriteFile(script, []byte(reading), 0o644); err != nil {
		t.Fatalf("ical.js: %v (run .ci/tools)", err)
	}
	defer os.Remove(script)
	text, err := sample().Text()
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command("node", script)
	cmd.Stdin = strings.NewReader(text)
	raw, err := cmd.Output()
	if err != nil {
		if x, ok := err.(*exec.ExitError); ok {
			t.Fatalf("ical.js: %v\n%s", err, x.Stderr)
		}
		t.Fatalf("ical.js: %v", err)
	}
	var got struct {
		Version, Method string
		Events          []struct {
			UID, Summary, Description, Zone, End, Status string
			Sequence                                     int
			Times, Alarm                                 []string
		}
	}
	if err := json.Unmarshal(raw, &got); err != nil {
		t.Fatal(err)
	}
	if got.Version != "2.0" || got.Method != "PUBLISH" || len(got.Events) != 2 {
		t.Fatalf("read as %+v", got)
	}
	for i, e := range got.Events {
		want := sample().Reminders[i]
		if e.UID != want.UID || e.Sequence != want.Sequence || e.Summary != want.Summary || e.Description != want.About {
			t.Errorf("reminder %d read as %+v, want %+v", i, e, want)
		}
		if e.Zone != "floating" {
			t.Errorf("reminder %d is bound to the zone %q", i, e.Zone)
		}
		if len(e.Times) != 28 || !strings.HasPrefix(e.Times[0], want.From.String()+"T") || !strings.HasPrefix(e.Times[27], want.Until.String()+"T") {
			t.Errorf("reminder %d rings %d times: %v", i, len(e.Times), e.Times)
		}
	}
	one := got.Events[0]
	if one.Times[0] != "2026-03-02T09:05:00" || one.End != "2026-03-02T09:25:00" || one.Status != "CONFIRMED" {
		t.Errorf("the first rings %s to %s, %s", one.Times[0], one.End, one.Status)
	}
	if a := one.Alarm; len(a) != 3 || a[0] != "DISPLAY" || a[1] != "PT0S" || a[2] != one.Summary {
		t.Errorf("its alarm: %q", a)
	}
	if two := got.Events[1]; two.Status != "CANCELLED" || len(two.Alarm) != 0 {
		t.Errorf("the cancelled one: %+v", two)
	}
}
