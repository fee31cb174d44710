// Package calendar writes reminders as iCalendar text (RFC 5545), on the
// phone, for the calendar that the person already uses.
//
// # What it promises
//
//   - Lines end with CRLF and are folded at 75 octets, never inside a
//     character (section 3.1). Text is escaped (section 3.3.11).
//   - Times are floating (section 3.3.5, form 1): nine in the morning means
//     nine where the person is. A zone would ring at night after a journey,
//     and would need a VTIMEZONE that goes stale.
//   - A reminder keeps its UID for ever (section 3.8.4.7); each change raises
//     SEQUENCE (section 3.8.7.4). One that falls away is written once more
//     with STATUS:CANCELLED (section 3.8.1.11), so that it goes from the
//     calendar that has it.
//   - Every alarm is of action DISPLAY and has a DESCRIPTION (section 3.6.6).
//   - A reminder ends by a date: after a discharge nothing rings for ever.
//
// # What it leaves to the caller
//
// Words. A lock screen shows them to everybody, so they must say nothing
// about health; [Calendar.Text] takes what it is given. The package reads no
// clock and no chance: stamp and ids are arguments.
//
// # Decisions
//
//   - Reminders are floating times that ring daily for eight weeks: nine means nine where the person is, and
//     nothing rings for ever after a discharge. What falls away is written once more as cancelled, since a calendar
//     takes files and forgets none.
package calendar
