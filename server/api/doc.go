// Package api answers the phones: /v1/hello, /v1/enrol, /v1/devices,
// /v1/token and /v1/exchange, and beside them /healthz, /readyz and
// /.well-known/jwks.json.
//
// # What holds for every request
//
//  1. Each address takes one method and one content type and refuses others.
//  2. Bodies are bounded before and after decompression.
//  3. The row of the phone is looked up; a token only says who asks. The
//     patient is that of the row and never of the request.
//  4. An answer that is not a success is {"code","message"} from the closed
//     list in sync/wire, with its status.
//  5. What is acknowledged is on the disk.
//  6. Logs hold the address, the status, ids and codes: no names, no tokens,
//     no angles, no bodies, no network addresses.
package api
