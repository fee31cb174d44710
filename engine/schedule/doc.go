// Package schedule says what a plan allows and asks on a date. One function,
// On, is what the phone shows, what the clinic previews and what the tests
// check; Past gives it the history as the phone knew it on an earlier day.
//
// Rules, each safe when the phone is offline for long:
//
//  1. Surgery is day 0; week n is complete on day 7n.
//  2. A phase begins on the first day on which its day has come, every phase
//     before it has begun, and it is cleared where it needs clearance. What
//     was cleared opens nothing early; what was not cleared never opens.
//  3. A motion without a row in the phase is locked.
//  4. A missed session is never added to a later one.
//  5. Until the surgeon has confirmed the operation nothing of the programme
//     starts.
package schedule
