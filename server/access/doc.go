// Package access decides who may do what: keys and tokens, invitations,
// passwords, staff sessions, rate limits, and one policy for every act. It
// stores nothing: rows come from server/ledger, keys from small files that
// the main program reads once, and instants and chance are arguments.
//
// # What a caller has to do
//
//  1. Look the row up on every request (phone: ledger.Author, staff:
//     ledger.Session). A valid token only says who is asking.
//  2. Ask Decide before every act of staff, with the care team of the
//     patient; a scope is necessary and never sufficient.
//  3. Answer every refused sign-in and every refused invitation alike, in
//     words and in time.
//
// # Token kinds
//
// Each kind has its own header type, its own audience and one parser
// (RFC 8725): the phone's assertion (ES256 by the installation's key), the
// phone's access token and the session of staff (EdDSA by the clinic's key,
// RFC 9068). None is accepted in the place of another.
//
// # Decisions
//
//   - Acts that widen what a patient may do, hand out codes, export, erase, or change who may sign in ask again who
//     is there (rule.fresh in server/access/act.go), unless that was shown within five minutes: a passkey or the
//     password, one factor, since the session already had two. Stopping, pausing, narrowing, revoking a phone,
//     notes, readings and findings never ask: a surgeon with ten patients taps a passkey every few minutes at most,
//     and a stop is never held up. The form waits sealed for its writer and goes on by itself.
//   - A new start for somebody who signs in already takes two people, the administrator and a surgeon, therapist or
//     other administrator, so that "no clinical data" holds for an administrator who would take over a sign-in. An
//     invitation of somebody new takes one. Nothing is removed before the code is used.
//   - Passwords have 15 characters with and without a second factor: one rule is remembered. The second factor is
//     asked for unless the clinic turns it off; the demo has it off.
//   - Secrets of second factors are sealed under a key derived from the keyring, and signed heads are made by a key
//     derived from clinic-mac.key: no new file, so every saved keyring stays whole.
//   - Challenges are sealed and bound to the browser or session instead of being stored; used ones are remembered
//     in bounded memory until they would have run out.
//   - Restriction of processing (GDPR article 18) is begun by one clinician and lifted by another: beginning it is
//     the safe direction, lifting it is not. Phones go on sending and the plan stays in force, since losing records
//     or leaving somebody without a limit would harm; what narrows or stops goes on too.
package access
