package main

import (
	"encoding/json"
	"fmt"
	"io"
	"net"
	"net/http"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"

	"unsling/server/ledger"
)

// meter counts requests by the template of their route, and what the door
// for phones tells it. No label is ever an id, a name or an address.
type meter struct {
	mu       sync.Mutex
	inflight int
	requests map[[2]string]int64 // route, status
	seconds  map[string]float64  // route
	counts   map[[2]string]int64 // what, kind
}

func newMeter() *meter {
	return &meter{requests: map[[2]string]int64{}, seconds: map[string]float64{}, counts: map[[2]string]int64{}}
}

// count is api.API's Count.
func (m *meter) count(what, kind string, n int) {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.counts[[2]string{what, kind}] += int64(n)
}

// measure counts what next answers.
func (m *meter) measure(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		begun := time.Now()
		s := &statusWriter{ResponseWriter: w, status: http.StatusOK}
		m.mu.Lock()
		m.inflight++
		m.mu.Unlock()
		defer func() {
			route := r.Pattern // of the innermost mux: a template
			if route == "" {
				route = "none"
			}
			m.mu.Lock()
			defer m.mu.Unlock()
			m.inflight--
			m.requests[[2]string{route, strconv.Itoa(s.status)}]++
			m.seconds[route] += time.Since(begun).Seconds()
		}()
		next.ServeHTTP(s, r)
	})
}

type statusWriter struct {
	http.ResponseWriter
	status int
}

func (s *statusWriter) WriteHeader(status int) {
	s.status = status
	s.ResponseWriter.WriteHeader(status)
}

// Unwrap lets http.ResponseController through.
func (s *statusWriter) Unwrap() http.ResponseWriter { return s.ResponseWriter }

// operator answers on the operator's own address: /metrics, /readyz with
// detail, /healthz. It must be on the loopback.
func (u *upkeep) operator(m *meter) http.Handler {
	mux := http.NewServeMux()
	mux.HandleFunc("GET /healthz", func(w http.ResponseWriter, _ *http.Request) { _, _ = io.WriteString(w, "ok\n") })
	mux.HandleFunc("GET /metrics", func(w http.ResponseWriter, _ *http.Request) {
		w.Header().Set("Content-Type", "text/plain; version=0.0.4; charset=utf-8")
		var b strings.Builder
		u.write(&b, m)
		_, _ = io.WriteString(w, b.String())
	})
	mux.HandleFunc("GET /readyz", func(w http.ResponseWriter, _ *http.Request) {
		d := u.detail()
		w.Header().Set("Content-Type", "application/json")
		if !d.Ready {
			w.WriteHeader(http.StatusServiceUnavailable)
		}
		enc := json.NewEncoder(w)
		enc.SetIndent("", " ")
		_ = enc.Encode(d)
	})
	return mux
}

// detail is what the operator sees.
type detail struct {
	Ready   bool              `json:"ready"`
	Room    string            `json:"room"`
	Free    uint64            `json:"free_bytes"`
	Backup  string            `json:"backup"`
	Segment string            `json:"segment,omitempty"`
	Verify  string            `json:"verify"`
	Faults  []string          `json:"faults,omitempty"`
	Aside   []string          `json:"quarantine,omitempty"`
	Errors  map[string]string `json:"errors,omitempty"`
}

func (u *upkeep) detail() detail {
	s := u.snapshot()
	d := detail{Room: roomNames[s.Room], Free: s.Free, Backup: "none is configured", Segment: s.Segment, Verify: when(s.Verify.Good), Errors: map[string]string{}}
	if u.backup != nil {
		d.Backup = when(s.Backup.Good)
	}
	for _, f := range s.Verified.Faults {
		d.Faults = append(d.Faults, fmt.Sprintf("patient %s, record %d: %s", f.Patient, f.Seq, f.What))
	}
	for _, a := range s.Verified.Aside {
		d.Aside = append(d.Aside, fmt.Sprintf("patient %s: %d of a copied phone, %d not a record", a.Patient, a.Forked, a.Malformed))
	}
	for name, err := range map[string]string{"backup": s.Backup.Err, "check of the backup": s.Check.Err, "verify": s.Verify.Err, "tidy": s.Tidy.Err, "disk": s.FreeErr} {
		if err != "" {
			d.Errors[name] = err
		}
	}
	if _, err := u.h.store.Health(); err != nil {
		d.Errors["store"] = err.Error()
	}
	d.Ready = s.Room == ledger.Plenty && d.Errors["store"] == ""
	return d
}

func when(t time.Time) string {
	if t.IsZero() {
		return "not yet"
	}
	return t.UTC().Format(time.RFC3339)
}

