//go:build js && wasm

package idb

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"syscall/js"

	"unsling/wasm/internal/jsrun"
)

// What the journal keeps is encrypted by AES-256-GCM (NIST SP 800-38D) under a key of the browser's that no program can read
// out, with 96 random bits as nonce for each value and the value's place as associated data, so that no value can stand for
// another. It keeps what is written on the phone from who copies the browser's files. It is no guard against a program that
// runs in this page, nor against who can unlock the phone and open the app.

// The key lies in the store meta beside a known text under it, written in one transaction: a key that does not open the text
// is not the one that the rest was written with.
var (
	dataKey  = Name("data-key")
	keyCheck = Name("data-key.check")
)

const (
	nonceSize = 12
	tagSize   = 16
	known     = "unsling"
)

// mark1 stands before an encrypted small value or picture. What was written before there was encryption cannot begin so.
var mark1 = []byte("\x00unsling-1\x00")

// cipher encrypts and decrypts under one key.
type cipher struct{ key js.Value }

// piece is one value and the place that it belongs to.
type piece struct {
	place string
	data  []byte // plain, or nonce and ciphertext
}

func placeOf(s Store, name string) string { return string(s) + "\x00" + name }

// openCipher finds the key, or makes one where nothing has been encrypted yet. ErrKeyLost: there are encrypted values and no
// key that opens them.
func openCipher(ctx context.Context, db *DB) (*cipher, error) {
	for range 2 { // another window may make the key between our look and our try
		key, err := db.GetValue(ctx, Meta, dataKey)
		if err != nil {
			return nil, err
		}
		check, err := db.Get(ctx, Meta, keyCheck)
		if err != nil {
			return nil, err
		}
		if key.Truthy() || check != nil {
			c := &cipher{key}
			if !key.Truthy() || !c.opensCheck(ctx, check) {
				return nil, ErrKeyLost
			}
			return c, nil
		}
		if any, err := db.anyEncrypted(ctx); err != nil {
			return nil, err
		} else if any {
			return nil, ErrKeyLost
		}
		c, err := makeCipher(ctx, db)
		if err == nil || !errors.Is(err, ErrExists) {
			return c, err
		}
	}
	return nil, ErrKeyLost
}

func makeCipher(ctx context.Context, db *DB) (*cipher, error) {
	subtle, err := subtle()
	if err != nil {
		return nil, err
	}
	how := map[string]any{"name": "AES-GCM", "length": 256}
	key, err := jsrun.CallAwait(ctx, subtle, "generateKey", how, false, []any{"encrypt", "decrypt"})
	if err != nil {
		return nil, fmt.Errorf("make the key of the records: %w", err)
	}
	c := &cipher{key}
	check, err := c.encryptItem(ctx, Meta, keyCheck.name, []byte(known))
	if err != nil {
		return nil, err
	}
	if err := db.Write(ctx, nil, AddValue(Meta, dataKey, key), Add(Meta, keyCheck, check)); err != nil {
		return nil, fmt.Errorf("keep the key of the records: %w", err)
	}
	return c, nil
}

func (c *cipher) opensCheck(ctx context.Context, check []byte) bool {
	plain, err := c.decryptItem(ctx, Meta, keyCheck.name, check)
	return err == nil && string(plain) == known
}

// anyEncrypted reports whether anything in the database was encrypted.
func (d *DB) anyEncrypted(ctx context.Context) (bool, error) {
	for _, s := range []Store{Meta, Blobs} {
		names, err := d.Names(ctx, s)
		if err != nil {
			return false, err
		}
		for _, n := range names {
			if v, err := d.Get(ctx, s, Name(n)); err != nil || bytes.HasPrefix(v, mark1) {
				return err == nil, err
			}
		}
	}
	found := false
	err := d.eachStored(ctx, func(list []stored) error {
		for _, s := range list {
			found = found || s.encrypted
		}
		return nil
	})
	return found, err
}

func subtle() (js.Value, error) {
	crypto, err := jsrun.Get(js.Global(), "crypto")
	if err != nil || crypto.Type() != js.TypeObject || crypto.Get("subtle").Type() != js.TypeObject {
		return js.Undefined(), fmt.Errorf("%w: no Web Cryptography (the page must come over https or from localhost)", ErrRefused)
	}
	return crypto.Get("subtle"), nil
}

// encrypt gives nonce and ciphertext of each piece.
func (c *cipher) encrypt(ctx context.Context, list []piece) ([][]byte, error) {
	nonces, err := chance(len(list) * nonceSize)
	if err != nil {
		return nil, err
	}
	out := make([][]byte, len(list))
	results, err := c.each(ctx, "encrypt", list, func(i int) (nonce, data []byte) {
		return nonces[i*nonceSize : (i+1)*nonceSize], list[i].data
	})
	if err != nil {
		return nil, err
	}
	for i, r := range results {
		if r.err != nil {
			return nil, fmt.Errorf("encrypt: %w", r.err)
		}
		out[i] = append(nonces[i*nonceSize:(i+1)*nonceSize:(i+1)*nonceSize], r.data...)
	}
	return out, nil
}

