package clinic

import (
	"slices"

	"unsling/server/access"
)

type headsPage struct {
	Heads []headRow
	Key   string
	Now   string
}

type headRow struct {
	access.AuditHead
	Text string
	When string
}

// headsMost is how many signed heads the page shows.
const headsMost = 60

// headsPage shows the daily signed heads, to be printed and kept elsewhere.
func (d *Desk) headsPage(v *visit) error {
	if err := v.may(access.SeeAudit); err != nil {
		return err
	}
	p := headsPage{Key: access.KeyText(d.AuditKey), Now: v.at.Format("2 January 2006 15:04")}
	end, err := d.auditEnd()
	if err != nil {
		return err
	}
	at := int64(0)
	for before := end + 1; before > 1 && at == 0 && end-before < auditScan; {
		from := max(1, before-auditChunk)
		chunk, err := d.Store.Audit(from, int(before-from))
		if err != nil {
			return err
		}
		for _, e := range slices.Backward(chunk) {
			if e.Act == access.HeadAct {
				at = e.Seq
				break
			}
		}
		before = from
	}
	for at > 0 && len(p.Heads) < headsMost {
		page, err := d.Store.Audit(at, 1)
		if err != nil {
			return err
		}
		if len(page) == 0 || page[0].Act != access.HeadAct {
			break
		}
		h, err := access.VerifyHead(d.AuditKey, page[0].Resource)
		if err != nil || h.Prev >= at {
			break // the command that verifies says more
		}
		p.Heads = append(p.Heads, headRow{h, page[0].Resource, h.At.In(v.zone).Format("2 Jan 2006 15:04")})
		at = h.Prev
	}
	return v.show("heads", "Signed heads of the audit log", "audit", p)
}