// write prints the numbers in the text format 0.0.4 of Prometheus.
func (u *upkeep) write(w io.Writer, m *meter) {
	s := u.snapshot()
	now := u.h.now()
	p := printer{w}
	p.head("unsling_build_info", "gauge", "The program that runs.")
	p.value("unsling_build_info", 1, "go", runtime.Version(), "app", u.h.site.Version())
	p.one("unsling_uptime_seconds", "gauge", "Since the start.", now.Sub(u.started).Seconds())

	m.mu.Lock()
	p.one("unsling_requests_in_flight", "gauge", "Requests under way.", float64(m.inflight))
	p.head("unsling_requests_total", "counter", "Requests by template of the route and status.")
	for _, k := range sortedKeys(m.requests) {
		p.value("unsling_requests_total", float64(m.requests[k]), "route", k[0], "status", k[1])
	}
	p.head("unsling_request_seconds_total", "counter", "Time spent on requests, by template of the route.")
	routes := make([]string, 0, len(m.seconds))
	for r := range m.seconds {
		routes = append(routes, r)
	}
	slices.Sort(routes)
	for _, r := range routes {
		p.value("unsling_request_seconds_total", m.seconds[r], "route", r)
	}
	for _, x := range [][3]string{
		{"record", "unsling_records_total", "Lines of exchanges by what became of them: aside is the quarantine, known is sent twice."},
		{"refusal", "unsling_refusals_total", "Refusals to phones by code."},
	} {
		p.head(x[1], "counter", x[2])
		for _, k := range sortedKeys(m.counts) {
			if k[0] == x[0] {
				p.value(x[1], float64(m.counts[k]), "kind", k[1])
			}
		}
	}
	m.mu.Unlock()

	if u.backup != nil {
		age := now.Sub(u.started)
		if !s.Backup.Good.IsZero() {
			age = now.Sub(s.Backup.Good)
		}
		p.one("unsling_backup_age_seconds", "gauge", "Since everything was last in a verified backup, or since the start if it never was.", age.Seconds())
		p.one("unsling_backup_failures_total", "counter", "Backups that failed since the start.", float64(s.Backup.Failed))
		p.one("unsling_backup_left_out", "gauge", "Patients that the last backup had to leave out.", float64(s.Damaged))
		p.one("unsling_backup_check_bad", "gauge", "1 if the daily check of the backup's files failed.", bit(s.Check.Err != ""))
	}
	p.one("unsling_verify_last_seconds", "gauge", "Unix time of the last complete verification, 0 for none.", unix(s.Verify.Good))
	p.one("unsling_verify_faults", "gauge", "Faults that the last verification found.", float64(s.Faults))
	aside := 0
	for _, a := range s.Verified.Aside {
		aside += a.Forked + a.Malformed
	}
	p.one("unsling_quarantined_lines", "gauge", "Lines in quarantine at the last verification.", float64(aside))
	p.one("unsling_verify_failures_total", "counter", "Verifications that could not be finished.", float64(s.Verify.Failed))
	p.one("unsling_disk_free_bytes", "gauge", "Room on the data's disk.", float64(s.Free))
	p.one("unsling_disk_room", "gauge", "0 plenty, 1 little: phones' records are not taken, 2 none: nothing is written.", float64(s.Room))
	if h, err := u.h.store.Health(); err == nil {
		p.one("unsling_store_bytes", "gauge", "Size of the store on the disk.", float64(h.Bytes))
		p.one("unsling_patients", "gauge", "Patients, erased ones included.", float64(h.Patients))
		p.one("unsling_audit_head", "gauge", "Number of the last audit entry.", float64(h.Audit))
	}
	var mem runtime.MemStats
	runtime.ReadMemStats(&mem)
	p.one("unsling_memory_bytes", "gauge", "Memory that Go has from the system.", float64(mem.Sys-mem.HeapReleased))
	p.one("unsling_goroutines", "gauge", "Goroutines.", float64(runtime.NumGoroutine()))
}

func bit(b bool) float64 {
	if b {
		return 1
	}
	return 0
}

func unix(t time.Time) float64 {
	if t.IsZero() {
		return 0
	}
	return float64(t.Unix())
}

func sortedKeys(m map[[2]string]int64) [][2]string {
	keys := make([][2]string, 0, len(m))
	for k := range m {
		keys = append(keys, k)
	}
	slices.SortFunc(keys, func(a, b [2]string) int { return slices.Compare(a[:], b[:]) })
	return keys
}

type printer struct{ w io.Writer }

func (p printer) head(name, kind, help string) {
	fmt.Fprintf(p.w, "# HELP %s %s\n# TYPE %s %s\n", name, help, name, kind)
}

func (p printer) one(name, kind, help string, v float64) {
	p.head(name, kind, help)
	p.value(name, v)
}

func (p printer) value(name string, v float64, labels ...string) {
	var l []string
	for i := 0; i < len(labels); i += 2 {
		l = append(l, labels[i]+`="`+labelEscape.Replace(labels[i+1])+`"`)
	}
	if len(l) > 0 {
		name += "{" + strings.Join(l, ",") + "}"
	}
	fmt.Fprintf(p.w, "%s %s\n", name, strconv.FormatFloat(v, 'g', -1, 64))
}

var labelEscape = strings.NewReplacer(`\`, `\\`, `"`, `\"`, "\n", `\n`)

// listenOperator opens the operator's address, on the loopback only.
func listenOperator(address string) (net.Listener, error) {
	host, _, err := net.SplitHostPort(address)
	if err != nil || host != "localhost" && (net.ParseIP(host) == nil || !net.ParseIP(host).IsLoopback()) {
		return nil, wrong("--metrics-listen %q is not an address on this machine such as 127.0.0.1:9301", address)
	}
	ln, err := net.Listen("tcp", address)
	if err != nil {
		return nil, fmt.Errorf("%s is not free: %w", address, err)
	}
	return ln, nil
}
