package access

import (
	"errors"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"unsling/server/ledger"
)

// SMART App Launch 2.2, "Scopes for requesting FHIR resources": some of
// c, r, u, d, s, in that order. All 31 subsets, and everything else of up to
// five letters refused.
func TestScopeActs(t *testing.T) {
	good := map[string]bool{}
	for set := 1; set < 32; set++ {
		var letters strings.Builder
		for i := range 5 {
			if set&(1<<i) != 0 {
				letters.WriteByte(acts[i])
			}
		}
		good[letters.String()] = true
	}
	if len(good) != 31 {
		t.Fatalf("%d subsets", len(good))
	}
	var walk func(prefix string)
	walk = func(prefix string) {
		s, err := ParseScope("user/Observation." + prefix)
		if good[prefix] != (err == nil) {
			t.Errorf(".%s: %v", prefix, err)
		}
		if err == nil && s.String() != "user/Observation."+prefix {
			t.Errorf(".%s printed as %s", prefix, s)
		}
		if len(prefix) == 5 {
			return
		}
		for _, c := range "crudsx" {
			walk(prefix + string(c))
		}
	}
	walk("")
}

func TestScopeSyntax(t *testing.T) {
	for _, text := range []string{"patient/*.rs", "system/Patient.r", "__exchange", "__staff.manage"} {
		if s, err := ParseScope(text); err != nil || s.String() != text {
			t.Errorf("%s: %v %v", text, s, err)
		}
	}
	for _, text := range []string{
		"", "user/Patient.read", "user/Patient.write", "user/Patient.*", // version 1
		"user/Patient.rs?category=x", "users/Patient.rs", "/Patient.rs", "user/.rs", "user/patient.rs", "user/Patient", "user/Pat*.rs",
		"__", "__A", "__a b", "_x", "openid", "user/Patient.rs ", "USER/Patient.rs", "user/Patient.RS",
	} {
		if s, err := ParseScope(text); !errors.Is(err, ErrScope) {
			t.Errorf("%q read as %v, %v", text, s, err)
		}
	}
	for _, text := range []string{"", "__a  __b", " __a", "__a\t__b"} {
		if _, err := ParseScopes(text); !errors.Is(err, ErrScope) {
			t.Errorf("list %q: %v", text, err)
		}
	}
}

func TestUnionAllowsWhatEitherAllows(t *testing.T) {
	one := rapid.Custom(func(t *rapid.T) Scope {
		letters := ""
		for _, c := range acts {
			if rapid.Bool().Draw(t, "act") {
				letters += string(c)
			}
		}
		if letters == "" {
			letters = "r"
		}
		return Scope{rapid.SampledFrom([]string{"patient", "user", "system"}).Draw(t, "level"),
			rapid.SampledFrom([]string{"Patient", "Observation", "*"}).Draw(t, "resource"), letters}
	})
	rapid.Check(t, func(t *rapid.T) {
		a := Scopes(rapid.SliceOfN(one, 1, 4).Draw(t, "a"))
		b := Scopes(rapid.SliceOfN(one, 1, 4).Draw(t, "b"))
		both := Union(a, b)
		back, err := ParseScopes(both.String())
		if err != nil {
			t.Fatal(err)
		}
		for _, level := range []string{"patient", "user", "system", ""} {
			for _, resource := range []string{"Patient", "Observation", "Goal"} {
				for i := range len(acts) {
					want := a.Allows(level, resource, acts[i]) || b.Allows(level, resource, acts[i])
					if back.Allows(level, resource, acts[i]) != want {
						t.Fatalf("%s %s %c: %v of %v and %v", level, resource, acts[i], !want, a, b)
					}
				}
			}
		}
	})
}

// Nobody may delete, and the administrator has no scope on clinical data.
func TestScopesOfRoles(t *testing.T) {
	for _, role := range []ledger.Role{ledger.Surgeon, ledger.Therapist, ledger.Assistant, ledger.Administrator} {
		s := ScopesFor(role)
		if len(s) == 0 {
			t.Errorf("%s has no scopes", role)
		}
		for _, one := range s {
			if strings.Contains(one.Acts, "d") {
				t.Errorf("%s may delete: %s", role, one)
			}
			if role == ledger.Administrator && one.Level != "" {
				t.Errorf("administrator has %s", one)
			}
		}
	}
	if !ScopesFor(ledger.Surgeon).Allows("user", "Procedure", 'c') || ScopesFor(ledger.Therapist).Allows("user", "Procedure", 'c') {
		t.Error("only a surgeon writes procedures")
	}
	if ScopesFor("visitor") != nil {
		t.Error("an unknown role has scopes")
	}
}
