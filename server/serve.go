package main

import (
	"context"
	"crypto/tls"
	"errors"
	"flag"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/http"
	"net/url"
	"os"
	"strings"
	"sync"
	"time"

	"unsling/server/backup"
)

// writeLimit is how long an answer, or a piece of a long one, may take to be sent.
const writeLimit = time.Minute

// serveOptions are the settings of a running server.
type serveOptions struct {
	data, listen, public string
	cert, key            string
	behind               bool
	proxies              string // trusted ones beside the loopback

	metrics         string
	backupTo        string
	backupRecipient string
	minFree         uint64 // MiB
	rotateDays      uint64 // age of a signing key at which it is replaced
}

// upkeepFlags are those that serve and demo share.
func (o *serveOptions) upkeepFlags(f *flag.FlagSet) {
	f.StringVar(&o.metrics, "metrics-listen", "", "address on this machine for the operator: /metrics, /readyz with detail; none if not given")
	f.StringVar(&o.backupTo, "backup-to", "", "folder for a continuous encrypted backup, every minute when something changed")
	f.StringVar(&o.backupRecipient, "backup-recipient", "", "age recipient of the backup, from unsling keys identity")
	f.Uint64Var(&o.rotateDays, "rotate-keys", 90, "days after which the key that signs tokens is replaced by itself; 0 for by command only")
	f.Uint64Var(&o.minFree, "min-free", minFree>>20, "MiB that must be free on the disk to take in phones' records; at half of it nothing is written")
}

const serveHelp = `unsling serve runs the server for real use.

Flags come before the environment: --data is UNSLING_DATA, and so on. Without
TLS it listens on the loopback address only; a proxy on the same machine then
speaks TLS (--behind-proxy), or give --tls-cert and --tls-key.`

func serve(ctx context.Context, args []string, out, errs io.Writer) error {
	var o serveOptions
	f := flags("serve", serveHelp, errs)
	f.StringVar(&o.data, "data", "", "data folder (required); holds store and keys")
	f.StringVar(&o.listen, "listen", "127.0.0.1:8080", "address to listen on")
	f.StringVar(&o.public, "public-url", "", "address at which phones reach this server, such as https://shoulder.example.org (required unless on loopback)")
	f.StringVar(&o.cert, "tls-cert", "", "file with the TLS certificate chain")
	f.StringVar(&o.key, "tls-key", "", "file with the TLS private key")
	f.BoolVar(&o.behind, "behind-proxy", false, "a proxy in front of this server speaks TLS; addresses are taken from its X-Forwarded-For")
	f.StringVar(&o.proxies, "trusted-proxy", "", "addresses or networks of proxies that are not on this machine, divided by commas")
	o.upkeepFlags(f)
	if err := parse(f, args, os.Getenv); err != nil {
		return err
	}
	if o.data == "" {
		return wrong("serve needs --data FOLDER")
	}
	if err := o.check(); err != nil {
		return err
	}
	log := slog.New(slog.NewJSONHandler(errs, nil))
	h, err := open(settings{data: o.data, public: o.public, log: log})
	if err != nil {
		return err
	}
	defer h.close()
	if _, err := h.store.Clinic(); err != nil {
		return errors.New("nobody works here yet: add a first person with unsling staff add, then start again")
	}
	if h.desk.Cookies.Plain {
		fmt.Fprintln(out, "Without TLS: the session cookie has its plain name. Use this on this machine only.")
	}
	return run(ctx, h, o, func() { fmt.Fprintln(out, "Serving", o.public, "(clinic at "+o.public+"/clinic/)") })
}

