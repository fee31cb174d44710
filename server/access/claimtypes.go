package access

import (
	"bytes"
	"encoding/json"
	"slices"
	"strings"
)

// claimTypes are the types of the claims that anything here rests on (RFC 7519 section 4.1, RFC 9068 section 2.2). The
// library takes a time that is written as text; what is odd is a fault of its writer or an attempt, and refused.
var claimTypes = map[string]func(json.RawMessage) bool{
	"iss": isText, "sub": isText, "jti": isText, "nonce": isText, "scope": isText, "client_id": isText,
	"exp": isSeconds, "iat": isSeconds, "nbf": isSeconds, "auth_time": isSeconds,
	"aud": func(raw json.RawMessage) bool {
		var list []json.RawMessage
		if json.Unmarshal(raw, &list) == nil && raw[0] == '[' {
			return len(list) > 0 && !slices.ContainsFunc(list, func(one json.RawMessage) bool { return !isText(one) })
		}
		return isText(raw)
	},
}

// checkTypes holds the claims of a token, whose signature was verified, to their types, and to one of each name.
func checkTypes(text string) error {
	parts := strings.Split(text, ".")
	if len(parts) != 3 {
		return refused("malformed")
	}
	payload, err := b64.DecodeString(parts[1])
	if err != nil {
		return refused("malformed")
	}
	d := json.NewDecoder(bytes.NewReader(payload))
	if open, err := d.Token(); err != nil || open != json.Delim('{') {
		return refused("claims are no object")
	}
	seen := map[string]bool{}
	for d.More() {
		name, err := d.Token()
		if err != nil {
			return refused("malformed")
		}
		var value json.RawMessage
		if d.Decode(&value) != nil || len(value) == 0 {
			return refused("malformed")
		}
		key, _ := name.(string)
		// encoding/json takes a claim in any case for the field of that name.
		if key = strings.ToLower(key); seen[key] {
			return refused("a claim stands twice")
		}
		seen[key] = true
		if ok := claimTypes[key]; ok != nil && (name != key || !ok(value)) {
			return refused("a claim is of the wrong type")
		}
	}
	return nil
}

func isText(raw json.RawMessage) bool { return raw[0] == '"' }

// isSeconds takes whole seconds since 1970, as all of ours are written.
func isSeconds(raw json.RawMessage) bool {
	if len(raw) == 0 || len(raw) > 11 {
		return false
	}
	for _, c := range raw {
		if c < '0' || c > '9' {
			return false
		}
	}
	return true
}
