package screen

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"strings"
	"testing"
)

// TestTrapsOfTheLibrary reads the sources: what go-app v10 does with handlers, anchors, styles and empty values breaks a
// screen in ways that no scene shows at once. See trapsOf for the rules.
func TestTrapsOfTheLibrary(t *testing.T) {
	set := token.NewFileSet()
	parsed, err := parser.ParseDir(set, ".", func(f fs.FileInfo) bool { return !strings.HasSuffix(f.Name(), "_test.go") }, 0)
	if err != nil {
		t.Fatal(err)
	}
	seen := &seenTraps{}
	for _, p := range parsed {
		for _, f := range p.Files {
			for _, s := range trapsOf(set, f, seen) {
				t.Error(s)
			}
		}
	}
	if seen.handlers < 10 || seen.anchors != 1 { // the search itself: the package has so many
		t.Errorf("found only %d handlers and %d anchors", seen.handlers, seen.anchors)
	}
}

// TestTrapsAreFound: a planted line against each rule is found, and the right way of doing it is not.
func TestTrapsAreFound(t *testing.T) {
	for _, c := range []struct {
		name, body string
		want       int
	}{
		{"as it should be", `h, s := p.on("a", f); app.Button().OnClick(h, s)`, 0},
		{"several, by a function of p.on", `pointer := func(kind string) (app.EventHandler, app.EventOption) { return p.on("p-"+kind, f) }
			down, s1 := pointer("down"); app.Div().On("pointerdown", down, s1)`, 0},
		{"what is no element's", `p.a.d.Platform.OnVisible(func(bool) {})`, 0},
		{"a plain function", `app.Button().OnClick(func(ctx app.Context, e app.Event) {})`, 1},
		{"no scope", `h, _ := p.on("a", f); app.Button().OnClick(h)`, 1},
		{"a scope of another", `h, _ := p.on("a", f); _, s := p.on("b", f); app.Button().OnClick(h, s)`, 1},
		{"a scope of its own making", `h, _ := p.on("a", f); app.Button().OnClick(h, app.EventScope("a"))`, 1},
		{"On with a plain function", `app.Div().On("pointerdown", func(ctx app.Context, e app.Event) {}, app.EventScope("a"))`, 1},
		{"an anchor", `app.A().Href("/x")`, 1},
		{"a style", `app.Div().Style("width", "1px")`, 1},
		{"styles", `app.Div().Styles(nil)`, 1},
		{"an empty value", `app.Input().Value("")`, 1},
		{"an empty alternative", `app.Img().Alt("")`, 1},
	} {
		set := token.NewFileSet()
		f, err := parser.ParseFile(set, "planted.go", "package screen\nfunc (p *Phone) draw() {\n"+c.body+"\n}", 0)
		if err != nil {
			t.Fatalf("%s: %v", c.name, err)
		}
		if got := trapsOf(set, f, &seenTraps{}); len(got) != c.want {
			t.Errorf("%s: %q, want %d", c.name, got, c.want)
		}
	}
}

// seenTraps counts what the rules were asked about.
type seenTraps struct{ handlers, anchors int }

