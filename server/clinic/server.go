package clinic

import (
	"fmt"
	"time"

	"unsling/server/access"
	"unsling/server/ledger"
)

// ServerState is how the server is, for administrators: ids and numbers, no
// data of a patient. The main fills it in.
type ServerState struct {
	Ready     bool
	Room      string // "plenty", "little", "none"
	Free      uint64 // bytes on the data's disk
	Store     ledger.Health
	About     ledger.About
	App       string    // version of the phone's app
	Started   time.Time // of the program
	Verified  time.Time // last complete check of everything stored; zero for none yet
	Report    ledger.Report
	Backup    time.Time // when everything was last in a verified backup
	HasBackup bool
	LeftOut   int               // patients whom the last backup could not read
	Troubles  map[string]string // by job, what is wrong with it now
}

type serverPage struct {
	ServerState
	Aside int // lines in quarantine
	Now   time.Time
}

// serverPage is the health page.
func (d *Desk) serverPage(v *visit) error {
	if err := v.may(access.SeeServer); err != nil {
		return err
	}
	p := serverPage{Now: v.at}
	if d.Server != nil {
		p.ServerState = d.Server()
	}
	for _, a := range p.Report.Aside {
		p.Aside += a.Forked + a.Malformed
	}
	for _, t := range []*time.Time{&p.Started, &p.Verified, &p.Backup, &p.About.Since} {
		if !t.IsZero() {
			*t = t.In(v.zone)
		}
	}
	return v.show("server", "Server", "server", p)
}

// size says a number of bytes in MiB or GiB.
func size(n any) string {
	var b float64
	switch n := n.(type) {
	case int64:
		b = float64(n)
	case uint64:
		b = float64(n)
	}
	if b >= 1<<30 {
		return fmt.Sprintf("%.1f GiB", b/(1<<30))
	}
	return fmt.Sprintf("%.1f MiB", b/(1<<20))
}
