package clinic

import (
	"bytes"
	"encoding/json"
	"flag"
	"go/ast"
	"go/parser"
	"go/token"
	"os"
	"path/filepath"
	"reflect"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"unsling/sync/wire"
)

var rewriteDictionary = flag.Bool("rewrite-dictionary", false, "write paper/dictionary.json anew from the sources")

// source is the types of the records as their source describes them.
type source struct {
	types  map[string]*ast.TypeSpec
	docs   map[string]string
	values map[string][]dictionaryValue // of the closed enumerations
	texts  map[string]bool              // types that are written as text
	form   map[string]string            // types that are written in a form of their own
}

func readSource(t *testing.T, dirs ...string) *source {
	t.Helper()
	s := &source{map[string]*ast.TypeSpec{}, map[string]string{}, map[string][]dictionaryValue{}, map[string]bool{}, map[string]string{}}
	for _, dir := range dirs {
		paths, err := filepath.Glob(filepath.Join(dir, "*.go"))
		if err != nil || len(paths) == 0 {
			t.Fatal("no sources in ", dir)
		}
		for _, path := range paths {
			if strings.HasSuffix(path, "_test.go") {
				continue
			}
			f, err := parser.ParseFile(token.NewFileSet(), path, nil, parser.ParseComments)
			if err != nil {
				t.Fatal(err)
			}
			for _, group := range f.Comments {
				if text := group.Text(); strings.Contains(text, "So the JSON of a plan keeps") {
					s.form["Plan"] = text
				}
			}
			for _, d := range f.Decls {
				s.take(d)
			}
		}
	}
	return s
}

func (s *source) take(d ast.Decl) {
	if f, ok := d.(*ast.FuncDecl); ok && f.Recv != nil && f.Name.Name == "MarshalText" {
		if x, ok := f.Recv.List[0].Type.(*ast.Ident); ok {
			s.texts[x.Name] = true
		}
	}
	g, ok := d.(*ast.GenDecl)
	if !ok {
		return
	}
	for _, spec := range g.Specs {
		switch x := spec.(type) {
		case *ast.TypeSpec:
			s.types[x.Name.Name] = x
			s.docs[x.Name.Name] = oneSpace(g.Doc.Text() + x.Doc.Text())
		case *ast.ValueSpec:
			kind, ok := x.Type.(*ast.Ident)
			if !ok || g.Tok != token.CONST {
				continue
			}
			for _, v := range x.Values {
				if lit, ok := v.(*ast.BasicLit); ok && lit.Kind == token.STRING {
					text, _ := strconv.Unquote(lit.Value)
					s.values[kind.Name] = append(s.values[kind.Name], dictionaryValue{text, oneSpace(x.Doc.Text() + " " + x.Comment.Text())})
				}
			}
		}
	}
}

func oneSpace(s string) string { return strings.Join(strings.Fields(s), " ") }

// fields lists what a struct is written as, with the path of each.
func (s *source) fields(t *testing.T, name, path string) (out []dictionaryField) {
	t.Helper()
	st, ok := s.types[name].Type.(*ast.StructType)
	if !ok {
		t.Fatalf("%s is no struct", name)
	}
	for _, f := range st.Fields.List {
		if f.Tag == nil {
			t.Fatalf("a field of %s has no name in JSON", name)
		}
		tag, _ := strconv.Unquote(f.Tag.Value)
		key, rest, _ := strings.Cut(reflect.StructTag(tag).Get("json"), ",")
		if key == "-" {
			continue
		}
		means := oneSpace(f.Doc.Text() + " " + f.Comment.Text())
		if means == "" && len(f.Names) > 0 && f.Names[0].Name == "By" {
			means = "The member of staff."
		}
		out = append(out, s.field(t, path+key, f.Type, means, strings.Contains(rest, "omit"))...)
	}
	return out
}

