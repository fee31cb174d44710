package fhirapi

import (
	"encoding/json"
	"net/http"
	"slices"

	"unsling/server/access"
	"unsling/server/ledger"
)

// since is the day on which what the door can do last changed.
const since = "2026-11-25"

// metadata is the CapabilityStatement, made from the table.
func (d *Door) metadata(c *call) error { return c.send(http.StatusOK, d.capability()) }

func (d *Door) capability() map[string]any {
	var rows []map[string]any
	for _, t := range table {
		row := map[string]any{"type": t.kind}
		var can []map[string]string
		if t.read != nil {
			can = append(can, map[string]string{"code": "read"})
		}
		if t.search != nil {
			can = append(can, map[string]string{"code": "search-type"})
		}
		row["interaction"] = can
		var params []map[string]string
		for _, p := range t.params {
			says := p.says
			if p.must {
				says += "; always needed"
			}
			params = append(params, map[string]string{"name": p.name, "type": p.kind, "documentation": says})
		}
		if params != nil {
			row["searchParam"] = params
		}
		rows = append(rows, row)
	}
	return map[string]any{
		"resourceType": "CapabilityStatement", "status": "active", "date": since, "kind": "instance", "fhirVersion": "4.0.1", "format": []string{"json"},
		"software":       map[string]string{"name": "Unsling"},
		"implementation": map[string]string{"description": "Shoulder motion after surgery: read-only", "url": d.base()},
		"rest": []map[string]any{{
			"mode": "server", "resource": rows,
			"documentation": "Read-only. A member of staff makes a token at " + d.Public + "/clinic/data and gives it to the program; it reads the patients in that person's care. Dates know the prefixes eq, ne, gt, lt, ge, le, sa, eb; _count is at most 200.",
			"security": map[string]any{"cors": false, "description": "Bearer token (RFC 6750) with scopes in the syntax of SMART App Launch 2.2",
				"service": []map[string]any{{"coding": []map[string]string{{"system": "http://terminology.hl7.org/CodeSystem/restful-security-service", "code": "OAuth"}}}}},
		}},
	}
}

// smart is the SMART configuration. It is honest: programs get no token by
// themselves, so no grant is offered; a person makes one on a page.
func (d *Door) smart(c *call) error {
	var scopes []string
	for _, role := range []ledger.Role{ledger.Surgeon, ledger.Therapist, ledger.Assistant} {
		for _, s := range access.ReadOnly(access.ScopesFor(role)) {
			here := slices.ContainsFunc(table, func(t resource) bool { return t.kind == s.Resource })
			if here && !slices.Contains(scopes, s.String()) {
				scopes = append(scopes, s.String())
			}
		}
	}
	slices.Sort(scopes)
	raw, err := json.Marshal(map[string]any{
		"token_endpoint":                   d.Public + "/v1/token", // of the clinic's own phones; required by the specification
		"grant_types_supported":            []string{},
		"code_challenge_methods_supported": []string{"S256"},
		"capabilities":                     []string{"permission-user", "permission-v2"},
		"scopes_supported":                 scopes,
		"management_endpoint":              d.Public + "/clinic/data",
	})
	if err != nil {
		return err
	}
	c.w.Header().Set("Content-Type", "application/json")
	_, _ = c.w.Write(raw)
	return nil
}
