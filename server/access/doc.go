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
package access
