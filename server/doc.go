// Command unsling is the clinic's server: one program with an embedded store,
// the phone's app, the interfaces of phones and the clinic's pages.
//
//	unsling serve           run the server for real use
//	unsling demo            run it with an invented clinic
//	unsling staff           add people of the clinic, or end their access
//	unsling verify          check a data folder: chains, checksums, facts
//	unsling backup          write an encrypted backup; also verify-backup and restore
//	unsling keys            make, save and rotate keys
//	unsling audit           check the chain of the audit log
//	unsling migrate         bring a data folder of an older version up to this one
//	unsling export          write everything about a patient, for people and machines
//	unsling erase           erase a patient for ever; takes two people
//	unsling check-protocol  check a protocol file, line by line
//	unsling explain         print every rule evaluated for a patient and a date
//	unsling version         print the version
//
// Each command explains itself with -h. The clock and the source of chance
// are read here and handed down; no other package of the server reads them.
package main
