// Package backup writes the ledger out as an encrypted, verified copy in a
// folder, step by step, and reads it back. It knows no store: what it writes
// are the rows of ledger.Archive.
//
// # The folder
//
//	FOLDER.json               whose folder this is; two clinics never share one
//	README.txt                how to restore, for whoever finds it
//	final.age                 what no restore may take back: revoked phones, people who left, erased patients
//	keys/NAME.age             one patient's wrapped content key; removed with an erasure
//	series/ID/manifest.json   the segments of one series, with sizes and SHA-256
//	series/ID/000001.age      a segment: what was new since the one before
//	series/ID/KEEP            why this series is never removed by itself
//
// A series begins with everything the store has; each segment adds what came
// since, in one consistent state. The folder may be a mount or be synced
// away: every file is written beside, flushed, and renamed, and only
// manifest.json, final.age and FOLDER.json are ever replaced. A new series
// begins after MaxSegments, or when the folder does not end where the store
// remembers it; the series before is kept, and one that the store may have
// lost something of is kept for ever.
//
// # Encryption
//
// Everything but FOLDER.json, README.txt and the manifests is encrypted with
// age (age-encryption.org/v1) to a recipient whose identity is not on the
// server. Inside, what a patient wrote and what is known of the patient is
// still encrypted under the content key, and that is wrapped with the key of
// the clinic's keyring: to read a backup takes the identity and the keyring,
// which is kept apart. Since content keys stand in files of their own,
// removing one file erases a patient from every series. Manifests carry an
// HMAC under a key of the keyring, so that nobody who can only write to the
// folder can slip in a row.
//
// # Format 1 of a segment, inside the encryption
//
//	"unsling backup 1\n"
//	frames: length (4 bytes, big-endian), kind (1 byte), content
//	  'h'  once, first: JSON of Header
//	  'r'  a row: length of space (uvarint), space, length of key (uvarint), key, value
//	  'e'  once, last: JSON of End, with a SHA-256 of everything before it and of itself
//
// The rows are those of ledger.Archive; their meaning belongs to the store's
// layout, whose number is in the header. Format 1 will always be read.
//
// # Verified
//
// A segment counts as verified when it has been read back from the folder
// and has the SHA-256 of what was encrypted; only then the store is told, and
// phones may forget what is in it after 90 days. What a server cannot check
// without the identity, Series.Rows does where the identity is.
package backup
