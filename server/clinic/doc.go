// Package clinic is the clinic's desk: pages made on the server with
// html/template; a small script makes keys and charts handier, and no page
// needs it. It shows who needs
// somebody today, how one patient is going, and takes the acts of staff.
//
// # How a request goes
//
//  1. Every address but sign-in and the stylesheet needs a session; the row
//     of the session is looked up each time.
//  2. Every act asks access.Decide, with the patient's care team when there
//     is a patient. Whoever is outside the team is told that there is no
//     such patient.
//  3. One instant is taken per request, and every row it writes carries it.
//  4. A form that cannot be taken comes back with one sentence and with
//     everything that was typed.
//
// Every word of a person passes through html/template; pictures come from
// app/chart and app/figure, which print numbers and closed lists only.
//
// # Decisions
//
//   - The deputy gets no wider access than the care team: where a team lacks him, the watch list and the patient's
//     page say whom to add. Opening a patient because something is overdue would be access without a person who
//     gave it.
//   - A correction of side or date stands in the episode's record (rom.Correction) and stops the plan in the same
//     transaction; the second person gives side and date again instead of pressing "yes". Turned down or confirmed
//     without a surgeon, the plan stays stopped. A changed side drops what the other arm was the reference for.
//   - A patient is moved to another version of a protocol row by row (stricter, server/clinic/moveplan.go): what
//     the clinic had changed for the patient stays, and what permits more than the plan in force is taken only with
//     a tick. Phases of other names are all or nothing. One id and version is one text: another text needs another
//     number.
//   - The programme on paper holds for the days on which no phase can change, at most two weeks, since nothing
//     reaches paper. Readings from a therapist elsewhere come back on the hand-off sheet and are typed in; the
//     visit that names who took them is their source, there is no code to trust.
//   - Outcomes count the patients in one's own care and nobody else's, for surgeons and therapists; an
//     administrator sees none, not even sums. Fewer than five people are not shown, on the page or in the file, and
//     one more group is hidden where they could be worked out from the rest. Groups are one division at a time
//     (all, version, year): crossed ones would let a person be worked out. Readings of the clinic and of patients
//     are never pooled.
//   - Whoever takes everybody's records out gets them without names; one patient's FHIR Bundle has the name, its
//     tables have not.
//   - What comes from a file is taken whole or not at all: one faulty line holds up the file. Each person is one
//     transaction with an id made from file and line, so that an interrupted file goes on and nobody comes in
//     twice. Codes of operations of other systems are not translated: what was done decides the limits.
//   - Every form carries a mark of the person it was shown to. Another person's form is refused, and a form that
//     met an ended session comes back only to its writer, sealed (server/clinic/carry.go): the key is the server's,
//     so a shared computer shows nothing, and no form is kept on the server.
//   - The watch list is judged by episode and kept in memory until the log, the phones or the hour change it; a
//     list reads rows without facts (Heads), and what has ended is judged once. Pages go on from a row, not from a
//     number, so that nobody falls between two pages.
//   - Undo is a record that voids the act, by the person who did it and within a day; afterwards a clinician
//     corrects it with a reason. What a patient reported, and what stopped the programme, is answered and never
//     voided.
//   - The desk's pages have one script file of our own that no page needs (assets/desk.js); the policy allows
//     scripts of this server only.
//   - The visit summary is HTML, also as a file (complete in itself, with a policy of its own): a printed page is
//     one A4 or Letter by its style sheet and by limits on what it takes, which Chromium's PDF holds it to.
//   - A patient is enrolled with the plan made from the unchanged adopted protocols, whoever enrols. The surgeon's
//     confirmation makes it again from what was done; until a second person has confirmed the side nothing starts.
package clinic
