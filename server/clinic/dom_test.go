package clinic

import (
	"encoding/xml"
	"io"
	"net/url"
	"slices"
	"strings"
	"testing"
)

// node is an element of a page as a browser would see it: what stands in a
// text or an attribute has been unescaped, what became an element is one.
type node struct {
	name string
	attr map[string]string
	text string // of this element alone
	kids []*node
	up   *node
}

// parsePage reads a page. Go's decoder takes our own HTML with void elements
// and bare attributes declared.
func parsePage(t testing.TB, page string) *node {
	t.Helper()
	d := xml.NewDecoder(strings.NewReader(page))
	d.Strict, d.AutoClose, d.Entity = false, xml.HTMLAutoClose, xml.HTMLEntity
	root := &node{name: "#"}
	at := root
	for {
		tok, err := d.Token()
		if err == io.EOF {
			return root
		}
		if err != nil {
			t.Fatalf("the page is not well formed: %v", err)
		}
		switch x := tok.(type) {
		case xml.StartElement:
			n := &node{name: x.Name.Local, attr: map[string]string{}, up: at}
			for _, a := range x.Attr {
				n.attr[a.Name.Local] = a.Value
			}
			at.kids = append(at.kids, n)
			at = n
		case xml.EndElement:
			if at.up != nil {
				at = at.up
			}
		case xml.CharData:
			at.text += string(x)
			at.kids = append(at.kids, &node{name: "#text", text: string(x), up: at})
		}
	}
}

// all returns the elements below n for which ok holds, in order.
func (n *node) all(ok func(*node) bool) (out []*node) {
	for _, k := range n.kids {
		if ok(k) {
			out = append(out, k)
		}
		out = append(out, k.all(ok)...)
	}
	return out
}

func (n *node) named(name string) []*node {
	return n.all(func(k *node) bool { return k.name == name })
}

// words is the text of n and everything below it in reading order, blanks
// folded.
func (n *node) words() string {
	var b strings.Builder
	var walk func(*node)
	walk = func(k *node) {
		if k.name == "#text" {
			b.WriteString(k.text)
		}
		for _, x := range k.kids {
			walk(x)
		}
		switch k.name {
		case "#text", "a", "b", "bdi", "strong", "small", "span", "code":
		default:
			b.WriteString(" ")
		}
	}
	walk(n)
	return strings.Join(strings.Fields(b.String()), " ")
}

// form finds the form that has a button of the value, else the one with a
// field of that name.
func (n *node) form(t testing.TB, want string) *node {
	t.Helper()
	for _, f := range n.named("form") {
		for _, b := range f.all(func(k *node) bool { return k.name == "button" || k.attr["name"] != "" }) {
			if b.attr["value"] == want && b.name == "button" || b.attr["name"] == want {
				return f
			}
		}
	}
	t.Fatalf("there is no form with %q on this page: %s", want, n.words())
	return nil
}

// values is what a browser would send of a form before anything is typed.
func (f *node) values() url.Values {
	out := url.Values{}
	for _, k := range f.all(func(*node) bool { return true }) {
		name := k.attr["name"]
		_, disabled := k.attr["disabled"]
		if name == "" || disabled {
			continue
		}
		_, checked := k.attr["checked"]
		switch {
		case k.name == "input" && (k.attr["type"] == "checkbox" || k.attr["type"] == "radio"):
			if checked {
				out.Add(name, k.attr["value"])
			}
		case k.name == "input":
			out.Add(name, k.attr["value"])
		case k.name == "textarea":
			out.Add(name, k.text)
		case k.name == "select":
			options := k.named("option")
			at := slices.IndexFunc(options, func(o *node) bool { _, ok := o.attr["selected"]; return ok })
			if len(options) > 0 {
				o := options[max(at, 0)]
				v, ok := o.attr["value"]
				if !ok {
					v = o.text
				}
				out.Add(name, v)
			}
		}
	}
	return out
}

// says reports whether the page shows an alert or status with the text.
func (n *node) says(role, text string) bool {
	return slices.ContainsFunc(n.all(func(k *node) bool { return k.attr["role"] == role }), func(k *node) bool {
		return strings.Contains(k.words(), text)
	})
}