// decrypt gives the plain data of each piece, nil for one that is damaged or stands in a wrong place. When the browser cannot
// decrypt at all the error says so, and nothing is called damaged.
func (c *cipher) decrypt(ctx context.Context, list []piece) ([][]byte, error) {
	results, err := c.each(ctx, "decrypt", list, func(i int) (nonce, data []byte) {
		if len(list[i].data) < nonceSize+tagSize {
			return nil, nil
		}
		return list[i].data[:nonceSize], list[i].data[nonceSize:]
	})
	if err != nil {
		return nil, err
	}
	out := make([][]byte, len(list))
	bad := false
	for i, r := range results {
		switch {
		case r.err == nil:
			out[i] = r.data
		case jsrun.Named(r.err, "OperationError"): // Web Cryptography, section 27.7: the tag does not fit
			bad = true
		default:
			return nil, fmt.Errorf("decrypt: %w", r.err)
		}
	}
	if bad { // a browser that fails altogether must not turn every record into a damaged one
		probe, err := c.encryptItem(ctx, Meta, "", []byte(known))
		if err != nil {
			return nil, err
		}
		if r, err := c.each(ctx, "decrypt", []piece{{placeOf(Meta, ""), nil}}, func(int) (nonce, data []byte) {
			return probe[len(mark1) : len(mark1)+nonceSize], probe[len(mark1)+nonceSize:]
		}); err != nil || r[0].err != nil {
			return nil, errors.Join(errors.New("decrypt: the browser does not"), err)
		}
	}
	return out, nil
}

type result struct {
	data []byte
	err  error
}

// each runs a method of Web Cryptography over all pieces at once.
func (c *cipher) each(ctx context.Context, method string, list []piece, part func(i int) (nonce, data []byte)) ([]result, error) {
	subtle, err := subtle()
	if err != nil {
		return nil, err
	}
	promises := js.Global().Get("Array").New(len(list))
	err = jsrun.Try(func() error {
		for i, p := range list {
			nonce, data := part(i)
			how := js.Global().Get("Object").New()
			how.Set("name", "AES-GCM")
			how.Set("iv", jsrun.ToJS(nonce))
			how.Set("additionalData", jsrun.ToJS([]byte(p.place)))
			promises.SetIndex(i, subtle.Call(method, how, c.key, jsrun.ToJS(data)))
		}
		return nil
	})
	if err != nil {
		return nil, fmt.Errorf("%s: %w", method, err)
	}
	settled, err := jsrun.CallAwait(ctx, js.Global().Get("Promise"), "allSettled", promises)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", method, err)
	}
	out := make([]result, len(list))
	for i := range out {
		s := settled.Index(i)
		if reason := s.Get("reason"); !reason.IsUndefined() {
			out[i].err = jsrun.FromValue(reason)
			continue
		}
		data, ok := jsrun.ToGo(s.Get("value"))
		if !ok {
			return nil, fmt.Errorf("%s: the browser gave no bytes", method)
		}
		out[i].data = data
	}
	return out, nil
}

// encryptItem gives the stored form of a small value or picture.
func (c *cipher) encryptItem(ctx context.Context, s Store, name string, plain []byte) ([]byte, error) {
	out, err := c.encrypt(ctx, []piece{{placeOf(s, name), plain}})
	if err != nil {
		return nil, err
	}
	return append(bytes.Clone(mark1), out[0]...), nil
}

// decryptItem reads a stored small value or picture; one from before there was encryption is given as it is.
func (c *cipher) decryptItem(ctx context.Context, s Store, name string, packed []byte) ([]byte, error) {
	data, encrypted := bytes.CutPrefix(packed, mark1)
	if !encrypted {
		return packed, nil
	}
	out, err := c.decrypt(ctx, []piece{{placeOf(s, name), data}})
	if err == nil && out[0] == nil {
		err = errUnreadable
	}
	if err != nil {
		return nil, err
	}
	return out[0], nil
}

// chance gives n random bytes of the browser's.
func chance(n int) (b []byte, err error) {
	const most = 65536 // of one call
	b = make([]byte, n)
	err = jsrun.Try(func() error {
		for at := 0; at < n; at += most {
			part := js.Global().Get("Uint8Array").New(min(most, n-at))
			js.Global().Get("crypto").Call("getRandomValues", part)
			js.CopyBytesToGo(b[at:], part)
		}
		return nil
	})
	return b, err
}
