package main

import (
	"bytes"
	"context"
	"errors"
	"flag"
	"io"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
)

func TestEveryCommandExplainsItself(t *testing.T) {
	for _, c := range commands {
		var errs bytes.Buffer
		args := []string{"-h"}
		if err := c.run(context.Background(), args, io.Discard, &errs); exitCode(orHelp(err)) != 0 {
			t.Errorf("%s -h: %v", c.name, err)
		}
		if !strings.Contains(errs.String(), "unsling "+c.name) {
			t.Errorf("%s -h does not explain itself: %q", c.name, errs.String())
		}
	}
}

func orHelp(err error) error {
	if err == nil {
		return flag.ErrHelp
	}
	return err
}

func TestWrongCalls(t *testing.T) {
	for _, args := range [][]string{
		{"no-such-command"}, {"serve"}, {"serve", "--no-such-flag"}, {"verify"}, {"verify", "/nowhere"}, {"staff"},
		{"staff", "add", "--data", "x"}, {"staff", "add", "--data", "x", "--role", "king"}, {"check-protocol"},
		{"demo", "--listen", "0.0.0.0:1", "--public-url", "https://x.example"},
	} {
		err := dispatch(context.Background(), args, io.Discard, io.Discard)
		if exitCode(orHelp(err)) != 2 {
			t.Errorf("%v: %v, want a wrong call", args, err)
		}
	}
	var out bytes.Buffer
	if err := dispatch(context.Background(), nil, &out, io.Discard); err != nil || !strings.Contains(out.String(), "verify") {
		t.Errorf("no arguments: %v, %q", err, out.String())
	}
}

func TestFlagsBeforeEnvironment(t *testing.T) {
	f := flag.NewFlagSet("x", flag.ContinueOnError)
	f.SetOutput(io.Discard)
	data, listen := f.String("data", "", ""), f.String("public-url", "", "")
	env := map[string]string{"UNSLING_DATA": "from-env", "UNSLING_PUBLIC_URL": "https://env.example"}
	if err := parse(f, []string{"--data", "from-flag"}, func(k string) string { return env[k] }); err != nil {
		t.Fatal(err)
	}
	if *data != "from-flag" || *listen != "https://env.example" {
		t.Errorf("data %q, public-url %q", *data, *listen)
	}
	g := flag.NewFlagSet("x", flag.ContinueOnError)
	g.Bool("behind-proxy", false, "")
	err := parse(g, nil, func(string) string { return "perhaps" })
	var wrong *usageError
	if !errors.As(err, &wrong) {
		t.Errorf("a value the flag does not take: %v", err)
	}
}

func TestServeOptions(t *testing.T) {
	for _, c := range []struct {
		o      serveOptions
		public string // "" is refused
	}{
		{serveOptions{listen: "127.0.0.1:8080"}, "http://localhost:8080"},
		{serveOptions{listen: "[::1]:9"}, "http://localhost:9"},
		{serveOptions{listen: "0.0.0.0:443"}, ""},                                                                     // in clear
		{serveOptions{listen: "0.0.0.0:443", cert: "c", key: "k"}, ""},                                                // where?
		{serveOptions{listen: "0.0.0.0:443", cert: "c", key: "k", public: "https://a.example/"}, "https://a.example"}, //
		{serveOptions{listen: "0.0.0.0:443", cert: "c", public: "https://a.example"}, ""},                             // no key
		{serveOptions{listen: "127.0.0.1:8080", behind: true, public: "https://a.example"}, "https://a.example"},      //
		{serveOptions{listen: "127.0.0.1:8080", public: "http://a.example"}, ""},                                      // tokens in clear
		{serveOptions{listen: "127.0.0.1:8080", public: "https://a.example/below"}, ""},                               //
		{serveOptions{listen: "nonsense"}, ""},                                                                        //
		{serveOptions{listen: "127.0.0.1:8080", public: "http://localhost:8080"}, "http://localhost:8080"},            //
	} {
		err := c.o.check()
		if (err == nil) != (c.public != "") || err == nil && c.o.public != c.public {
			t.Errorf("%+v: %v", c.o, err)
		}
	}
}

func TestOnlyHost(t *testing.T) {
	h := onlyHost("https://a.example", http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) { w.WriteHeader(204) }))
	for _, c := range []struct {
		method, host, path string
		status             int
		to                 string
	}{
		{"GET", "a.example", "/", 204, ""},
		{"GET", "127.0.0.1:8080", "/clinic/?x=1", 307, "https://a.example/clinic/?x=1"},
		{"POST", "evil.example", "/v1/exchange", 421, ""},
		{"GET", "127.0.0.1", "/healthz", 204, ""},
	} {
		r := httptest.NewRequest(c.method, c.path, nil)
		r.Host = c.host
		w := httptest.NewRecorder()
		h.ServeHTTP(w, r)
		if w.Code != c.status || w.Header().Get("Location") != c.to {
			t.Errorf("%s %s%s: %d %q", c.method, c.host, c.path, w.Code, w.Header().Get("Location"))
		}
	}
}
