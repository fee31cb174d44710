package validate

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/fhir/go/fhirversion"
	"github.com/google/fhir/go/jsonformat"
)

func unmarshaller(t *testing.T) *jsonformat.Unmarshaller {
	t.Helper()
	u, err := jsonformat.NewUnmarshaller("UTC", fhirversion.R4)
	if err != nil {
		t.Fatal(err)
	}
	return u
}

// FHIR R4 (4.0.1) by google/fhir jsonformat v0.7.4.
func TestExamplesAreFHIR(t *testing.T) {
	u := unmarshaller(t)
	files, err := filepath.Glob("../testdata/*.json")
	if err != nil || len(files) < 5 {
		t.Fatalf("only %d examples (%v)", len(files), err)
	}
	if more := os.Getenv("UNSLING_FHIR"); more != "" { // what a running server answered
		own, err := filepath.Glob(filepath.Join(more, "*.json"))
		if err != nil || len(own) == 0 {
			t.Fatalf("nothing in %s (%v)", more, err)
		}
		files = append(files, own...)
	}
	for _, name := range files {
		raw, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := u.Unmarshal(raw); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		// One resource a line, as the export of all patients has them.
		var b struct {
			Entry []struct {
				Resource json.RawMessage `json:"resource"`
			} `json:"entry"`
		}
		if err := json.Unmarshal(raw, &b); err != nil {
			t.Fatal(err)
		}
		for i, e := range b.Entry {
			var line bytes.Buffer
			if err := json.Compact(&line, e.Resource); err != nil {
				t.Fatal(err)
			}
			if _, err := u.Unmarshal(line.Bytes()); err != nil {
				t.Errorf("%s, resource %d: %v", name, i, err)
			}
		}
	}
}

// A validator that lets everything pass would pass every example: what is
// broken here must be refused.
func TestFaultsAreRefused(t *testing.T) {
	u := unmarshaller(t)
	raw, err := os.ReadFile("../testdata/bundle.json")
	if err != nil {
		t.Fatal(err)
	}
	for what, change := range map[string][2]string{
		"status of an observation": {`"status": "final"`, `"status": "done"`},
		"an unknown member":        {`"status": "final"`, `"status": "final", "angle": 90`},
		"a missing code":           {`"intent": "plan",`, ``},
		"a date":                   {`"birthDate": "1961-05-04"`, `"birthDate": "4.5.1961"`},
		"an instant":               {`"recorded": "2026-`, `"recorded": "26-`},
		"a reference's type":       {"\"subject\": {\n     \"reference\": \"Patient/p.A-1\"", "\"subject\": {\n     \"reference\": \"Observation/p.A-1\""},
		"a quantity's value":       {`"value": 88`, `"value": "88"`},
		"an id":                    {`"id": "p.A-1"`, `"id": "p_A 1"`},
		"a period's unit":          {`"periodUnit": "d"`, `"periodUnit": "day"`},
	} {
		if !strings.Contains(string(raw), change[0]) {
			t.Errorf("%s: the example has no %s", what, change[0])
			continue
		}
		bad := strings.Replace(string(raw), change[0], change[1], 1)
		if _, err := u.Unmarshal([]byte(bad)); err == nil {
			t.Errorf("%s: nothing is refused", what)
		}
	}
}
