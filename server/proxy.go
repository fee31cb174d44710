package main

import (
	"net"
	"net/http"
	"net/netip"
	"slices"
	"strings"
)

// parseProxies reads addresses and networks such as 10.0.0.0/8. The loopback
// addresses are always trusted.
func parseProxies(text string) ([]netip.Prefix, error) {
	trusted := []netip.Prefix{netip.MustParsePrefix("127.0.0.0/8"), netip.MustParsePrefix("::1/128")}
	for one := range strings.SplitSeq(text, ",") {
		if one = strings.TrimSpace(one); one == "" {
			continue
		}
		if a, err := netip.ParseAddr(one); err == nil {
			trusted = append(trusted, netip.PrefixFrom(a, a.BitLen()))
			continue
		}
		p, err := netip.ParsePrefix(one)
		if err != nil {
			return nil, wrong("--trusted-proxy %q is not an address or a network such as 10.0.0.0/8", one)
		}
		trusted = append(trusted, p.Masked())
	}
	return trusted, nil
}

// behindProxy sets the address of a request to the one that the trusted
// proxies saw: the last of X-Forwarded-For that is not itself such a proxy.
// What stands further left was written by the client and is not believed. A
// request that comes from elsewhere than a trusted proxy went around its TLS,
// and is refused.
func behindProxy(trusted []netip.Prefix, next http.Handler) http.Handler {
	isTrusted := func(a netip.Addr) bool {
		return slices.ContainsFunc(trusted, func(p netip.Prefix) bool { return p.Contains(a) })
	}
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		peer, err := netip.ParseAddrPort(r.RemoteAddr)
		if err != nil || !isTrusted(peer.Addr().Unmap()) {
			http.Error(w, "This server is reached through its proxy only.", http.StatusForbidden)
			return
		}
		client := peer.Addr().Unmap()
		hops := strings.Split(strings.Join(r.Header.Values("X-Forwarded-For"), ","), ",")
		for _, hop := range slices.Backward(hops) {
			a, err := netip.ParseAddr(strings.TrimSpace(hop))
			if err != nil {
				break
			}
			if client = a.Unmap().WithZone(""); !isTrusted(client) {
				break
			}
		}
		r.RemoteAddr = net.JoinHostPort(client.String(), "0")
		next.ServeHTTP(w, r)
	})
}

// plainAddress forgets what a client says of its own address, where no proxy
// is in front.
func plainAddress(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		r.Header.Del("X-Forwarded-For")
		next.ServeHTTP(w, r)
	})
}
