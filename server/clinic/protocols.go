package clinic

import (
	"crypto/sha256"
	"encoding/base64"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"

	"unsling/engine/protocol"
	"unsling/engine/rom"
	"unsling/server/access"
	"unsling/server/ledger"
)

// adopted returns the newest adopted protocol of each procedure.
func (v *visit) adopted() (map[rom.Procedure]protocol.Protocol, error) {
	rows, err := v.desk.Store.Adoptions()
	if err != nil {
		return nil, err
	}
	out := map[rom.Procedure]protocol.Protocol{}
	for _, row := range rows {
		var p protocol.Protocol
		if err := json.Unmarshal(row.Body, &p); err != nil {
			return nil, fmt.Errorf("read adopted protocol %s: %w", row.Name, err)
		}
		out[p.Procedure] = p
	}
	return out, nil
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
	}
	return rows, names, nil
}

type protocolPage struct {
	protocolRow
	Names map[rom.StaffID]string
	Cites []protocol.Citation
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
			p := protocolPage{r, names, cites(r.Protocol)}
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
		return errNotFound
	}
	if v.form("reviewed") != "yes" {
		return v.protocolShow(http.StatusUnprocessableEntity, "Please tick that you have reviewed every value of this protocol, also those from memory and from single practices.")
	}
	own, err := protocol.Adopt(p, v.staff.ID, v.today, nil)
	if err != nil {
		return v.protocolShow(http.StatusUnprocessableEntity, "This protocol cannot be adopted: "+err.Error()+".")
	}
	body, err := json.Marshal(own)
	if err != nil {
		return err
	}
	rows, _, err := v.protocolRows()
	if err != nil {
		return err
	}
	version := 1
	for _, r := range rows {
		if r.ID == p.ID && r.Adopted != nil {
			version = r.Adopted.Version + 1
		}
	}
	sum := sha256.Sum256(body)
	err = d.Store.Adopt(ledger.Adoption{
		Name: p.ID, Version: version, By: v.staff.ID, At: v.at.UTC(), Note: v.form("note"),
		Hash: base64.RawURLEncoding.EncodeToString(sum[:]), Body: body,
	}, v.trail())
	if errors.Is(err, ledger.ErrTaken) {
		return v.protocolShow(http.StatusConflict, "Somebody else adopted this protocol a moment ago. Look at it again.")
	} else if err != nil {
		return err
	}
	return v.back("/clinic/protocols/"+p.ID, "adopted")
}
