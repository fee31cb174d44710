package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"strconv"
	"strings"

	"unsling/server/backup"
	"unsling/server/ledger"
)

const auditHelp = `unsling audit verify --data FOLDER [--head SEQ:HASH] [--backup FOLDER]

walks the audit log and computes its chain of hashes anew. A chain that fits
can still have lost its end: --head compares it with an entry that was noted
elsewhere, --backup with the heads in the manifests of a backup.`

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
	store, ring, err := openData(*data)
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
	end, err := walkAudit(store, noted)
	if err != nil {
		return err
	}
	fmt.Fprintf(out, "%d audit entries, the chain fits, %d noted heads among them. Note the end elsewhere: %d:%s\n", end.Seq, len(noted), end.Seq, end.Hash)
	return nil
}

// walkAudit computes the chain anew and looks for the noted heads in it.
func walkAudit(store ledger.Audits, noted []ledger.Head) (ledger.Head, error) {
	want := map[int64]string{}
	for _, h := range noted {
		want[h.Seq] = h.Hash
	}
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
			end = ledger.Head{Seq: e.Seq, Hash: hash}
		}
	}
	for seq := range want {
		if seq > end.Seq {
			return end, fmt.Errorf("the audit log ends at entry %d, entry %d was noted: its end is lost", end.Seq, seq)
		}
	}
	return end, nil
}
