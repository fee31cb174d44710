package badgerstore

import (
	crand "crypto/rand"
	"errors"
	"testing"

	"unsling/server/ledger"
	"unsling/server/ledger/ledgertest"
)

func testOptions(keys ledgertest.Keys, fold ledger.Fold) Options {
	return Options{Content: keys.Content, ClinicMAC: keys.ClinicMAC, Fold: fold, Chance: crand.Reader, Run: "test", Started: ledgertest.Noon}
}

func TestMemory(t *testing.T) {
	ledgertest.Run(t, ledgertest.Setup{Forgets: true, Open: func(t *testing.T, _ string, keys ledgertest.Keys, fold ledger.Fold) ledger.Store {
		t.Helper()
		s, err := OpenMemory(testOptions(keys, fold))
		if err != nil {
			t.Fatal(err)
		}
		return s
	}})
}

func TestDisk(t *testing.T) {
	ledgertest.Run(t, ledgertest.Setup{Refuses: func(place string, keys ledgertest.Keys, fold ledger.Fold) error {
		s, err := Open(place, testOptions(keys, fold))
		if err == nil {
			err = errors.Join(errors.New("it opens"), s.Close())
		}
		return err
	}, Open: func(t *testing.T, place string, keys ledgertest.Keys, fold ledger.Fold) ledger.Store {
		t.Helper()
		s, err := Open(place, testOptions(keys, fold))
		if err != nil {
			t.Fatal(err)
		}
		return s
	}})
}
