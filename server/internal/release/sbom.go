package main

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"strings"
)

// The bill of materials is CycloneDX 1.5 as JSON (ECMA-424). It holds no time and no chance, so that it can be compared too:
// its serial number is made of its content.

type bill struct {
	Format       string      `json:"bomFormat"`
	Spec         string      `json:"specVersion"`
	Serial       string      `json:"serialNumber"`
	Version      int         `json:"version"`
	Metadata     metadata    `json:"metadata"`
	Components   []component `json:"components"`
	Dependencies []depends   `json:"dependencies"`
}

type metadata struct {
	Tools struct {
		Components []component `json:"components"`
	} `json:"tools"`
	Component component `json:"component"`
}

type component struct {
	Type       string       `json:"type"`
	Ref        string       `json:"bom-ref,omitempty"`
	Name       string       `json:"name"`
	Version    string       `json:"version,omitempty"`
	Licences   []licenceRef `json:"licenses,omitempty"`
	PURL       string       `json:"purl,omitempty"`
	Properties []property   `json:"properties,omitempty"`
}

type licenceRef struct {
	License struct {
		ID string `json:"id"`
	} `json:"license"`
}

type property struct {
	Name  string `json:"name"`
	Value string `json:"value"`
}

type depends struct {
	Ref string   `json:"ref"`
	On  []string `json:"dependsOn"`
}

const ownRef = "pkg:golang/unsling"

// purl names a module as the package-url specification does for Go.
func purl(m module) string { return "pkg:golang/" + strings.ToLower(m.Path) + "@" + m.Version }

func licenceRefs(ids ...string) (out []licenceRef) {
	for _, id := range ids {
		var r licenceRef
		r.License.ID = id
		out = append(out, r)
	}
	return out
}

// billOfMaterials writes the bill of what is linked.
func billOfMaterials(modules []module) ([]byte, error) {
	b := bill{Format: "CycloneDX", Spec: "1.5", Version: 1}
	b.Metadata.Tools.Components = []component{{Type: "application", Name: "go", Version: strings.TrimPrefix(toolchain, "go")}}
	b.Metadata.Component = component{Type: "application", Ref: ownRef, Name: "unsling", Licences: licenceRefs("Apache-2.0")}
	own := depends{Ref: ownRef}
	for _, m := range modules {
		list, err := licencesOf(m)
		if err != nil {
			return nil, err
		}
		var ids []string
		for _, l := range list {
			if l.ID != "" && !strings.HasPrefix(strings.ToUpper(l.Name), "NOTICE") {
				ids = append(ids, l.ID)
			}
		}
		c := component{Type: "library", Ref: purl(m), Name: m.Path, Version: m.Version, PURL: purl(m), Licences: licenceRefs(ids...)}
		if m.Sum != "" {
			c.Properties = append(c.Properties, property{"go:sum", m.Sum})
		}
		for _, in := range m.In {
			c.Properties = append(c.Properties, property{"unsling:linked-into", in})
		}
		b.Components = append(b.Components, c)
		own.On = append(own.On, purl(m))
	}
	b.Dependencies = []depends{own}
	content, err := json.Marshal(b)
	if err != nil {
		return nil, err
	}
	h := sha256.Sum256(content)
	h[6], h[8] = h[6]&0x0f|0x80, h[8]&0x3f|0x80 // RFC 9562, section 5.8: a version 8 UUID, of our own making
	x := hex.EncodeToString(h[:16])
	b.Serial = fmt.Sprintf("urn:uuid:%s-%s-%s-%s-%s", x[:8], x[8:12], x[12:16], x[16:20], x[20:])
	text, err := json.MarshalIndent(b, "", " ")
	return append(text, '\n'), err
}
