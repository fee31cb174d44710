package main

import (
	"context"
	"crypto/rand"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"time"

	"filippo.io/age"

	"unsling/server/access"
	"unsling/server/backup"
	"unsling/server/ledger"
	"unsling/server/ledger/badgerstore"
)

const backupHelp = `unsling backup --data FOLDER --to FOLDER --recipient age1...

writes an encrypted backup while no server has the data open (a running server
does it by itself, see unsling serve --backup-to). Only what is new since the
last one is written, read back, and then counts. The recipient is the public
half of a key made with unsling keys identity, which is kept elsewhere.`

func backUp(ctx context.Context, args []string, out, errs io.Writer) error {
	f := flags("backup", backupHelp, errs)
	data := f.String("data", "", "data folder")
	to := f.String("to", "", "folder of the backup")
	recipient := f.String("recipient", "", "age recipient")
	if err := parse(f, args, os.Getenv); err != nil {
		return err
	}
	if *data == "" || *to == "" || *recipient == "" {
		return wrong("backup needs --data, --to and --recipient")
	}
	if _, err := backup.ParseRecipient(*recipient); err != nil {
		return wrong("--recipient is %v", err)
	}
	store, ring, err := openData(*data)
	if err != nil {
		return err
	}
	defer store.Close()
	b := newBackup(store, ring, *to, *recipient, time.Now, rand.Reader)
	b.Say = say(out)
	res, err := b.Run(ctx)
	if err != nil {
		return err
	}
	if res.Nothing {
		fmt.Fprintf(out, "Nothing changed since segment %d of series %s.\n", res.Segment, res.Series)
		return nil
	}
	for _, p := range res.Damaged {
		fmt.Fprintf(out, "Patient %s cannot be read and is left out: run unsling verify.\n", p)
	}
	fmt.Fprintf(out, "Segment %d of series %s: %d rows, %d records, %d bytes; read back and verified.\n",
		res.Segment, res.Series, res.Rows, res.Lines, res.Bytes)
	return nil
}

// newBackup sets up the backup of a store.
func newBackup(store backup.Store, ring access.Keyring, to, recipient string, now func() time.Time, chance io.Reader) *backup.Backup {
	return &backup.Backup{Store: store, Folder: to, Recipient: recipient, Key: ring.BackupMAC(), Now: now,
		NewID: func() string { return randomID(chance) }}
}

func say(out io.Writer) func(string, ...any) {
	return func(format string, args ...any) { fmt.Fprintf(out, format+"\n", args...) }
}

// source are the flags that say which backup is meant and what opens it.
type source struct {
	from, series, until, identity, keyring, final string
}

func (s *source) flags(f interface {
	StringVar(p *string, name, value, usage string)
}) {
	f.StringVar(&s.from, "from", "", "folder of the backup")
	f.StringVar(&s.series, "series", "", "name of a series; the newest if not given")
	f.StringVar(&s.until, "until", "", "state at an instant such as 2026-03-02T12:00:00Z; the newest if not given")
	f.StringVar(&s.identity, "identity", "", "file with the age identity")
	f.StringVar(&s.keyring, "keyring", "", "saved keyring (from unsling keys save), or a folder of keys")
	f.StringVar(&s.final, "final", "", "newer copy of final.age, if the folder is an old copy")
}

// open chooses the series. ring is nil if no keyring was given.
func (s *source) open(out io.Writer) (backup.Series, *savedKeys, error) {
	c := backup.Choice{Folder: s.from, Series: s.series, FinalFile: s.final, Say: say(out)}
	if s.from == "" {
		return backup.Series{}, nil, wrong("--from FOLDER is needed")
	}
	if s.until != "" {
		var err error
		if c.Until, err = time.Parse(time.RFC3339, s.until); err != nil {
			return backup.Series{}, nil, wrong("--until %q is not an instant such as 2026-03-02T12:00:00Z", s.until)
		}
	}
	if s.identity != "" {
		var err error
		if c.Identities, err = readIdentities(s.identity); err != nil {
			return backup.Series{}, nil, err
		}
	}
	var keys *savedKeys
	if s.keyring != "" {
		var err error
		if keys, err = readKeys(s.keyring, c.Identities); err != nil {
			return backup.Series{}, nil, err
		}
		c.Key = keys.ring.BackupMAC()
	}
	series, err := backup.Open(c)
	return series, keys, err
}

const verifyBackupHelp = `unsling verify-backup --from FOLDER [--identity FILE [--keyring FILE]]

reads every file of a backup and compares sizes and hashes. With the identity
it decrypts everything and checks the order of the records and the chain of
the audit log. With the keyring too it restores into a temporary folder and
checks that store as unsling verify does: that is the restore drill.`

