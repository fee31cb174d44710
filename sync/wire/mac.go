package wire

import (
	"crypto/hmac"
	"crypto/sha256"
	"encoding/base64"
	"fmt"

	"unsling/engine/rom"
)

// Seal returns the line of a clinic record with the clinic's MAC at its end:
// HMAC-SHA-256 over the patient's id, a zero byte and the line as it is
// without the mac. The key lives outside the store, so that lines which come
// back from phones after a restore can be told from invented ones, and the
// patient's id keeps a line from being returned into another log.
func Seal(r Record, key []byte, p rom.PatientID) ([]byte, error) {
	r.MAC = ""
	bare, err := Encode(r)
	if err != nil {
		return nil, err
	}
	r.MAC = seal(bare, key, p)
	line, err := Encode(r)
	if err != nil {
		return nil, fmt.Errorf("seal: %w", err)
	}
	return line, nil
}

// Sealed reports whether line is a record that Seal made with key for p.
func Sealed(line, key []byte, p rom.PatientID) bool {
	r, err := Decode(line)
	if err != nil || r.MAC == "" {
		return false
	}
	mac := r.MAC
	r.MAC = ""
	return hmac.Equal([]byte(mac), []byte(seal(appendRecord(nil, r), key, p)))
}

func seal(bare, key []byte, p rom.PatientID) string {
	h := hmac.New(sha256.New, key)
	h.Write([]byte(p))
	h.Write([]byte{0})
	h.Write(bare)
	return base64.RawURLEncoding.EncodeToString(h.Sum(nil))
}
