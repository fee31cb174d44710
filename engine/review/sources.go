package review

import (
	"strings"

	"unsling/engine/protocol"
	"unsling/engine/trend"
)

// cited are the sources that only this package names.
var cited = map[string]string{
	"AHMAD2015":    "Ahmad S et al.*, J Shoulder Elbow Surg 24: compliance and re-tear",
	"KIM2020":      "Kim DM et al., Am J Sports Med, PMID 32813985: smallest important change of pain 1.5",
	"MCNAMARA2016": "McNamara WJ et al., J Bone Joint Surg Am 98: stiffness at six weeks and re-tear",
	"FLOWERS1994":  "Flowers KR, LaStayo P*, J Hand Ther 7:150-7: end-range time of stiff fingers",
}

// Cite returns the sources behind a key as it stands in a Line or a Finding;
// for joined keys ("A+B") one each. Unknown keys give nothing.
func Cite(key string) []protocol.Citation {
	var out []protocol.Citation
	for _, k := range strings.Split(key, "+") {
		if c := protocol.Cite(k); len(c) > 0 {
			out = append(out, c...)
		} else if s, ok := trend.Citation(k); ok {
			out = append(out, protocol.Citation{Key: k, Text: s})
		} else if s, ok := cited[k]; ok {
			out = append(out, protocol.Citation{Key: k, Text: s})
		}
	}
	return out
}
