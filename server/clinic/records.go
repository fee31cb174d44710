package clinic

import (
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"time"

	"unsling/engine/rom"
	"unsling/server/ledger"
	"unsling/sync/replica"
	"unsling/sync/wire"
)

// entry is one line of a patient's log with what became of it.
type entry struct {
	Seq    int64
	Ref    rom.Ref
	Kind   wire.Kind
	At     time.Time
	Who    string // by its author: the member of staff, "clinic" or "patient"
	Text   string // as it was written
	Now    string // as it is read today, when it was corrected
	Fixed  rom.Ref
	Voided bool
	Fault  string // why it does not count, "" when it does
	Body   any
	Raw    []byte
}

// Address is where the record stands.
func (e entry) Address() string {
	return "record?" + url.Values{"author": {string(e.Ref.Author)}, "n": {strconv.FormatInt(e.Ref.N, 10)}}.Encode()
}

// recordRows is how many records stand on one page.
const recordRows = 100

type recordsPage struct {
	Care    care
	Base    string
	Entries []entry
	Kinds   []oneChoice
	Kind    wire.Kind
	Total   int
	Older   string // address of what comes before, "" at the beginning
	Newest  string // address of the newest, "" there
	Held    int    // lines set aside
	Sealed  int    // lines of phones that were taken out of service
}

// log reads the whole log of the visit's patient, the oldest first, with what
// later records did to each.
func (v *visit) log(f file, names map[rom.StaffID]string) ([]entry, error) {
	lines, err := v.desk.Store.Read(v.patient.ID, 1, 0)
	if err != nil {
		return nil, err
	}
	fate := fates(f.History)
	damaged := map[rom.Ref]bool{}
	for _, ref := range f.History.Damaged {
		damaged[ref] = true
	}
	out := make([]entry, 0, len(lines))
	for _, l := range lines {
		e := entry{Seq: l.Seq, Ref: rom.Ref{Author: l.Author, N: l.N}, Raw: l.Bytes, Who: "patient"}
		if e.Ref.Author.FromClinic() {
			e.Who = "clinic"
		}
		rec, err := wire.DecodeStored(l.Bytes)
		if l.Erased || err != nil {
			e.Fault = "cannot be read"
			out = append(out, e)
			continue
		}
		e.Kind, e.At = rec.Kind, rec.At.In(v.zone)
		if !rec.Was.IsZero() {
			e.Fault = "repeats a record that was sent before"
		}
		body, err := wire.DecodeBody(rec.Kind, rec.V, rec.Body)
		switch {
		case errors.Is(err, wire.ErrNotUnderstood):
			e.Fault = "of a newer version of the app: kept, not understood here"
		case err != nil:
			e.Fault = "is not what its kind promises: kept, not counted"
		default:
			e.Body = body
			var by rom.StaffID
			e.Text, by = recordText(body)
			if fault := notCounted(e.Ref.Author, e.Kind, body); fault != "" {
				e.Fault = fault
			} else if damaged[e.Ref] {
				e.Fault = "changes what its writer may not change, or makes no sense: kept, not counted"
			}
			if by != "" && e.Ref.Author.FromClinic() {
				if e.Who = names[by]; e.Who == "" {
					e.Who = string(by)
				}
			}
		}
		if x, ok := fate[e.Ref]; ok {
			e.Voided, e.Fixed = x.voided, x.by
			if x.body != nil && !x.voided {
				e.Now, _ = recordText(x.body)
				e.Body = x.body
			}
		}
		out = append(out, e)
	}
	return out, nil
}

// notCounted says why what a wrote does not count, "" if it may.
func notCounted(a rom.Author, k wire.Kind, body any) string {
	info, known := wire.Info(k)
	switch {
	case replica.Counts(a, k, body):
		return ""
	case known && info.MayWrite(a):
		return "names a member of staff but came from a phone: kept, not counted"
	case info.Clinic:
		return "only the clinic writes this kind of record: kept, not counted"
	}
	return "only a phone writes this kind of record: kept, not counted"
}

// fate is what became of a record.
type fate struct {
	voided bool
	by     rom.Ref // the record that corrected it
	body   any
}

// fates lists the records that were corrected or taken back.
func fates(h rom.History) map[rom.Ref]fate {
	out := map[rom.Ref]fate{}
	for _, ref := range h.Voided {
		out[ref] = fate{voided: true}
	}
	collect(out, h.Sessions)
	collect(out, h.Readings)
	collect(out, h.Pains)
	collect(out, h.Slings)
	collect(out, h.Therapies)
	collect(out, h.Visits)
	collect(out, h.Notes)
	collect(out, h.Questions)
	collect(out, h.Tasks)
	return out
}

func collect[T any](out map[rom.Ref]fate, list []rom.Entry[T]) {
	for _, e := range list {
		if !e.Amended.IsZero() {
			out[e.Ref] = fate{by: e.Amended, body: e.Body}
		}
	}
}

// recordsPage is every record of a patient, the newest first, with every
// correction, a page at a time.
func (d *Desk) recordsPage(v *visit) error {
	f, err := v.file()
	if err != nil {
		return err
	}
	names, err := v.staffNames()
	if err != nil {
		return err
	}
	all, err := v.log(f, names)
	if err != nil {
		return err
	}
	c, _ := f.Current(v.episodeOf())
	p := recordsPage{Care: c, Base: "/clinic/patients/" + string(v.patient.ID), Kind: wire.Kind(v.r.URL.Query().Get("kind")), Total: len(all)}
	counts := map[wire.Kind]int{}
	for _, e := range all {
		counts[e.Kind]++
	}
	for _, k := range wire.Kinds() {
		if n := counts[k.Kind]; n > 0 {
			p.Kinds = append(p.Kinds, oneChoice{string(k.Kind), name(kindNames, k.Kind), n, k.Kind == p.Kind})
		}
	}
	if p.Held, p.Sealed, err = v.heldCounts(f); err != nil {
		return err
	}
	before, err := strconv.ParseInt(v.r.URL.Query().Get("before"), 10, 64)
	if err != nil {
		before = 1 << 62
	}
	address := func(before int64) string {
		q := url.Values{"episode": {string(c.Episode.ID)}}
		if p.Kind != "" {
			q.Set("kind", string(p.Kind))
		}
		if before > 0 {
			q.Set("before", strconv.FormatInt(before, 10))
		}
		return p.Base + "/records?" + q.Encode()
	}
	if before < 1<<62 {
		p.Newest = address(0)
	}
	for _, e := range slices.Backward(all) {
		if e.Seq >= before || p.Kind != "" && e.Kind != p.Kind {
			continue
		}
		if len(p.Entries) == recordRows {
			p.Older = address(p.Entries[recordRows-1].Seq)
			break
		}
		p.Entries = append(p.Entries, e)
	}
	return v.showWith(http.StatusOK, "records", frame{Title: "Every record of " + v.patient.Name, Page: p})
}

// heldCounts are the lines that are kept beside the log.
func (v *visit) heldCounts(f file) (held, sealed int, err error) {
	q, err := v.desk.Store.Quarantine(v.patient.ID)
	if err != nil {
		return 0, 0, err
	}
	for _, a := range f.Phones {
		if a.State != ledger.Revoked {
			continue
		}
		lines, err := v.desk.Store.Sealed(a.ID)
		if err != nil {
			return 0, 0, fmt.Errorf("count sealed lines: %w", err)
		}
		sealed += len(lines)
	}
	return len(q), sealed, nil
}
