package sim

import "strconv"

// Break names a rule of package replica, by its number, and a way to go
// against it.
type Break string

// Breaks are all the ways. A run against any of them has to fail with some
// seed.
var Breaks = []Break{
	"1 put",      // rows are put, not added: the second window overwrites the first
	"1 early",    // "kept" is said before the transaction completed
	"2 late",     // the answer leaves before the commit
	"3 fork",     // other bytes under a known number are taken for known
	"3 gap",      // lines after a hole are taken
	"4 believe",  // an acknowledgement counts whatever its hash
	"4 prune",    // what no verified backup has is pruned
	"5 server",   // a cursor of another log is taken for a good one
	"5 phone",    // a mark that went backwards is ignored
	"6 refuse",   // a line that is no record refuses the whole request
	"7 cursor",   // the cursor is saved before the records
	"8 data",     // a revoked phone gets data
	"8 lost",     // what a revoked phone sends is dropped
	"9 patient",  // the patient is not that of the token
	"10 base",    // a revision from an old page is taken
	"10 wide",    // a narrower plan waits for the end of the session
	"11 arrival", // the correction that arrives last wins
	"12 stay",    // a copy stays a copy
	"13 twice",   // a record counts as often as it arrives
	"14 keep",    // phones keep the clinic's records to themselves
}

// broken reports whether the run goes against the rule, in the given way if
// one is given.
func (w *world) broken(rule int, way ...string) bool {
	b := string(w.o.Break)
	n := strconv.Itoa(rule)
	if len(way) == 0 {
		return len(b) > len(n) && b[:len(n)+1] == n+" "
	}
	return b == n+" "+way[0]
}

// what says in words what the break does.
func (b Break) what() string {
	return breakWords[b]
}

var breakWords = map[Break]string{
	"1 put": "the second window overwrites the first", "1 early": "kept is said too early",
	"2 late": "the answer leaves before the commit", "3 fork": "other bytes are taken for known",
	"3 gap": "lines after a hole are taken", "4 believe": "any acknowledgement counts",
	"4 prune": "all is said to be backed up", "5 server": "any cursor is good",
	"5 phone": "a mark that went back is ignored", "6 refuse": "one bad line refuses all",
	"7 cursor": "the cursor is saved first", "8 data": "a revoked phone gets data",
	"8 lost": "a revoked phone's records are dropped", "9 patient": "the request names the patient",
	"10 base": "an old page is taken", "10 wide": "a narrower plan waits",
	"11 arrival": "the last that arrives wins", "12 stay": "a copy stays a copy",
	"13 twice": "arrivals are counted", "14 keep": "clinic records stay on the phones",
}
