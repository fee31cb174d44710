// Package ledgertest holds every implementation of ledger.Store to its
// contract. An implementation's own tests call Run.
package ledgertest
