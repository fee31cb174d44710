package fhir

import (
	"bytes"
	"encoding/json"
	"errors"
	"flag"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"unsling/engine/rom"
)

var rewrite = flag.Bool("rewrite", false, "write the examples in testdata anew")

// at is in Madrid's winter time, so that offsets show.
var at = time.Date(2026, 3, 2, 10, 0, 0, 0, time.FixedZone("", 3600))

func meta(author rom.Author, n int64) rom.Meta {
	return rom.Meta{Ref: rom.Ref{Author: author, N: n}, At: at.Add(time.Duration(n) * time.Hour)}
}

// example is a patient with one of everything that is written. All invented.
func example() Input {
	day := rom.MakeDate(2026, time.February, 1)
	three, seven := 3, 7
	ep := rom.Episode{ID: "e_1", Version: 1, State: rom.Planned, Side: rom.Left, Procedures: []rom.Procedure{rom.CuffRepair}, Surgery: day, BornYear: 1961, By: "marsh"}
	done := ep
	done.Version, done.State, done.ConfirmedBy, done.ConfirmedOn = 2, rom.Ongoing, "vega", day.Add(1)
	done.Procedures = []rom.Procedure{rom.CuffRepair, rom.BicepsTenodesis}
	phase := rom.Phase{Key: "passive", From: 28, Sling: rom.SlingDay, PainCap: 4,
		Limits:        []rom.Limit{{Motion: rom.ForwardFlexion, Class: rom.Passive, Ceiling: rom.Deg(90)}, {Motion: rom.HandBehindBack, Class: rom.Passive, Highest: rom.LevelL3}, {Motion: rom.ERSide, Class: rom.Passive, Open: true}},
		Prescriptions: []rom.Prescription{{Exercise: rom.TableSlideFlexion, Motion: rom.ForwardFlexion, Dose: rom.Dose{Hold: 20, Reps: 5, Rest: 10, PerDay: 3}}}}
	plan := rom.Plan{Episode: "e_1", Rev: 1, Protocol: []rom.ProtocolRef{{ID: "cuff-repair-small-medium", Version: 2}}, State: rom.Running, Phases: []rom.Phase{{Key: "protect"}, phase}, By: "vega", On: day, Reason: "Enrolled"}
	stop := plan
	stop.Rev, stop.Base, stop.State, stop.Reason = 2, 1, rom.Stopped, "Fell. <b>Stop</b> & ring"
	own := rom.Reading{Episode: "e_1", Side: rom.Left, Motion: rom.ForwardFlexion, Class: rom.Passive, Method: rom.Photo, Position: rom.Supine, Angle: 884, SE: rom.Deg(7),
		Trials: []rom.Trial{{Angle: rom.Deg(87)}, {Angle: rom.Deg(90)}}, Pain: &three, Session: "s1"}
	clinic := rom.Reading{Episode: "e_1", Side: rom.Left, Motion: rom.ER20, Class: rom.Passive, Method: rom.Goniometer, Position: rom.Supine, Angle: rom.Deg(-5), SE: rom.Deg(4), EndFeel: rom.FirmFeel, By: "quill", On: day.Add(29)}
	back := rom.Reading{Episode: "e_1", Side: rom.Right, Motion: rom.HandBehindBack, Class: rom.Active, Method: rom.LevelMethod, Level: rom.LevelT7, By: "quill", Baseline: true}
	gh := rom.Reading{Episode: "e_1", Side: rom.Left, Motion: rom.Abduction, Class: rom.Passive, Method: rom.Goniometer, Glenohumeral: true, Anaesthetic: true, Angle: rom.Deg(80), By: "vega"}
	helped := rom.Reading{Episode: "e_1", Side: rom.Left, Motion: rom.ForwardFlexion, Class: rom.ActiveAssisted, Method: rom.Tilt, Angle: rom.Deg(100)}
	session := rom.Session{Episode: "e_1", ID: "s1", Due: day.Add(30), Slot: 1, Phase: "passive", Seconds: 600, Ended: rom.StoppedByMe, Stop: rom.StopPain, Worst: &seven,
		Items: []rom.SessionItem{{Exercise: rom.TableSlideFlexion, Motion: rom.ForwardFlexion, Dose: rom.Dose{Hold: 20, Reps: 5}, Holds: []rom.Hold{{Tenths: 200, Counted: true}, {Tenths: 31}}}, {Exercise: rom.Pendulum, Skipped: rom.SkipPain}}}
	full := session
	full.ID, full.Ended, full.Stop = "s2", rom.Finished, ""
	amended := meta("c-clinic", 8)
	amended.Amended = rom.Ref{Author: "c-clinic", N: 9}
	return Input{
		Base: "https://clinic.test/fhir", Clinic: "Quay Shoulder Practice (invented)", Phone: "+353 20 911 0000", Patient: "p_A-1", Created: at,
		Staff: map[rom.StaffID]string{"vega": "Dr Ines Vega", "quill": "Ravi Quill", "marsh": "Dagny Marsh"}, Phones: []Phone{{"phone_1", "2026.11", true, at}, {"phone-2", "", false, at}},
		Person: &Person{"Ada \"O'Rowe\" Ó Briain", "N-77", "+353 20 900 0000", "1961-05-04", "en"},
		History: rom.History{
			Episodes: []rom.Entry[rom.Episode]{{Meta: meta("c-clinic", 1), Body: ep}, {Meta: meta("c-clinic", 2), Body: done}},
			Plans:    []rom.Entry[rom.Plan]{{Meta: meta("c-clinic", 3), Body: plan}, {Meta: meta("c-clinic", 4), Body: stop}},
			Readings: []rom.Entry[rom.Reading]{{Meta: meta("phone_1", 1), Body: own}, {Meta: meta("c-clinic", 5), Body: clinic}, {Meta: meta("c-clinic", 6), Body: back}, {Meta: meta("c-clinic", 7), Body: gh}, {Meta: amended, Body: helped}},
			Pains:    []rom.Entry[rom.Pain]{{Meta: meta("phone_1", 2), Body: rom.Pain{Episode: "e_1", Score: 10, When: rom.PainAtNight}}},
			Sessions: []rom.Entry[rom.Session]{{Meta: meta("phone_1", 3), Body: session}, {Meta: meta("phone_1", 4), Body: full}},
		},
	}
}