// trapsOf are the places of a file that break a rule:
//   - a handler of an element and its scope come from one call of Phone.on, which guards it and gives the scope: the library
//     takes handlers of one code address for equal;
//   - anchors stand in callLink only: the library takes the tap on an anchor for a change of its own address;
//   - no Style: it sets an attribute that our content security policy refuses without a word;
//   - no empty Value: it does not empty a field (a page of another id does), nor an empty Alt, which is not set at all. Values
//     that become empty while the program runs are not seen here.
func trapsOf(set *token.FileSet, f *ast.File, seen *seenTraps) (out []string) {
	bad := func(at ast.Node, why string) { out = append(out, set.Position(at.Pos()).String()+": "+why) }
	for _, d := range f.Decls {
		name := ""
		if fn, ok := d.(*ast.FuncDecl); ok {
			name = fn.Name.Name
		}
		made := bound{call: map[string]ast.Node{}, makers: map[string]bool{}}
		ast.Inspect(d, func(n ast.Node) bool {
			if a, ok := n.(*ast.AssignStmt); ok {
				made.assign(a)
				return true
			}
			call, ok := n.(*ast.CallExpr)
			if !ok {
				return true
			}
			sel, ok := call.Fun.(*ast.SelectorExpr)
			if !ok {
				return true
			}
			switch of, _ := sel.X.(*ast.Ident); {
			case of != nil && of.Name == "app" && sel.Sel.Name == "A":
				seen.anchors++
				if name != "callLink" {
					bad(call, "an anchor outside of callLink")
				}
			case sel.Sel.Name == "Style" || sel.Sel.Name == "Styles":
				bad(call, "a style")
			case (sel.Sel.Name == "Value" || sel.Sel.Name == "Alt") && len(call.Args) == 1 && isEmpty(call.Args[0]):
				bad(call, "an empty value, which the library does not set")
			case takesHandler(sel.Sel.Name):
				seen.handlers++
				args := call.Args
				if sel.Sel.Name == "On" && len(args) > 0 {
					args = args[1:]
				}
				if !made.pair(args) {
					bad(call, "handler and scope are not those of one call of p.on")
				}
			}
			return true
		})
	}
	return out
}

// takesHandler reports whether a method of this name binds a handler to an element. Platform.OnVisible does not.
func takesHandler(name string) bool {
	rest, ok := strings.CutPrefix(name, "On")
	return ok && name != "OnVisible" && (rest == "" || rest[0] >= 'A' && rest[0] <= 'Z')
}

// bound is what the names of a function stand for, in the order of the source.
type bound struct {
	call   map[string]ast.Node // the call of p.on that gave the name
	makers map[string]bool     // functions that give what p.on gives
}

func (b bound) assign(a *ast.AssignStmt) {
	from := ast.Node(nil)
	if len(a.Lhs) == 2 && len(a.Rhs) == 1 && b.gives(a.Rhs[0]) {
		from = a.Rhs[0]
	}
	for i, l := range a.Lhs {
		id, ok := l.(*ast.Ident)
		if !ok {
			continue
		}
		delete(b.call, id.Name)
		delete(b.makers, id.Name)
		if from != nil {
			b.call[id.Name] = from
		} else if fn, ok := a.Rhs[min(i, len(a.Rhs)-1)].(*ast.FuncLit); ok && len(fn.Body.List) == 1 {
			ret, ok := fn.Body.List[0].(*ast.ReturnStmt)
			b.makers[id.Name] = ok && len(ret.Results) == 1 && b.gives(ret.Results[0])
		}
	}
}

// gives reports whether an expression is a call of p.on, or of a function that only passes one on.
func (b bound) gives(e ast.Expr) bool {
	call, ok := e.(*ast.CallExpr)
	if !ok {
		return false
	}
	switch f := call.Fun.(type) {
	case *ast.Ident:
		return b.makers[f.Name]
	case *ast.SelectorExpr:
		of, ok := f.X.(*ast.Ident)
		return ok && of.Name == "p" && f.Sel.Name == "on"
	}
	return false
}

// pair reports whether the arguments are handler and scope of one call.
func (b bound) pair(args []ast.Expr) bool {
	if len(args) == 1 {
		return b.gives(args[0])
	}
	if len(args) != 2 {
		return false
	}
	h, ok1 := args[0].(*ast.Ident)
	s, ok2 := args[1].(*ast.Ident)
	return ok1 && ok2 && h.Name != s.Name && b.call[h.Name] != nil && b.call[h.Name] == b.call[s.Name]
}

func isEmpty(e ast.Expr) bool {
	l, ok := e.(*ast.BasicLit)
	return ok && l.Kind == token.STRING && (l.Value == `""` || l.Value == "``")
}
