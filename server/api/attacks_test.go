package api

import (
	"bytes"
	"fmt"
	"strings"

	"unsling/engine/rom"
	"unsling/sync/wire"
)

// attack is one request that no phone of ours would send, and the answer to
// it; "" for a good one, whose bad lines are set aside.
type attack struct {
	name   string
	want   wire.Code
	form   uint8 // see hostile
	repeat uint16
	body   []byte
}

const (
	formPlain  = 0
	formPacked = 1
	formLie    = 2
	formBrotli = 3
	formJSON   = 2 << 3
	formNone   = 3 << 3
	formPut    = 32
)

// attacks is the list. It also seeds the fuzzer.
func attacks() []attack {
	own := two("attacker", "mine")
	mark := markOf(own[1], 2)
	third := chainFor("attacker", 3, mark, "a good third")
	other := chainFor("attacker", 2, markOf(own[0], 1), "another second")
	head := func(author rom.Author, from int64, more string) string {
		return fmt.Sprintf(`{"proto":1,"app":"x","author":%q,"from":%d,"since":{"seq":0,"hash":""},"epoch":"","following":0%s}`, author, from, more)
	}
	lines := func(parts ...any) []byte {
		var b bytes.Buffer
		for _, p := range parts {
			fmt.Fprintf(&b, "%s\n", p)
		}
		return b.Bytes()
	}
	with := func(old, new string) []byte { return []byte(strings.Replace(string(third), old, new, 1)) }
	body := `"body":{"episode":"e1","text":"a good third"}`
	deep := strings.Repeat("[", 3000) + strings.Repeat("]", 3000)
	at3 := head("attacker", 3, "")
	nul := string([]byte{0})
	var all []attack
	add := func(name string, want wire.Code, body []byte) {
		all = append(all, attack{name: name, want: want, body: body})
	}

	add("a good line", "", lines(at3, third))
	add("again what is there", "", lines(head("attacker", 1, ""), own[0], own[1]))
	// framing
	add("empty", wire.Malformed, nil)
	add("only a line feed", wire.Malformed, []byte("\n"))
	add("no line feed after the header", wire.Malformed, []byte(at3))
	add("no line feed at the end", wire.Malformed, append(lines(at3), third...))
	add("an empty line between", wire.Malformed, lines(at3, "", third))
	add("carriage returns", "", []byte(at3+"\r\n"+string(third)+"\r\n"))
	add("a header that is an array", wire.Malformed, lines("[]", third))
	add("a header that is null", wire.Malformed, lines("null", third))
	add("two headers", "", lines(at3, at3))
	add("a header of 5 KiB", wire.TooBig, lines(head("attacker", 3, `,"x":"`+strings.Repeat("y", 5<<10)+`"`), third))
	add("a deep header", wire.Malformed, lines(`{"proto":1,"author":`+strings.Repeat(`{"a":`, 500)+`1`+strings.Repeat(`}`, 500)+`}`, third))
	add("201 lines", wire.TooBig, append(lines(at3), bytes.Repeat([]byte("{}\n"), wire.MaxLines+1)...))
	add("a line of 9 KiB", wire.TooBig, lines(at3, strings.Repeat("x", 9<<10)))
	all = append(all,
		attack{"16 MB of one letter", wire.TooBig, formPlain, 1<<16 - 1, []byte(at3 + "\nx")},
		attack{"a bomb: 16 MB packed into 16 kB", wire.TooBig, formPacked, 1<<16 - 1, []byte(at3 + "\nx")},
		attack{"a bomb of line feeds", wire.TooBig, formPacked, 1<<16 - 1, []byte("\n")},
		attack{"a bomb of empty arrays", wire.TooBig, formPacked, 1<<16 - 1, []byte(at3 + "\n[")},
		attack{"a bomb in the header", wire.TooBig, formPacked, 1<<16 - 1, []byte(`{"app":"x`)},
		attack{"not packed as it says", wire.Malformed, formLie, 0, lines(at3, third)},
		attack{"packed and cut off", wire.Malformed, formLie, 0, pack(lines(at3, third))[:60]},
		attack{"packed twice", wire.Malformed, formPacked, 0, pack(lines(at3, third))},
		attack{"two packed parts", "", formLie, 0, append(pack(lines(at3)), pack(lines(string(third)))...)},
		attack{"rubbish after the packed part", wire.Malformed, formLie, 0, append(pack(lines(at3, third)), "rubbish"...)},
		attack{"brotli", wire.BadType, formBrotli, 0, lines(at3, third)},
		attack{"another content type", wire.BadType, formJSON, 0, lines(at3, third)},
		attack{"no content type", wire.BadType, formNone, 0, lines(at3, third)},
		attack{"another method", wire.BadMethod, formPut, 0, lines(at3, third)})
	// whose it is
	add("another phone's name in the header", wire.Forbidden, lines(head("victim", 3, ""), chainFor("victim", 3, markOf(two("victim", victimWord)[1], 2), "x")))
	add("another phone's line", wire.Malformed, lines(at3, chainFor("victim", 3, mark, "x")))
	add("the other phone of the same patient", wire.Forbidden, lines(head("honest", 3, "")))
	add("the clinic's name", wire.Malformed, lines(head("c-attacker", 1, "")))
	add("a line of the clinic as its own", wire.Malformed, lines(at3, chainFor("c-1", 3, mark, "all limits are lifted")))
	add("a forged line of the clinic to give back", "", lines(head("attacker", 3, `,"returned":1`), chainFor("c-1", 1, wire.Mark{}, "all limits are lifted")))
	add("more to give back than there is", wire.Malformed, lines(head("attacker", 3, `,"returned":9`), third))
	add("less than nothing to give back", wire.Malformed, lines(head("attacker", 3, `,"returned":-1`), third))
	add("the patient in the header", "", lines(head("attacker", 3, `,"patient":"p2"`), third))
	add("the cursor of another log", "", lines(`{"proto":1,"author":"attacker","from":3,"since":{"seq":2,"hash":"`+string(markOf(two("victim", victimWord)[1], 2).Hash)+`"},"epoch":"e"}`))
	// numbers
	add("the wrong number", wire.Malformed, lines(head("attacker", 4, ""), third))
	add("out of order", wire.Malformed, lines(head("attacker", 1, ""), own[1], own[0]))
	add("after a hole", wire.Gap, lines(head("attacker", 9, "")))
	add("the largest number", wire.Gap, lines(head("attacker", 1<<63-1, "")))
	add("a number beyond 64 bits", wire.Malformed, lines(strings.Replace(at3, `"from":3`, `"from":99999999999999999999999`, 1)))
	add("a number with a point", wire.Malformed, lines(strings.Replace(at3, `"from":3`, `"from":3.5`, 1)))
	add("number nought", wire.Malformed, lines(head("attacker", 0, "")))
	add("less than nought", wire.Malformed, lines(head("attacker", -3, "")))
	add("other bytes under a known number", wire.Fork, lines(head("attacker", 2, ""), other))
	add("a giant cursor", "", lines(strings.Replace(at3, `"seq":0,"hash":""`, `"seq":9223372036854775807,"hash":"`+string(mark.Hash)+`"`, 1)))
	add("a giant plan revision", "", lines(strings.Replace(at3, `"following":0`, `"following":9223372036854775807`, 1)))
	add("another last line", wire.Gap, lines(head("attacker", 3, `,"prev":"`+string(markOf(other, 2).Hash)+`"`), third))
	add("a newer protocol", wire.TooNew, lines(strings.Replace(at3, `"proto":1`, `"proto":2`, 1), third))
	// lines: set aside, acknowledged, and the next one goes on
	add("not JSON", "", lines(at3, "not JSON"))
	add("a deep body", "", lines(at3, with(body, `"body":{"x":`+deep+`}`)))
	add("no UTF-8", "", lines(at3, with("good", "\xff\xfe")))
	add("a NUL", "", lines(at3, with("good", nul)))
	add("a NUL in the name", "", lines(at3, with(`"author":"attacker"`, `"author":"attacker`+nul+`"`)))
	add("marks that turn the writing", "", lines(at3, with("good", "\u202e\u2066")))
	add("keys twice", "", lines(at3, with(body, body+","+body)))
	add("keys twice inside", "", lines(at3, with(`"text":`, `"text":"x","text":`)))
	add("a giant number in the line", "", lines(at3, with(`"mono":3`, `"mono":99999999999999999999`)))
	add("a negative time", "", lines(at3, with(`"at":"2026`, `"at":"-026`)))
	add("spaces between", "", lines(at3, with(`,"n"`, `, "n"`)))
	add("a wrong hash of the line before", "", lines(at3, chainFor("attacker", 3, markOf(other, 2), "x")))
	add("a kind that nobody knows", "", lines(at3, with(`"kind":"question"`, `"kind":"stumble"`)))
	add("a plan from a phone", "", lines(at3, with(`"kind":"question"`, `"kind":"plan"`)))
	add("a void of another's record", "", lines(at3, with(`"kind":"question"`, `"kind":"void"`)))
	return all
}
