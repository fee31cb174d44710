package clinic

import (
	"crypto/sha256"
	"encoding/base64"
	"encoding/json"
	"errors"
	"net/http"

	"unsling/engine/protocol"
	"unsling/engine/rom"
	"unsling/server/access"
	"unsling/server/clinic/planning"
	"unsling/server/ledger"
)

// adopted returns the protocol of each procedure that was adopted last.
func (v *visit) adopted() (planning.Adopted, error) {
	rows, err := v.desk.Store.Adoptions()
	if err != nil {
		return nil, err
	}
	return planning.Newest(rows)
}

type protocolRow struct {
	protocol.Protocol
	Weakest rom.Mark
	Adopted *ledger.Adoption
}

type protocolsPage struct {
	Rows  []protocolRow
	Names map[rom.StaffID]string
}

func (d *Desk) protocolsPage(v *visit) error {
	if err := v.may(access.SeeProtocols); err != nil {
		return err
	}
	rows, names, err := v.protocolRows()
	if err != nil {
		return err
	}
	return v.show("protocols", "Protocols", "protocols", protocolsPage{rows, names})
}

func (v *visit) protocolRows() ([]protocolRow, map[rom.StaffID]string, error) {
	adoptions, err := v.desk.Store.Adoptions()
	if err != nil {
		return nil, nil, err
	}
	names, err := v.staffNames()
	if err != nil {
		return nil, nil, err
	}
	newest := map[string]*ledger.Adoption{}
	for i, a := range adoptions {
		newest[a.Name] = &adoptions[i]
	}
	var rows []protocolRow
	for _, p := range protocol.All() {
		rows = append(rows, protocolRow{p, p.Weakest(), newest[p.ID]})
		delete(newest, p.ID)
	}
	for _, a := range adoptions { // the clinic's own
		if newest[a.Name] == nil || newest[a.Name].Version != a.Version {
			continue
		}
		p, err := planning.Read(a)
		if err != nil {
			return nil, nil, err
		}
		rows = append(rows, protocolRow{p, p.Weakest(), newest[a.Name]})
	}
	return rows, names, nil
}

type protocolPage struct {
	protocolRow
	Shipped bool // comes with the program
	Names   map[rom.StaffID]string
	Cites   []protocol.Citation
}

// protocolPage shows every value with its source and mark, which is what a
// surgeon reviews.
func (d *Desk) protocolPage(v *visit) error {
	if err := v.may(access.SeeProtocols); err != nil {
		return err
	}
	return v.protocolShow(http.StatusOK, "")
}

func (v *visit) protocolShow(status int, problem string) error {
	rows, names, err := v.protocolRows()
	if err != nil {
		return err
	}
	for _, r := range rows {
		if r.ID == v.r.PathValue("protocol") {
			_, shipped := protocol.ByID(r.ID)
			p := protocolPage{r, shipped, names, cites(r.Protocol)}
			return v.showWith(status, "protocol", frame{Title: name(procedureNames, r.Procedure), Here: "protocols", Error: problem, Page: p})
		}
	}
	return errNotFound
}

// cites lists the sources of a protocol, each once.
func cites(p protocol.Protocol) []protocol.Citation {
	seen := map[string]bool{}
	var out []protocol.Citation
	add := func(s rom.Source) {
		for _, c := range protocol.Cite(s.Key) {
			if !seen[c.Key] {
				seen[c.Key] = true
				out = append(out, c)
			}
		}
	}
	for _, from := range p.Sources() {
		add(from)
	}
	return out
}

// adoptProtocol makes a draft the clinic's own. Only a surgeon may, and only
// after saying that every value was reviewed.
func (d *Desk) adoptProtocol(v *visit) error {
	if err := v.may(access.AdoptProtocol); err != nil {
		return err
	}
	p, ok := protocol.ByID(v.r.PathValue("protocol"))
	if !ok {
		return errNotFound // the clinic's own are adopted where they are written
	}
	if v.form("reviewed") != "yes" {
		return v.protocolShow(http.StatusUnprocessableEntity, "Please tick that you have reviewed every value of this protocol, also those from memory and from single practices.")
	}
	if problem, err := v.adopt(p); err != nil {
		return err
	} else if problem != "" {
		return v.protocolShow(http.StatusConflict, problem)
	}
	return v.back("/clinic/protocols/"+p.ID, "adopted")
}

// adopt writes p as the clinic's own. It returns a sentence when that is not
// possible.
func (v *visit) adopt(p protocol.Protocol) (problem string, err error) {
	own, err := protocol.Adopt(p, v.staff.ID, v.today, nil)
	if err != nil {
		return "This protocol cannot be adopted: " + err.Error() + ".", nil
	}
	body, err := json.Marshal(own)
	if err != nil {
		return "", err
	}
	rows, err := v.desk.Store.Adoptions()
	if err != nil {
		return "", err
	}
	version := 1
	for _, r := range rows {
		if r.Name == p.ID {
			version = max(version, r.Version+1)
		}
	}
	sum := sha256.Sum256(body)
	err = v.desk.Store.Adopt(ledger.Adoption{
		Name: p.ID, Version: version, By: v.staff.ID, At: v.at.UTC(), Note: v.form("note"),
		Hash: base64.RawURLEncoding.EncodeToString(sum[:]), Body: body,
	}, v.trail())
	if errors.Is(err, ledger.ErrTaken) {
		return "Somebody else adopted this protocol a moment ago. Look at it again.", nil
	}
	return "", err
}
