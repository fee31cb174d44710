package clinic

import (
	"archive/zip"
	"bytes"
	"compress/flate"
	"fmt"
	"hash/crc32"
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

// growing is a file of a download that is packed while it is written, so that
// only its packed form is held.
type growing struct {
	name string
	out  bytes.Buffer
	pack *flate.Writer
	head zip.FileHeader
}

func newGrowing(name string) *growing {
	g := &growing{name: name}
	g.pack, _ = flate.NewWriter(&g.out, flate.DefaultCompression) // the level is a good one
	return g
}

func (g *growing) Write(b []byte) (int, error) {
	g.head.CRC32 = crc32.Update(g.head.CRC32, crc32.IEEETable, b)
	g.head.UncompressedSize64 += uint64(len(b))
	return g.pack.Write(b)
}

// into ends the file and puts it into an archive.
func (g *growing) into(z *zip.Writer) error {
	if err := g.pack.Close(); err != nil {
		return err
	}
	g.head.Name, g.head.Method, g.head.CompressedSize64 = g.name, zip.Deflate, uint64(g.out.Len())
	w, err := z.CreateRaw(&g.head)
	if err != nil {
		return err
	}
	_, err = w.Write(g.out.Bytes())
	return err
}
