package main

import (
	"context"
	"crypto/ed25519"
	"fmt"
	"io"
	"os"
	"strconv"
	"strings"

	"unsling/server/access"
	"unsling/server/backup"
	"unsling/server/ledger"
)

const auditHelp = `unsling audit verify --data FOLDER [--head SEQ:HASH] [--heads FILE] [--backup FOLDER]

walks the audit log, computes its chain of hashes anew, and holds the signed
heads in it to the chain. A chain that fits can still have lost its end, or be
an old copy: --heads compares it with signed heads that were kept elsewhere
(one a line, as the page "Signed heads" and the server's log have them),
--head with one entry, --backup with the heads in the manifests of a backup.`

func audit(_ context.Context, args []string, out, errs io.Writer) error {
	if len(args) == 0 || args[0] != "verify" {
		fmt.Fprintln(errs, auditHelp)
		if len(args) > 0 && (args[0] == "-h" || args[0] == "--help" || args[0] == "help") {
			return nil
		}
		return wrong("audit has one verb: verify")
	}
	f := flags("audit verify", auditHelp, errs)
	data := f.String("data", "", "data folder")
	head := f.String("head", "", "SEQ:HASH of an entry that was noted elsewhere")
	folder := f.String("backup", "", "folder of a backup")
	heads := f.String("heads", "", "file of signed heads that were kept elsewhere")
	if err := parse(f, args[1:], os.Getenv); err != nil {
		return err
	}
	if *data == "" {
		return wrong("audit verify needs --data FOLDER")
	}
	var noted []ledger.Head
	if *head != "" {
		seq, hash, _ := strings.Cut(*head, ":")
		n, err := strconv.ParseInt(seq, 10, 64)
		if err != nil || n < 1 || len(hash) != 43 {
			return wrong("--head %q is not SEQ:HASH", *head)
		}
		noted = append(noted, ledger.Head{Seq: n, Hash: hash})
	}
	store, ring, err := inspectData(*data)
	if err != nil {
		return err
	}
	defer store.Close()
	if *folder != "" {
		series, err := backup.Open(backup.Choice{Folder: *folder, Key: ring.BackupMAC(), Say: say(out)})
		if err != nil {
			return err
		}
		for _, s := range series.Segments {
			noted = append(noted, s.Audit)
		}
	}
	if *heads != "" {
		kept, err := readHeads(*heads, ring.AuditKey().Public())
		if err != nil {
			return err
		}
		noted = append(noted, kept...)
	}
	end, err := walkAudit(store, noted, ring.AuditKey().Public())
	if err != nil {
		return err
	}
	fmt.Fprintf(out, "%d audit entries, the chain fits, %d noted heads among them. Note the end elsewhere: %d:%s\n", end.Seq, len(noted), end.Seq, end.Hash)
	return nil
}

// readHeads reads and verifies the signed heads of a file. Empty lines and
// those that begin with # are left out; a file without any is an error.
func readHeads(file string, key ed25519.PublicKey) ([]ledger.Head, error) {
	text, err := os.ReadFile(file)
	if err != nil {
		return nil, err
	}
	var all []ledger.Head
	for n, line := range strings.Split(string(text), "\n") {
		line = strings.TrimSpace(line)
		if line == "" || strings.HasPrefix(line, "#") {
			continue
		}
		h, err := access.VerifyHead(key, line)
		if err != nil {
			return nil, fmt.Errorf("%s line %d is not a head that this clinic signed: %w", file, n+1, err)
		}
		all = append(all, ledger.Head{Seq: h.Seq, Hash: h.Hash})
	}
	if len(all) == 0 {
		return nil, fmt.Errorf("%s holds no signed head", file)
	}
	return all, nil
}

// headWithin is within how many entries of what it signs a head is written.
const headWithin = 10_000

// walkAudit computes the chain anew, looks for the noted heads in it, and
// verifies the signed ones that it holds.
func walkAudit(store ledger.Audits, noted []ledger.Head, key ed25519.PublicKey) (ledger.Head, error) {
	want := map[int64]string{}
	for _, h := range noted {
		if w, ok := want[h.Seq]; ok && w != h.Hash {
			return ledger.Head{}, fmt.Errorf("two noted heads of entry %d differ: the log was another one once", h.Seq)
		}
		want[h.Seq] = h.Hash
	}
	recent := map[int64]string{} // what a head can speak of: it is written soon after
	var end ledger.Head
	for {
		page, err := store.Audit(end.Seq+1, 1000)
		if err != nil {
			return end, err
		}
		if len(page) == 0 {
			break
		}
		for _, e := range page {
			_, hash, err := ledger.ChainEntry(end.Hash, e)
			if err != nil {
				return end, err
			}
			if e.Seq != end.Seq+1 || hash != e.Hash {
				return end, fmt.Errorf("audit entry %d does not fit the chain", end.Seq+1)
			}
			if w, ok := want[e.Seq]; ok && w != hash {
				return end, fmt.Errorf("audit entry %d is not the one that was noted", e.Seq)
			}
			if e.Act == access.HeadAct {
				h, err := access.VerifyHead(key, e.Resource)
				if err != nil || recent[h.Seq] != h.Hash {
					return end, fmt.Errorf("audit entry %d holds a signed head that does not fit the chain", e.Seq)
				}
			}
			end = ledger.Head{Seq: e.Seq, Hash: hash}
			recent[e.Seq] = hash
			delete(recent, e.Seq-headWithin)
		}
	}
	for seq := range want {
		if seq > end.Seq {
			return end, fmt.Errorf("the audit log ends at entry %d, entry %d was noted: its end is lost", end.Seq, seq)
		}
	}
	return end, nil
}
