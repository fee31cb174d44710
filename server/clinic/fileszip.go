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
	if err := v.stream(data); err != nil {
		v.desk.Log.Error("a download broke off", "route", v.r.Pattern)
	}
}

// chunk is how much of a download goes out within one time limit.
const chunk = 64 << 10

// stream writes a long answer piece by piece. Each piece has the time that the
// server gives a whole answer otherwise: who reads slowly gets all of it, who
// has stopped reading holds nobody up for long.
func (v *visit) stream(data []byte) error {
	for len(data) > 0 {
		n := min(len(data), chunk)
		v.moreTime()
		if _, err := v.w.Write(data[:n]); err != nil {
			return fmt.Errorf("send a download: %w", err)
		}
		data = data[n:]
	}
	return nil
}

// moreTime gives what is written next the whole time limit of an answer.
func (v *visit) moreTime() {
	if v.desk.MoreTime != nil {
		v.desk.MoreTime(v.w)
	}
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
