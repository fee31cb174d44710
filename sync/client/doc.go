// Package client speaks to the server for the phone: it enrols, asks for
// tokens, and carries out the exchange that package replica decides, over
// net/http (in a browser that is fetch).
//
// The duties of its user:
//
//  1. Join once, with the code of an invitation; the same code may be sent
//     again after no answer came.
//  2. Call Syncer.Sync after each append and whenever Pace.Next says so. One
//     call at a time per window is enough; two windows do no harm.
//  3. Fold what Learned gives; show what Notice tells.
//  4. Recording needs none of this: no token, no network.
//
// Nothing here reads the clock or chance; both are given. No token, name or
// angle is ever part of an error text.
package client
