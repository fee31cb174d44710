package screen

import (
	"unsling/app/words"
	"unsling/engine/protocol"
)

// painRules says what each score leads to under the cap of the phase: one rule,
// the cap in place of the general one.
func (a *App) painRules(limit int) []string {
	from := map[protocol.PainAct]int{}
	to := map[protocol.PainAct]int{}
	for score := 0; score <= 10; score++ {
		act, _, ok := protocol.Pain(limit, score)
		if !ok {
			continue
		}
		if _, seen := from[act]; !seen {
			from[act] = score
		}
		to[act] = score
	}
	var out []string
	if _, ok := from[protocol.PainFine]; ok {
		out = append(out, a.f(words.RuleFine, to[protocol.PainFine]))
	}
	if lo, ok := from[protocol.PainEase]; ok {
		out = append(out, a.f(words.RuleEase, lo, to[protocol.PainEase]))
	}
	if lo, ok := from[protocol.PainStop]; ok {
		out = append(out, a.f(words.RuleStop, lo))
	}
	return out
}
