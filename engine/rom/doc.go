// Package rom holds the nouns of recovering shoulder motion and their rules
// of validity. It computes nothing about a patient; the other engine packages
// do that from what is defined here. Read this package first.
//
// # Glossary
//
// Motion: one movement of the arm with its zero position, such as external
// rotation at the side. ER at 20 degrees of abduction and ER at the side are
// different motions and are never read as one another.
//
// Class: who does the work. Passive (the other arm, the table, gravity),
// active-assisted, active, resisted. A phase permits a class per motion.
//
// Limit: what one phase permits of one motion: the highest class and a
// ceiling in degrees. No row for a motion means locked, never unlimited.
//
// Clearance: a surgeon's dated act that lets a phase begin. Dates alone open
// only steps inside one class.
//
// Plan: the clinic's instructions for one episode of care, complete in
// itself, as a chain of numbered revisions. A revision never changes.
//
// Prescription: an exercise with its dose (hold, repetitions, rest, times a
// day). Session: one sitting in which prescriptions are done. Hold: one stay
// at an end range. End range: the patient's own gentle end point, capped by
// the limit; not the limit itself.
//
// TERT, total end-range time: the summed seconds held at the end range of one
// motion in one day, those of broken holds too.
//
// Trial: one measurement of an angle. Reading: the result of one to three
// trials taken in one set-up, with its standard error (SE). SEM is the
// published standard error of measurement of a method, MDC the smallest
// change that exceeds it.
//
// Stiffness is a named published definition that was met in its own time
// window; it is never a general impression.
//
// # Time
//
// Surgery is day 0 and week n is complete on day 7n. A Date is a civil date
// in the patient's zone; an instant carries its offset. Clocks are data and
// never decide the order of records.
//
// # Decisions
//
//   - Sessions of a paper log are written by the clinic as sessions (rom.Session.By), with every hold asked and no
//     angle. They tell up to their last day; a day without a number stays unknown.
//   - Names of staff travel to the phone as a signature beside the staff id (rom.Signature in plan, seen and note):
//     optional, words for a person to read, proof of nothing. Records from before have none, and the phone says
//     "the clinic".
//   - Scores (Constant-Murley motion, ASES) are a record kind of the clinic's that holds values, never points:
//     arithmetic is computed where it is shown.
//   - Plan revisions are numbered per patient, across episodes, so that one number says what a phone follows.
package rom