func verifyBackup(ctx context.Context, args []string, out, errs io.Writer) error {
	var s source
	f := flags("verify-backup", verifyBackupHelp, errs)
	s.flags(f)
	if err := parse(f, args, os.Getenv); err != nil {
		return err
	}
	series, keys, err := s.open(out)
	if err != nil {
		return err
	}
	if err := series.Check(); err != nil {
		return err
	}
	last := series.Last()
	fmt.Fprintf(out, "Series %s, %d segments, the last of %s: sizes and hashes are right.\n", series.Manifest.Series, len(series.Segments), last.At.Format(time.RFC3339))
	if keys == nil {
		fmt.Fprintln(out, "Not checked: who wrote the manifest (needs --keyring).")
	}
	if s.identity == "" {
		fmt.Fprintln(out, "Not checked: what is inside (needs --identity).")
		return nil
	}
	if keys == nil {
		rows := 0
		for _, err := range series.Rows() {
			if err != nil {
				return err
			}
			rows++
		}
		if _, err := series.Final(); err != nil {
			return err
		}
		fmt.Fprintf(out, "%d rows decrypted; order and audit chain are right, up to audit entry %d %s.\n", rows, last.Audit.Seq, last.Audit.Hash)
		return nil
	}
	dir, err := os.MkdirTemp("", "unsling-drill-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(dir)
	return restoreInto(ctx, filepath.Join(dir, "data"), series, *keys, out)
}

const restoreHelp = `unsling restore --from FOLDER --data EMPTY-FOLDER --identity FILE --keyring FILE

makes a data folder from a backup. It begins a new epoch, so that the phones
send what the backup does not have and return the clinic's records; until they
have, plans cannot be changed past what a phone follows. Phones that were
revoked, people who left and patients who were erased stay so, even if the
backup is older.`

func restore(ctx context.Context, args []string, out, errs io.Writer) error {
	var s source
	f := flags("restore", restoreHelp, errs)
	s.flags(f)
	data := f.String("data", "", "data folder to make; must not exist or be empty")
	if err := parse(f, args, os.Getenv); err != nil {
		return err
	}
	if *data == "" || s.identity == "" || s.keyring == "" {
		return wrong("restore needs --from, --data, --identity and --keyring")
	}
	entries, err := os.ReadDir(*data)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	if len(entries) > 0 {
		return wrong("%s is not empty; a restore never writes over anything", *data)
	}
	series, keys, err := s.open(out)
	if err != nil {
		return err
	}
	return restoreInto(ctx, *data, series, *keys, out)
}

// restoreInto makes a data folder and checks it.
func restoreInto(ctx context.Context, data string, series backup.Series, keys savedKeys, out io.Writer) error {
	fmt.Fprintf(out, "Restoring series %s as of %s.\n", series.Manifest.Series, series.Last().At.Format(time.RFC3339))
	final, err := series.Final()
	if err != nil {
		return err
	}
	if err := keys.write(filepath.Join(data, "keys")); err != nil {
		return err
	}
	store, err := openStore(badgerstore.Open, data, keys.ring, time.Now(), rand.Reader)
	if err != nil {
		return err
	}
	defer store.Close()
	if about, err := store.About(); err != nil || series.Layout > about.Schema {
		return errors.Join(fmt.Errorf("restore: %w", ledger.ErrNewer), err)
	}
	in, err := store.Import(series.Rows(), final, ledger.Trail{At: time.Now().UTC(), Actor: "server"})
	if err != nil {
		return err
	}
	fmt.Fprintf(out, "%d patients, %d records, %d audit entries; epoch %s.\n", in.Patients, in.Lines, in.Entries, in.About.Epoch)
	fmt.Fprintf(out, "Applied again because they are final: %d phones revoked, %d patients erased, %d people disabled.\n", in.Revoked, in.Erased, in.Disabled)
	for _, p := range in.Unreadable {
		fmt.Fprintf(out, "Patient %s: the content key is missing; what was written cannot be read.\n", p)
	}
	fmt.Fprintln(out, "Checking the restored store...")
	return report(ctx, store, out)
}

// readIdentities reads age identities from a file.
func readIdentities(path string) ([]age.Identity, error) {
	file, err := os.Open(path)
	if err != nil {
		return nil, fmt.Errorf("read the identity: %w", err)
	}
	defer file.Close()
	ids, err := age.ParseIdentities(file)
	if err != nil {
		return nil, fmt.Errorf("%s holds no age identity", path)
	}
	return ids, nil
}

// savedKeys are the files of a keyring.
type savedKeys struct {
	ring  access.Keyring
	files map[string][]byte
}

// readKeys reads a folder of keys or a file of unsling keys save.
func readKeys(path string, ids []age.Identity) (*savedKeys, error) {
	k := &savedKeys{files: map[string][]byte{}}
	info, err := os.Stat(path)
	if err != nil {
		return nil, fmt.Errorf("read the keyring: %w", err)
	}
	if info.IsDir() {
		for _, name := range access.KeyFiles {
			if k.files[name], err = os.ReadFile(filepath.Join(path, name)); err != nil {
				return nil, fmt.Errorf("read the keyring: %w", err)
			}
		}
	} else {
		if len(ids) == 0 {
			return nil, wrong("--keyring is encrypted: give --identity too")
		}
		text, err := os.Open(path)
		if err != nil {
			return nil, fmt.Errorf("read the keyring: %w", err)
		}
		defer text.Close()
		dec, err := age.Decrypt(text, ids...)
		if err != nil {
			return nil, fmt.Errorf("read the keyring: %w", err)
		}
		if err := json.NewDecoder(dec).Decode(&k.files); err != nil {
			return nil, fmt.Errorf("read the keyring: it is not as it was saved")
		}
	}
	k.ring, err = access.KeyringOf(k.files) // nothing of it is written down
	return k, err
}

func (k *savedKeys) write(dir string) error {
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return err
	}
	for _, name := range access.KeyFiles {
		if err := access.WriteKeyFile(dir, name, k.files[name]); err != nil {
			return err
		}
	}
	return nil
}
