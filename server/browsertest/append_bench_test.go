package browsertest

import (
	"strconv"
	"strings"
	"testing"
)

// BenchmarkBudgetAppend runs the benchmark of the phone's journal in Chromium:
// an append, encrypted and strict, against a bare strict put. The budget is
// 1.5 times; of three runs the middle one counts.
func BenchmarkBudgetAppend(b *testing.B) {
	browser := Start(b, "")
	seen := map[string][]float64{}
	for b.Loop() {
		for range 3 { // each is nine rounds of its own
			out, code := browser.goTest("unsling/wasm/idb", -1, []string{"-test.run=^$", "-test.bench=^BenchmarkAppend$", "-test.benchtime=1x"})
			if code != 0 {
				b.Fatalf("exit code %d: %s", code, out)
			}
			words := strings.Fields(out)
			for i := 1; i < len(words); i++ {
				if unit := words[i]; unit == "times-a-put" || unit == "us-put" || unit == "us-append" {
					v, err := strconv.ParseFloat(words[i-1], 64)
					if err != nil {
						b.Fatal(err)
					}
					seen[unit] = append(seen[unit], v)
				}
			}
		}
	}
	if len(seen["times-a-put"]) == 0 {
		b.Fatal("the benchmark measured nothing")
	}
	b.ReportMetric(1.5, "budget-x")
	b.ReportMetric(middle(seen["times-a-put"]), "measured-x")
	b.ReportMetric(middle(seen["us-put"]), "us-put")
	b.ReportMetric(middle(seen["us-append"]), "us-append")
}
