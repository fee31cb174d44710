package access

import (
	"errors"
	"fmt"
	"slices"
	"strings"
)

// Scope is one scope in the syntax of SMART App Launch 2.2: a resource scope
// such as user/Observation.rs, or one of our own that begins with two
// underscores.
type Scope struct {
	Level    string // patient, user or system; "" for a scope of our own
	Resource string // FHIR type or *; the whole name for a scope of our own
	Acts     string // non-empty subset of cruds in that order; "" for our own
}

// Scopes is a set of scopes in the order in which they were written.
type Scopes []Scope

// ErrScope means that a text is not a scope in this syntax. Scopes of
// version 1 (.read, .write, .*) are refused, and so are query parameters,
// which nothing here enforces.
var ErrScope = errors.New("not a SMART v2 scope")

// acts is the order in which the letters must stand: create, read, update,
// delete, search.
const acts = "cruds"

// ParseScope reads one scope.
func ParseScope(text string) (Scope, error) {
	if strings.HasPrefix(text, "__") {
		if !isOwnScope(text) {
			return Scope{}, fmt.Errorf("%w: name of an own scope", ErrScope)
		}
		return Scope{Resource: text}, nil
	}
	level, rest, ok := strings.Cut(text, "/")
	if !ok || (level != "patient" && level != "user" && level != "system") {
		return Scope{}, fmt.Errorf("%w: it does not begin with patient/, user/ or system/", ErrScope)
	}
	resource, letters, ok := strings.Cut(rest, ".")
	if !ok || !isResource(resource) {
		return Scope{}, fmt.Errorf("%w: resource type", ErrScope)
	}
	if !isActs(letters) {
		return Scope{}, fmt.Errorf("%w: acts must be some of c, r, u, d, s in this order", ErrScope)
	}
	return Scope{Level: level, Resource: resource, Acts: letters}, nil
}

func isOwnScope(s string) bool {
	for _, c := range s[2:] {
		if !(c >= 'a' && c <= 'z' || c == '.' || c == '_') {
			return false
		}
	}
	return len(s) > 2 && len(s) <= 64
}

func isResource(s string) bool {
	if s == "*" {
		return true
	}
	if s == "" || len(s) > 64 || s[0] < 'A' || s[0] > 'Z' {
		return false
	}
	for _, c := range s {
		if !(c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z') {
			return false
		}
	}
	return true
}

func isActs(s string) bool {
	last := -1
	for _, c := range s {
		at := strings.IndexRune(acts, c)
		if at <= last {
			return false
		}
		last = at
	}
	return s != ""
}

// ParseScopes reads a list separated by single spaces (RFC 6749 section
// 3.3). The empty list is refused: a token without a scope is a mistake.
func ParseScopes(text string) (Scopes, error) {
	var all Scopes
	for _, one := range strings.Split(text, " ") {
		s, err := ParseScope(one)
		if err != nil {
			return nil, err
		}
		all = append(all, s)
	}
	return all, nil
}

func mustScopes(text string) Scopes {
	s, err := ParseScopes(text)
	if err != nil {
		panic(err)
	}
	return s
}

func (s Scope) String() string {
	if s.Level == "" {
		return s.Resource
	}
	return s.Level + "/" + s.Resource + "." + s.Acts
}

func (s Scopes) String() string {
	parts := make([]string, len(s))
	for i, one := range s {
		parts[i] = one.String()
	}
	return strings.Join(parts, " ")
}

// Allows reports whether the set lets a client of that level do act (one of
// c r u d s) on a resource type.
func (s Scopes) Allows(level, resource string, act byte) bool {
	return slices.ContainsFunc(s, func(one Scope) bool {
		return one.Level == level && level != "" && (one.Resource == resource || one.Resource == "*") &&
			strings.IndexByte(one.Acts, act) >= 0
	})
}

// Has reports whether the set holds a scope of our own.
func (s Scopes) Has(own string) bool {
	return slices.ContainsFunc(s, func(one Scope) bool { return one.Level == "" && one.Resource == own })
}

// Union holds everything that a or b holds.
func Union(a, b Scopes) Scopes {
	all := slices.Clone(a)
	for _, one := range b {
		if !slices.Contains(all, one) {
			all = append(all, one)
		}
	}
	return all
}
