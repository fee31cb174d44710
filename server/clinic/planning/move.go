package planning

import (
	"slices"

	"unsling/engine/protocol"
	"unsling/engine/rom"
	"unsling/server/ledger"
)

// Writer is who makes a revision, on which day, and what the phone shows of it.
type Writer struct {
	By      rom.StaffID
	On      rom.Date
	Signed  rom.Signature
	Contact rom.Contact
}

// Move are the two plans that a patient can be moved to: Strict permits nothing that the plan in force does not, Full is
// the new protocol with what the clinic had changed for this patient laid over it.
type Move struct {
	Strict, Full rom.Plan
	Versions     [][2]protocol.Protocol // from and to, where both texts are known
	Lost         bool                   // the text in force is not known any more: all counts as the patient's own
	Whole        bool                   // nothing can be taken row by row: Full or nothing
}

// MoveTo makes both plans from every adoption there was. What the clinic changed for this patient beyond the version in
// force stays; rev is the number of the revision to come.
func MoveTo(rows []ledger.Adoption, e rom.Episode, now rom.Plan, rev int, w Writer) (Move, error) {
	var m Move
	old, err := versions(rows, now.Protocol)
	if err != nil {
		return m, err
	}
	adopted, err := Newest(rows)
	if err != nil {
		return m, err
	}
	ch := Again(now)
	ch.Reason, ch.Rev, ch.By, ch.On, ch.Contact = "Moved", rev, w.By, w.On, w.Contact
	theirs, err := First(adopted, e, ch, nil)
	if err != nil {
		return m, err
	}
	for _, o := range old {
		if to, ok := adopted[o.Procedure]; ok && to.Ref() != o.Ref() {
			m.Versions = append(m.Versions, [2]protocol.Protocol{o, to})
		}
	}
	base := now // without the text of before, all of the patient's plan counts as the clinic's own choice
	ch.Answers = map[string]string{}
	for _, o := range old {
		for _, q := range o.Questions {
			ch.Answers[q.Key] = "yes"
		}
	}
	made, err := protocol.MakePlan(old, e, ch)
	if m.Lost = err != nil; !m.Lost {
		base = made
	}
	m.Full, _ = Merge(base, theirs, now)
	m.Full.Protocol, m.Full.Breaks, m.Full.Signed, m.Full.Contact = theirs.Protocol, now.Breaks, w.Signed, w.Contact
	m.Full.State, m.Full.Why, m.Full.Answers = now.State, now.Why, now.Answers
	m.Full.Episode, m.Full.By, m.Full.On, m.Full.Rev, m.Full.Base = e.ID, w.By, w.On, rev, now.Rev
	m.Strict = Stricter(now, m.Full)
	// Whatever could not be taken back row by row is all or nothing.
	m.Whole = !samePhases(now, m.Full) || now.Narrows(m.Strict)
	return m, nil
}

// versions are the texts of the protocols that a plan names, as far as they are known.
func versions(rows []ledger.Adoption, refs []rom.ProtocolRef) (list []protocol.Protocol, err error) {
	for _, ref := range refs {
		for _, row := range slices.Backward(rows) {
			p, err := Read(row)
			if err != nil {
				return nil, err
			}
			if p.Ref() == ref {
				list = append(list, p)
				break
			}
		}
	}
	return list, nil
}

// samePhases reports whether both plans have phases of the same names.
func samePhases(a, b rom.Plan) bool {
	within := func(a, b rom.Plan) bool {
		return !slices.ContainsFunc(a.Phases, func(ph rom.Phase) bool {
			_, ok := b.Phase(ph.Key)
			return !ok
		})
	}
	return within(a, b) && within(b, a)
}
