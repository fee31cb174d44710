// Command buildweb builds the phone's program for the browser and packs it for embedding in the server.
//
// It writes, below server/web/dist: app.wasm.br and app.wasm.gz (the program, compressed), wasm_exec.js (the Go loader of
// this very tool chain), phone.css (every style sheet below app/, in the order of their paths) and build.json (sizes and
// hashes). Output is the same, byte for byte, for the same source and tool chain. When the program has not changed nothing
// is compressed again.
//
// Usage, from the top of the module:
//
//	go run ./server/internal/buildweb          build what is out of date
//	go run ./server/internal/buildweb -size    print the sizes and fail over the budget
//	go run ./server/internal/buildweb -fast    development: brotli at a low level, same file names
//
// # Decisions
//
//   - The program is 1.79 MB brotli (it had grown to 1.98). On one tree, in thousands of bytes: regexp out of the
//     UI library's copy (it brings all tables of Unicode) 75, ciphers and uuid 21 (slim.go.txt stands in for them),
//     inlining only where loops run 89 (inlined, server/internal/buildweb/build.go); leaving engine and sync
//     inlined would cost 69 of that again. Text, sorting and numbers stay inlined: another 11 at most. Price: a
//     year folds in 98 to 107 ms under js/wasm against 92 to 95 (fastest of nine, busy machine). Frames of a hold
//     29 ms. Start at 4x, in turns at load 2 to 4: 1.46 and 1.42 before, 1.29 and 1.51 after; two more runs after
//     gave 1.40 and 1.41: noise is as large as the gain. What packages do before main takes 10 ms in all and was
//     left. make test builds with -size and so fails above 2.0 MB. Routes of the phone are ^ and plain letters; any
//     other pattern ends the program at its start.
package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"os/signal"
	"path/filepath"
	"time"
)

func main() {
	size := flag.Bool("size", false, "print raw, gzip and brotli bytes and fail over the budget")
	fast := flag.Bool("fast", false, "compress quickly and less (development only)")
	root := flag.String("C", ".", "top folder of the module")
	flag.Parse()
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	if err := run(ctx, os.Stdout, *root, *fast, *size); err != nil {
		fmt.Fprintln(os.Stderr, "buildweb:", err)
		os.Exit(1)
	}
}

func run(ctx context.Context, out io.Writer, root string, fast, size bool) error {
	if _, err := os.Stat(filepath.Join(root, "go.mod")); err != nil {
		return errors.New("no go.mod here: run it from the top of the module or give -C FOLDER")
	}
	b := builder{root: root, dist: filepath.Join(root, "server", "web", "dist"), quality: bestQuality, slim: true, log: out}
	if fast {
		b.quality = fastQuality
	}
	if size && fast {
		return errors.New("-size judges the full compression: leave out -fast")
	}
	info, err := b.build(ctx)
	if err != nil {
		return err
	}
	if !size {
		return nil
	}
	fmt.Fprintf(out, "raw %d  gzip %d  brotli %d  budget %d (%.0f %%)\n",
		info.Raw, info.Gzip, info.Brotli, budget, 100*float64(info.Brotli)/budget)
	if info.Brotli > budget {
		return fmt.Errorf("the program is %d bytes over its brotli budget of %d", info.Brotli-budget, budget)
	}
	return nil
}

// step prints one line now and its duration when the returned function is called.
func step(w io.Writer, format string, args ...any) (done func()) {
	start := time.Now()
	fmt.Fprintf(w, format+" ... ", args...)
	return func() { fmt.Fprintf(w, "%.1f s\n", time.Since(start).Seconds()) }
}
