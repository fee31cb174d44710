package browsertest

import (
	"os"
	"path/filepath"
	"strings"
)

// noTrace searches what the phones of the journey have stored, as the browser keeps it: the patients' names, the date of birth,
// the operation, and what records say must not be there in clear (ASVS 5.0, 14.3.3; the deviation is named in server/manual/security.md).
func (j *journey) noTrace() {
	words := append([]string{
		"Runa Vole", "1958-02-03", j.inv.Patient, "cuff", "Cuff", "subscap", // who, and what was done
		`"kind":`, `"tenths"`, "extended", "Please come in", "Less for now", `"angle"`, `"plan"`, // what a record line says
	}, strings.Fields(j.inv.Patient)[0])
	p := j.busy
	var raw string
	p.Eval(readRaw, &raw)
	if !strings.Contains(raw, "data-key") || len(j.kept) == 0 || !strings.Contains(raw, "unsling") {
		j.t.Fatalf("the database was not read: %d bytes", len(raw))
	}
	for _, w := range words {
		if i := strings.Index(raw, w); i >= 0 {
			j.t.Errorf("the browser's storage holds %q: ...%q...", w, raw[max(0, i-60):min(len(raw), i+60)])
		}
	}
	// The same in the browser's own files, which keep what was written before as well. They may be compressed in blocks, so
	// that a miss there proves less; a hit proves all.
	files, found := 0, 0
	err := filepath.WalkDir(j.profile, func(path string, d os.DirEntry, err error) error {
		if err != nil || d.IsDir() || !strings.Contains(path, "IndexedDB") && !strings.Contains(path, "Local Storage") {
			return nil
		}
		data, err := os.ReadFile(path)
		if err != nil {
			return nil // a lock file, or gone meanwhile
		}
		files++
		if strings.Contains(string(data), "data-key") || strings.Contains(string(data), "unsling") {
			found++
		}
		for _, w := range words {
			if strings.Contains(string(data), w) {
				j.t.Errorf("%s holds %q", filepath.Base(path), w)
			}
		}
		return nil
	})
	if err != nil || files == 0 || found == 0 {
		j.t.Errorf("%d files of the profile were searched, %d are ours: %v", files, found, err)
	}
}