func (s *source) field(t *testing.T, path string, x ast.Expr, means string, may bool) []dictionaryField {
	t.Helper()
	switch x := x.(type) {
	case *ast.StarExpr:
		return s.field(t, path, x.X, means, true)
	case *ast.ArrayType:
		return s.field(t, path+"[]", x.Elt, means, may)
	case *ast.MapType:
		return s.field(t, path+".*", x.Value, means, may)
	case *ast.SelectorExpr:
		kind := map[string]string{"RawMessage": "JSON", "Time": "instant, RFC 3339", "Ref": "reference {author, n}", "Weekday": "day of the week, 0 is Sunday"}[x.Sel.Name]
		if kind == "" {
			t.Fatalf("%s: no word for %s", path, x.Sel.Name)
		}
		return []dictionaryField{{Path: path, Type: kind, Means: means, May: may}}
	case *ast.Ident:
		return s.named(t, path, x.Name, means, may)
	}
	t.Fatalf("%s: a type that this does not know", path)
	return nil
}

func (s *source) named(t *testing.T, path, name, means string, may bool) []dictionaryField {
	t.Helper()
	f := dictionaryField{Path: path, Means: means, May: may}
	basic := map[string]string{"string": "text", "int": "integer", "int32": "integer", "int64": "integer", "bool": "true or false", "float64": "number"}
	kind, own := s.types[name]
	if !own {
		if f.Type = basic[name]; f.Type == "" {
			t.Fatalf("%s: no word for %s", path, name)
		}
		return []dictionaryField{f}
	}
	if _, ok := kind.Type.(*ast.StructType); ok && !s.texts[name] {
		f.Type = "object"
		if f.Means == "" {
			f.Means = s.docs[name]
		}
		return append([]dictionaryField{f}, s.fields(t, name, path+".")...)
	}
	under, _ := kind.Type.(*ast.Ident)
	f.Type = name
	if s.texts[name] || under == nil {
		f.Type += ", text"
	} else {
		f.Type += ", " + basic[under.Name]
	}
	f.Means = oneSpace(f.Means + " " + s.docs[name])
	f.Values = s.values[name]
	return []dictionaryField{f}
}

var ofKind = regexp.MustCompile(`kind\[rom\.(\w+)\]\(Kind(\w+)`)

// TestDictionary holds the dictionary that goes with every export to what the
// sources say of each field: a field that is new, gone, or described anew
// makes it fail until it is written again (-args -rewrite-dictionary).
func TestDictionary(t *testing.T) {
	s := readSource(t, "../../engine/rom", "../../sync/wire")
	bodies := map[string]string{"amend": "amendBody"}
	for _, path := range []string{"phone", "clinic", "shared"} {
		text, err := os.ReadFile("../../sync/wire/kinds_" + path + ".go")
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range ofKind.FindAllStringSubmatch(string(text), -1) {
			bodies[strings.ToLower(m[2])] = m[1]
		}
	}
	var want dictionary
	for _, k := range wire.Kinds() {
		body := bodies[string(k.Kind)]
		if body == "" {
			t.Fatalf("kind %s: its type was not found", k.Kind)
		}
		one := dictionaryKind{Kind: string(k.Kind), Version: k.Version, Phone: k.Phone, Clinic: k.Clinic, Means: s.docs[body], Form: s.form[body]}
		if body == "amendBody" {
			one.Means = s.docs["Amend"]
		}
		one.Fields = s.fields(t, body, "")
		want.Kinds = append(want.Kinds, one)
	}
	slices.SortFunc(want.Kinds, func(a, b dictionaryKind) int { return strings.Compare(a.Kind, b.Kind) })
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", " ")
	if err := enc.Encode(want); err != nil {
		t.Fatal(err)
	}
	if *rewriteDictionary {
		if err := os.WriteFile("paper/dictionary.json", b.Bytes(), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	have, err := os.ReadFile("paper/dictionary.json")
	if err != nil || !bytes.Equal(have, b.Bytes()) {
		t.Errorf("paper/dictionary.json is not what the sources say (%v): go test ./server/clinic -run Dictionary -args -rewrite-dictionary", err)
	}
	described, all := 0, 0
	for _, k := range want.Kinds {
		if k.Means == "" || len(k.Fields) == 0 {
			t.Errorf("kind %s is not described", k.Kind)
		}
		for _, f := range k.Fields {
			if all++; f.Means != "" {
				described++
			}
		}
	}
	if all < 100 || described*10 < all*6 {
		t.Errorf("%d of %d fields are described in the sources", described, all)
	}
}