func pseudonym() Input {
	in := example()
	in.Person = nil
	return in
}

func marshal(t *testing.T, x any) []byte {
	t.Helper()
	raw, err := json.MarshalIndent(x, "", " ")
	if err != nil {
		t.Fatal(err)
	}
	return append(raw, '\n')
}

// The examples in testdata are what is written; google/fhir validates them in
// the module validate beside this package.
func TestExamplesAreUpToDate(t *testing.T) {
	outcome := Outcome("invalid", "the date is no date")
	search := NewBundle("searchset", "https://clinic.test/fhir", Write(example())[:5])
	total := 5
	search.Total, search.Link = &total, []Link{{"self", "https://clinic.test/fhir/Patient?_count=5"}}
	for name, x := range map[string]any{
		"bundle.json": NewBundle("collection", "https://clinic.test/fhir", Write(example())), "pseudonym.json": NewBundle("collection", "https://clinic.test/fhir", Write(pseudonym())),
		"search.json": search, "outcome.json": outcome,
	} {
		got := marshal(t, x)
		file := "testdata/" + name
		if *rewrite {
			if err := os.WriteFile(file, got, 0o644); err != nil {
				t.Fatal(err)
			}
		}
		want, err := os.ReadFile(file)
		if err != nil || !bytes.Equal(got, want) {
			t.Errorf("%s is not what is written today (%v); look at it and run with -args -rewrite", file, err)
		}
	}
}

// Every reference leads to a resource of the same bundle, every id is one that
// FHIR allows (R4 datatypes, id: [A-Za-z0-9\-\.]{1,64}) and stands there once, and
// every resource but people, clinic and provenance has its Provenance.
func TestBundleHangsTogether(t *testing.T) {
	list := Write(example())
	have, told := map[string]bool{}, map[string]bool{}
	valid := regexp.MustCompile(`^[A-Z][A-Za-z]+/[A-Za-z0-9\-.]{1,64}$`)
	kinds := map[string]int{}
	for _, r := range list {
		if !valid.MatchString(r.Ref()) || have[r.Ref()] {
			t.Errorf("the id of %s", r.Ref())
		}
		have[r.Ref()] = true
		kind, _, _ := strings.Cut(r.Ref(), "/")
		kinds[kind]++
		if p, ok := r.(Provenance); ok {
			told[p.Target[0].Reference] = true
		}
	}
	for _, m := range regexp.MustCompile(`"reference":"([^"]+)"`).FindAllStringSubmatch(string(compact(t, list)), -1) {
		if !have[m[1]] {
			t.Errorf("%s leads nowhere", m[1])
		}
	}
	for ref := range have {
		kind, _, _ := strings.Cut(ref, "/")
		if kind != "Provenance" && kind != "Practitioner" && kind != "Organization" && !told[ref] {
			t.Errorf("%s has no Provenance", ref)
		}
	}
	if kinds["Observation"] != 6 || kinds["Procedure"] != 4 || kinds["CarePlan"] != 2 || kinds["EpisodeOfCare"] != 1 || kinds["Device"] != 2 || kinds["Practitioner"] != 3 {
		t.Errorf("%v", kinds)
	}
}

