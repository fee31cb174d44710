package clinic

import (
	"archive/zip"
	"bytes"
	"fmt"
	"strconv"
)

// zipFile is one file of a download.
type zipFile struct {
	name string
	text []byte
}

// zipped packs files; their time is the visit's.
func (v *visit) zipped(files []zipFile) ([]byte, error) {
	var out bytes.Buffer
	z := zip.NewWriter(&out)
	for _, f := range files {
		w, err := z.CreateHeader(&zip.FileHeader{Name: f.name, Method: zip.Deflate, Modified: v.at})
		if err == nil {
			_, err = w.Write(f.text)
		}
		if err != nil {
			return nil, fmt.Errorf("pack files: %w", err)
		}
	}
	if err := z.Close(); err != nil {
		return nil, fmt.Errorf("pack files: %w", err)
	}
	return out.Bytes(), nil
}

func (v *visit) sendZip(name string, files []zipFile) error {
	data, err := v.zipped(files)
	if err != nil {
		return err
	}
	v.send(name, "application/zip", data)
	return nil
}

// send gives out a file to be kept, never shown in the browser.
func (v *visit) send(name, kind string, data []byte) {
	h := v.w.Header()
	h.Set("Content-Type", kind)
	h.Set("Content-Disposition", `attachment; filename="`+exportName(name)+`"`)
	h.Set("Content-Length", strconv.Itoa(len(data)))
	_, _ = v.w.Write(data)
}
