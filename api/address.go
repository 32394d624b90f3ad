package api

import (
	"fmt"
	"net/http"
	"net/netip"
	"strings"
)

// The part of an address that is one caller's: neighbours share it.
const (
	prefixV4 = 24
	prefixV6 = 64
)

// addressPrefix is where the call comes from, as a prefix.
func (r *request) addressPrefix() string {
	return prefixOf(clientAddress(r.gin.Request, r.server.TrustedProxies)).String()
}

// prefixOf is the prefix of an address that is counted as one caller.
func prefixOf(a netip.Addr) netip.Prefix {
	bits := prefixV6
	if a.Is4() {
		bits = prefixV4
	}
	p, err := a.Prefix(bits)
	if err != nil {
		return netip.Prefix{} // of no address: all of them are one caller
	}
	return p
}

// clientAddress is the address of the caller: that of the connection or, as long
// as that is a proxy we trust, the one before it in X-Forwarded-For, read from
// its end. What stands further left anybody may have written.
func clientAddress(r *http.Request, trusted []netip.Prefix) netip.Addr {
	var at netip.Addr
	if port, err := netip.ParseAddrPort(r.RemoteAddr); err == nil {
		at = unzoned(port.Addr())
	}
	hops := strings.Split(strings.Join(r.Header.Values("X-Forwarded-For"), ","), ",")
	for i := len(hops) - 1; i >= 0 && trusts(trusted, at); i-- {
		before, err := netip.ParseAddr(strings.TrimSpace(hops[i]))
		if err != nil {
			break
		}
		at = unzoned(before)
	}
	return at
}

// unzoned is an address without a zone, and IPv4 where it is mapped into IPv6.
func unzoned(a netip.Addr) netip.Addr { return a.Unmap().WithZone("") }

// ReadProxies reads a list of addresses and prefixes (CIDR), with commas or
// spaces between them. Errors: a word that is neither.
func ReadProxies(list string) ([]netip.Prefix, error) {
	var out []netip.Prefix
	for _, word := range strings.FieldsFunc(list, func(c rune) bool { return c == ',' || c == ' ' }) {
		if a, err := netip.ParseAddr(word); err == nil {
			word = netip.PrefixFrom(a, a.BitLen()).String()
		}
		p, err := netip.ParsePrefix(word)
		if err != nil {
			return nil, fmt.Errorf("TRUSTED_PROXIES: %q is no address and no prefix as 10.0.0.0/8", word)
		}
		out = append(out, p.Masked())
	}
	return out, nil
}

func trusts(trusted []netip.Prefix, a netip.Addr) bool {
	for _, p := range trusted {
		if p.Contains(a) {
			return true
		}
	}
	return false
}