func compact(t *testing.T, x any) []byte {
	t.Helper()
	raw, err := json.Marshal(x)
	if err != nil {
		t.Fatal(err)
	}
	return raw
}

// The codes: LOINC's say active or passive, so what is neither has none; what
// LOINC cannot tell apart (rotation at 20 and at the side) our own code does;
// UCUM deg in whole degrees; SNOMED CT for the side.
func TestCodesOfReadings(t *testing.T) {
	var got []string
	for _, r := range Write(example()) {
		o, ok := r.(Observation)
		if !ok {
			continue
		}
		line := ""
		for _, c := range o.Code.Coding {
			line += c.Code + " "
		}
		if o.ValueQuantity != nil {
			line += string(compact(t, o.ValueQuantity))
		} else {
			line += o.ValueCodeableConcept.Coding[0].Code
		}
		if o.BodySite != nil {
			line += " " + o.BodySite.Coding[0].Code
		}
		got = append(got, line+" "+o.Status+" "+o.EffectiveDateTime)
	}
	deg := func(n string) string {
		return `{"value":` + n + `,"unit":"degrees","system":"http://unitsofmeasure.org","code":"deg"}`
	}
	want := []string{
		"41390-6 FF-passive " + deg("88") + " 91775009 final 2026-03-02T11:00:00.000+01:00",
		"41388-0 ER20-passive " + deg("-5") + " 91775009 final 2026-03-02",
		"HBB-active T7 91774008 final 2026-03-02T16:00:00.000+01:00",
		"ABD-passive-glenohumeral " + deg("80") + " 91775009 final 2026-03-02T17:00:00.000+01:00",
		"FF-active-assisted " + deg("100") + " 91775009 amended 2026-03-02T18:00:00.000+01:00",
		`72514-3 {"value":10,"unit":"score","system":"http://unitsofmeasure.org","code":"{score}"} final 2026-03-02T12:00:00.000+01:00`,
	}
	if strings.Join(got, "\n") != strings.Join(want, "\n") {
		t.Errorf("%s\nwant\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
}

// LOINC Users' Guide, appendix: the check digit is by Mod 10 (Luhn).
func TestCheckDigits(t *testing.T) {
	all := []string{PainCode}
	for _, pair := range loinc {
		all = append(all, pair[0], pair[1])
	}
	for _, code := range all {
		body, digit, _ := strings.Cut(code, "-")
		sum := 0
		for i := range len(body) {
			n := int(body[len(body)-1-i] - '0')
			if i%2 == 0 {
				if n *= 2; n > 9 {
					n -= 9
				}
			}
			sum += n
		}
		if want := (10 - sum%10) % 10; digit != string(rune('0'+want)) {
			t.Errorf("%s: the check digit should be %d", code, want)
		}
	}
}

// A pseudonym tells no name, number, telephone and day of birth.
func TestPseudonymTellsNobody(t *testing.T) {
	text := string(compact(t, Write(pseudonym())))
	for _, bad := range []string{"Rowe", "N-77", "900 0000", "1961-05-04"} {
		if strings.Contains(text, bad) {
			t.Errorf("it holds %q", bad)
		}
	}
	if !strings.Contains(text, `"birthDate":"1961"`) {
		t.Error("the year of birth is missing")
	}
}

func TestIDs(t *testing.T) {
	for in, want := range map[string]string{"a_b-C9": "a.b-C9", "vega": "vega"} {
		if got := ID(in); got != want || string(PatientOf(got)) != in {
			t.Errorf("%q became %q", in, got)
		}
	}
	odd := map[string]bool{}
	for _, in := range []string{"", "a.b", "a b", "ñ", strings.Repeat("x", 65), "a/b"} {
		got := ID(in)
		if odd[got] || !strings.HasPrefix(got, "x.") || len(got) > 64 {
			t.Errorf("%q became %q", in, got)
		}
		odd[got] = true
	}
	if p, ok := OwnerOf(part("p_1", "x")); !ok || p != "p_1" {
		t.Errorf("%q %v", p, ok)
	}
	if _, ok := OwnerOf("short"); ok {
		t.Error("a short id has an owner")
	}
}

// What we write we read: the same person, the same operation.
func TestOwnBundleIsRead(t *testing.T) {
	list, skipped, err := ReadPatients(marshal(t, NewBundle("collection", "https://clinic.test/fhir", Write(example()))))
	if err != nil || len(list) != 1 {
		t.Fatal(list, err)
	}
	x := list[0]
	if x.Name != `Ada "O'Rowe" Ó Briain` || x.Born != "1961-05-04" || x.Number != "N-77" || x.Phone != "+353 20 900 0000" || x.Lang != "en" || x.Side != "left" ||
		x.Procedure != "cuff-repair" || !slices.Equal(x.Also, []string{"biceps-tenodesis"}) || x.Surgery != "2026-02-01" || len(x.Faults) != 0 || len(x.Notes) != 0 || x.Line < 10 {
		t.Errorf("%+v", x)
	}
	if skipped["Observation"] != 6 || skipped["Provenance"] == 0 {
		t.Errorf("%v", skipped)
	}
}

// A bundle of another system, after the Patient example of the R4
// specification (Peter James Chalmers): name by parts, references by fullUrl.
const chalmers = `{"resourceType":"Bundle","type":"collection","entry":[
{"fullUrl":"urn:uuid:1","resource":{"resourceType":"Patient","id":"example","identifier":[{"system":"urn:oid:1.2.36.146.595.217.0.1","value":"12345"}],
 "name":[{"use":"nickname","given":["Jim"]},{"use":"official","family":"Chalmers","given":["Peter","James"]}],"telecom":[{"system":"email","value":"x"},{"system":"phone","value":"(03) 5555 6473"}],
 "gender":"male","birthDate":"1974-12-25","communication":[{"language":{"coding":[{"system":"urn:ietf:bcp:47","code":"es-ES"}]}}]}},
{"fullUrl":"urn:uuid:2","resource":{"resourceType":"Procedure","status":"completed","code":{"text":"Cuff repair"},"subject":{"reference":"urn:uuid:1"},"performedPeriod":{"start":"2026-01-05T08:00:00Z"},"bodySite":[{"text":"Right shoulder"}]}},
{"resource":{"resourceType":"Procedure","status":"completed","code":{"text":"Appendectomy"},"subject":{"reference":"Patient/example"}}},
{"resource":{"resourceType":"Procedure","status":"not-done","code":{"text":"cuff-repair"},"subject":{"reference":"Patient/example"}}}]}`

func TestForeignBundle(t *testing.T) {
	list, _, err := ReadPatients([]byte(chalmers))
	if err != nil || len(list) != 1 {
		t.Fatal(list, err)
	}
	x := list[0]
	if x.Name != "Peter James Chalmers" || x.Number != "12345" || x.Phone != "(03) 5555 6473" || x.Lang != "es" || x.Side != "right" || x.Procedure != "cuff-repair" || x.Surgery != "2026-01-05" || x.Line != 2 {
		t.Errorf("%+v", x)
	}
	if len(x.Notes) != 2 || !strings.Contains(x.Notes[0], `"Appendectomy"`) {
		t.Errorf("%q", x.Notes)
	}
	two := strings.Replace(chalmers, `{"text":"Appendectomy"},`, `{"text":"Biceps tenodesis"},"performedDateTime":"2026-01-05","bodySite":[{"text":"left"}],`, 1)
	if list, _, _ := ReadPatients([]byte(two)); len(list[0].Faults) != 1 {
		t.Errorf("two sides: %+v", list[0])
	}
}

func TestHostileBundles(t *testing.T) {
	for what, c := range map[string]struct{ file, says string }{
		"empty":       {"", "not JSON"},
		"cut":         {chalmers[:200], "line 2"},
		"xml":         {"<Bundle/>", "it is XML"},
		"a patient":   {`{"resourceType":"Patient"}`, `it is a "Patient", not a Bundle`},
		"a list":      {`[]`, "not a FHIR Bundle"},
		"no entries":  {`{"resourceType":"Bundle"}`, "there is nothing in it"},
		"no patient":  {`{"resourceType":"Bundle","entry":[{"resource":{"resourceType":"Device"}}]}`, "there is no Patient"},
		"no resource": {"{\"resourceType\":\"Bundle\",\"entry\":[\n{}]}", "entry 1, line 2, is no resource"},
		"wrong form":  {`{"resourceType":"Bundle","entry":[{"resource":{"resourceType":"Patient","name":"Ada"}}]}`, "another form"},
		"huge":        {strings.Repeat(" ", MostBytes+1), "larger than"},
		"latin-1":     {"{\"a\":\"\xe9\"}", "not UTF-8"},
		"deep":        {strings.Repeat("[", 5000), "nests deeper"},
	} {
		_, _, err := ReadPatients([]byte(c.file))
		if !errors.Is(err, ErrBundle) || !strings.Contains(Why(err), c.says) {
			t.Errorf("%s: %v", what, err)
		}
	}
}

func FuzzReadPatients(f *testing.F) {
	f.Add([]byte(chalmers))
	f.Fuzz(func(t *testing.T, file []byte) {
		if _, _, err := ReadPatients(file); err != nil && !errors.Is(err, ErrBundle) {
			t.Fatal(err)
		}
	})
}
