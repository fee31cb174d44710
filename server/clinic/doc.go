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
package clinic
