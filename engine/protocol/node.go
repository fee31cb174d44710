package protocol

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strconv"
)

// node is one JSON value with the line on which it ends and its path, so that
// every fault can name its place.
type node struct {
	line  int
	path  string
	value any // string, json.Number, bool or nil of a scalar
	keys  []string
	obj   map[string]*node // of an object
	arr   []*node          // of an array
	kind  byte             // '{', '[' or 's'
}

const (
	maxFile  = 256 << 10
	maxDepth = 12
)

// tree reads one JSON value. A fault names the line where reading stopped.
type treeReader struct {
	dec    *json.Decoder
	data   []byte
	at     int64 // offset up to which lines are counted
	line   int
	faults []Fault
}

func readTree(data []byte) (*node, []Fault) {
	if len(data) > maxFile {
		return nil, []Fault{{1, "", "the file is longer than a protocol can be"}}
	}
	t := &treeReader{dec: json.NewDecoder(bytes.NewReader(data)), data: data, line: 1}
	t.dec.UseNumber()
	n, err := t.value("", 0)
	if err == nil {
		if _, err = t.dec.Token(); err == io.EOF {
			return n, t.faults
		}
		err = errors.New("there is something after the end of the protocol")
	}
	at := t.dec.InputOffset()
	var syntax *json.SyntaxError
	if errors.As(err, &syntax) {
		at = syntax.Offset
	}
	reason := "is not JSON: " + err.Error()
	if err == io.EOF || err == io.ErrUnexpectedEOF {
		reason = "is not JSON: the file ends too early"
	}
	return nil, append(t.faults, Fault{t.lineAt(at), "", reason})
}

// lineAt returns the line of an offset; offsets must not fall.
func (t *treeReader) lineAt(offset int64) int {
	offset = min(offset, int64(len(t.data)))
	if offset > t.at {
		t.line += bytes.Count(t.data[t.at:offset], []byte{'\n'})
		t.at = offset
	}
	return t.line
}

func (t *treeReader) value(path string, depth int) (*node, error) {
	if depth > maxDepth {
		return nil, errors.New("it is nested too deeply")
	}
	tok, err := t.dec.Token()
	if err != nil {
		return nil, err
	}
	n := &node{line: t.lineAt(t.dec.InputOffset()), path: path, kind: 's', value: tok}
	switch tok {
	case json.Delim('{'):
		n.kind, n.value, n.obj = '{', nil, map[string]*node{}
		for t.dec.More() {
			k, err := t.dec.Token()
			if err != nil {
				return nil, err
			}
			key, _ := k.(string)
			p := key
			if path != "" {
				p = path + "." + key
			}
			child, err := t.value(p, depth+1)
			if err != nil {
				return nil, err
			}
			if _, twice := n.obj[key]; twice {
				t.faults = append(t.faults, Fault{child.line, p, "is given twice"})
				continue
			}
			n.obj[key], n.keys = child, append(n.keys, key)
		}
		_, err = t.dec.Token()
	case json.Delim('['):
		n.kind, n.value = '[', nil
		for t.dec.More() {
			child, err := t.value(fmt.Sprintf("%s[%d]", path, len(n.arr)), depth+1)
			if err != nil {
				return nil, err
			}
			n.arr = append(n.arr, child)
		}
		_, err = t.dec.Token()
	}
	return n, err
}

// object reads the fields of one object and reports those it does not know.
type object struct {
	n     *node
	r     *fileReader
	known map[string]bool
}

type fileReader struct{ faults []Fault }

func (r *fileReader) fault(line int, path, reason string, args ...any) {
	r.faults = append(r.faults, Fault{line, path, fmt.Sprintf(reason, args...)})
}

// object returns n as an object; anything else is a fault and reads as empty.
func (r *fileReader) object(n *node) *object {
	if n.kind != '{' {
		r.fault(n.line, n.path, "must be an object in braces")
		n = &node{line: n.line, path: n.path, kind: '{', obj: map[string]*node{}}
	}
	return &object{n: n, r: r, known: map[string]bool{}}
}

func (o *object) path(key string) string {
	if o.n.path == "" {
		return key
	}
	return o.n.path + "." + key
}

func (o *object) get(key string, required bool) *node {
	o.known[key] = true
	n := o.n.obj[key]
	if n == nil && required {
		o.r.fault(o.n.line, o.path(key), "is missing")
	}
	return n
}

func (o *object) text(key string, required bool) string {
	n := o.get(key, required)
	if n == nil {
		return ""
	}
	s, ok := n.value.(string)
	if !ok || (required && s == "") {
		o.r.fault(n.line, n.path, "must be a text in quotes")
	}
	return s
}

func (o *object) integer(key string, required bool) int {
	n := o.get(key, required)
	if n == nil {
		return 0
	}
	num, _ := n.value.(json.Number)
	i, err := strconv.Atoi(string(num))
	if err != nil {
		o.r.fault(n.line, n.path, "must be a whole number")
	}
	return i
}

func (o *object) boolean(key string) bool {
	n := o.get(key, false)
	if n == nil {
		return false
	}
	b, ok := n.value.(bool)
	if !ok {
		o.r.fault(n.line, n.path, "must be true or false")
	}
	return b
}

func (o *object) list(key string, required bool) []*node {
	n := o.get(key, required)
	if n == nil {
		return nil
	}
	if n.kind != '[' {
		o.r.fault(n.line, n.path, "must be a list in brackets")
	}
	return n.arr
}

func (o *object) texts(key string) []string {
	var out []string
	for _, n := range o.list(key, false) {
		s, ok := n.value.(string)
		if !ok || s == "" {
			o.r.fault(n.line, n.path, "must be a text in quotes")
			continue
		}
		out = append(out, s)
	}
	return out
}

// done reports the fields nobody asked for: a slip of the hand in a name
// must not pass for a value left out.
func (o *object) done() {
	for _, k := range o.n.keys {
		if !o.known[k] {
			o.r.fault(o.n.obj[k].line, o.path(k), "is not a field of a protocol file")
		}
	}
}
