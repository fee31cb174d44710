// Package review judges one history on one day: what has the clinic to look
// at, why, who should act by when, and what would settle it.
//
// Findings evaluates every rule of Rules and returns those that fire. Explain
// returns all of them, with inputs, outcome and source, whether they fire or
// not: the two can never disagree, for they read the same judgement. Rank
// orders a panel of patients by steps that a clinician can repeat by hand.
//
// # What a finding is
//
// Key: stable name of the finding within an episode, such as "limit:FF".
// Staff acts (rom.Task) name it. Fingerprint: what the finding says, in short;
// it changes when the facts change in a way that deserves a new look, and not
// from one day to the next. An act answers a fingerprint, so that a finding
// acknowledged stays quiet until it changes.
//
// Severity: how soon a person must look. Watch means look at the next visit,
// and after a repair it never means push. Class: the kind of trouble; it
// decides call card, owner and due time.
//
// # Caller's duties
//
//  1. Give the patient's civil date, and the clinic's hours: without hours no
//     due time can be worked out, and a clinic without them must not monitor.
//  2. Give what only the server knows (last contact of each phone, revision
//     followed, clock error, damaged lines) in Inputs.
//  3. Never store a finding: it depends on the day.
//
// Nobody watches day and night. A finding is a reason to look, not a
// diagnosis; the surgeon decides.
//
// # Decisions
//
//   - Days before the first phone, or the first session that was written down, are unknown like those after the
//     last contact (review.Told): the patient's page, the findings, outcomes and explain share that span.
//   - What stays overdue goes to the deputy and then to everybody of the care team, in clinic hours
//     (review.Escalate); so the deputy is in the care team of whoever is enrolled.
package review
