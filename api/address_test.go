package api

import (
	"net/http/httptest"
	"testing"
)

func TestForwardedAddressesAreBelievedFromTrustedProxiesOnly(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct {
		trusted, peer string
		forwarded     []string
		want          string
	}{
		"no proxy is trusted":           {"", "203.0.113.7:1", []string{"198.51.100.1"}, "203.0.113.0/24"},
		"another peer":                  {"10.0.0.0/8", "203.0.113.7:1", []string{"198.51.100.1"}, "203.0.113.0/24"},
		"a trusted proxy":               {"10.0.0.0/8", "10.1.2.3:1", []string{"198.51.100.1"}, "198.51.100.0/24"},
		"what the caller wrote":         {"10.0.0.0/8", "10.1.2.3:1", []string{"192.0.2.9, 198.51.100.1"}, "198.51.100.0/24"},
		"what the caller wrote, apart":  {"10.0.0.0/8", "10.1.2.3:1", []string{"192.0.2.9", "198.51.100.1"}, "198.51.100.0/24"},
		"two trusted proxies":           {"10.0.0.0/8 172.16.0.1", "10.1.2.3:1", []string{"198.51.100.1,172.16.0.1"}, "198.51.100.0/24"},
		"trusted all the way":           {"10.0.0.0/8", "10.1.2.3:1", []string{"10.9.9.9, 10.8.8.8"}, "10.9.9.0/24"},
		"nothing forwarded":             {"10.0.0.0/8", "10.1.2.3:1", nil, "10.1.2.0/24"},
		"something unreadable":          {"10.0.0.0/8", "10.1.2.3:1", []string{"198.51.100.1, unknown"}, "10.1.2.0/24"},
		"IPv6 by 64 bits":               {"", "[2001:db8:1:2:3:4:5:6]:1", nil, "2001:db8:1:2::/64"},
		"IPv4 in IPv6":                  {"10.0.0.0/8", "[::ffff:10.1.2.3]:1", []string{"::ffff:198.51.100.1"}, "198.51.100.0/24"},
		"a zone":                        {"", "[fe80::1%eth0]:1", nil, "fe80::/64"},
		"no address":                    {"0.0.0.0/0", "@", []string{"198.51.100.1"}, "invalid Prefix"},
		"a proxy by its address alone":  {"2001:db8::1", "[2001:db8::1]:1", []string{"198.51.100.1"}, "198.51.100.0/24"},
		"a prefix that isn't its start": {"10.1.2.3/8", "10.9.9.9:1", []string{"198.51.100.1"}, "198.51.100.0/24"},
	} {
		trusted, err := ReadProxies(c.trusted)
		if err != nil {
			t.Fatal(err)
		}
		r := httptest.NewRequestWithContext(t.Context(), "GET", "/", nil)
		r.RemoteAddr = c.peer
		for _, f := range c.forwarded {
			r.Header.Add("X-Forwarded-For", f)
		}
		if got := prefixOf(clientAddress(r, trusted)).String(); got != c.want {
			t.Errorf("%s: %s, want %s", name, got, c.want)
		}
	}
}

func TestAListOfProxiesIsReadWhole(t *testing.T) {
	t.Parallel()
	for _, bad := range []string{"proxy.example", "10.0.0.0/33", "10.0.0.0/8;172.16.0.1", "*"} {
		if got, err := ReadProxies(bad); err == nil {
			t.Errorf("%q is read as %v", bad, got)
		}
	}
	if got, err := ReadProxies(" 10.0.0.0/8 , ::1"); err != nil || len(got) != 2 {
		t.Errorf("%v, %v", got, err)
	}
}