// check fills in what follows from other settings and refuses unsafe ones.
func (o *serveOptions) check() error {
	host, port, err := net.SplitHostPort(o.listen)
	if err != nil {
		return wrong("--listen %q is not an address such as 127.0.0.1:8080", o.listen)
	}
	loopback := host == "localhost" || net.ParseIP(host) != nil && net.ParseIP(host).IsLoopback()
	hasTLS := o.cert != "" || o.key != ""
	switch {
	case hasTLS && (o.cert == "" || o.key == ""):
		return wrong("--tls-cert and --tls-key go together")
	case !hasTLS && !loopback && !o.behind:
		return wrong("listening on %s without TLS would send health data in clear: give --tls-cert and --tls-key, or --behind-proxy", o.listen)
	}
	switch {
	case o.proxies != "" && !o.behind:
		return wrong("--trusted-proxy goes with --behind-proxy")
	case (o.backupTo == "") != (o.backupRecipient == ""):
		return wrong("--backup-to and --backup-recipient go together")
	case o.backupTo != "":
		if _, err := backup.ParseRecipient(o.backupRecipient); err != nil {
			return wrong("--backup-recipient is %v", err)
		}
	}
	if o.public == "" {
		if !loopback || hasTLS || o.behind {
			return wrong("--public-url is needed: phones are sent there")
		}
		o.public = "http://localhost:" + port
	}
	u, err := url.Parse(o.public)
	if err != nil || u.Host == "" || u.Path != "" && u.Path != "/" || u.RawQuery != "" || u.Fragment != "" {
		return wrong("--public-url %q is not an address such as https://shoulder.example.org", o.public)
	}
	if u.Scheme != "https" && (u.Scheme != "http" || u.Hostname() != "localhost") {
		return wrong("--public-url must begin with https:// (http only for localhost)")
	}
	o.public = strings.TrimSuffix(o.public, "/")
	return nil
}

// drain is how long a stopping server lets requests finish.
const drain = 20 * time.Second

// run answers requests until ctx ends, then lets those under way finish.
func run(ctx context.Context, h *house, o serveOptions, ready func()) error {
	m := newMeter()
	h.api.Count = m.count
	handler := plainAddress(m.measure(h.handler))
	if o.behind {
		trusted, err := parseProxies(o.proxies)
		if err != nil {
			return err
		}
		handler = behindProxy(trusted, m.measure(h.handler))
	}
	u := newUpkeep(h, o)
	server := &http.Server{
		Handler: handler, ReadHeaderTimeout: 5 * time.Second, ReadTimeout: 30 * time.Second,
		WriteTimeout: writeLimit, IdleTimeout: 120 * time.Second, MaxHeaderBytes: 32 << 10,
		ErrorLog: slog.NewLogLogger(h.log.Handler(), slog.LevelWarn),
	}
	ln, err := net.Listen("tcp", o.listen)
	if err != nil {
		return fmt.Errorf("%s is not free: %w", o.listen, err)
	}
	if o.cert != "" {
		certs := &certFiles{cert: o.cert, key: o.key}
		if _, err := certs.get(nil); err != nil {
			return err
		}
		server.TLSConfig = &tls.Config{MinVersion: tls.VersionTLS12, GetCertificate: certs.get}
	}
	failed := make(chan error, 2)
	if o.metrics != "" {
		own, err := listenOperator(o.metrics)
		if err != nil {
			return err
		}
		operator := &http.Server{Handler: u.operator(m), ReadHeaderTimeout: 5 * time.Second, WriteTimeout: time.Minute}
		defer operator.Close()
		go func() { failed <- operator.Serve(own) }()
	}
	jobs, stopJobs := context.WithCancel(ctx)
	stopped := make(chan struct{})
	go func() {
		defer close(stopped)
		u.run(jobs)
	}()
	defer func() { // before the store is closed
		stopJobs()
		<-stopped
	}()
	go func() {
		if server.TLSConfig != nil {
			failed <- server.ServeTLS(ln, "", "")
		} else {
			failed <- server.Serve(ln)
		}
	}()
	h.api.SetReady(true)
	notify("READY=1")
	ready()
	select {
	case err := <-failed:
		return err
	case <-ctx.Done():
	}
	h.api.SetReady(false)
	notify("STOPPING=1")
	h.log.Info("stopping")
	stop, cancel := context.WithTimeout(context.Background(), drain)
	defer cancel()
	if err := server.Shutdown(stop); err != nil {
		return fmt.Errorf("stop: %w", err)
	}
	return nil
}

// certFiles reads the certificate again when its file changes, so that a
// renewed one is taken up without a restart.
type certFiles struct {
	cert, key string
	mu        sync.Mutex
	at        time.Time
	have      *tls.Certificate
}

func (c *certFiles) get(*tls.ClientHelloInfo) (*tls.Certificate, error) {
	c.mu.Lock()
	defer c.mu.Unlock()
	info, err := os.Stat(c.cert)
	if err == nil && c.have != nil && info.ModTime().Equal(c.at) {
		return c.have, nil
	}
	if err == nil {
		var pair tls.Certificate
		if pair, err = tls.LoadX509KeyPair(c.cert, c.key); err == nil {
			c.have, c.at = &pair, info.ModTime()
			return c.have, nil
		}
	}
	if c.have != nil {
		return c.have, nil // the old one is better than none
	}
	return nil, fmt.Errorf("read the TLS certificate: %w", err)
}
