// Package courier brings messages to the addresses that clubs name. It calls
// nobody but the public internet: the address that a name leads to is looked at
// when it is dialled, so that no answer of a name server gets around it.
package courier

import (
	"bytes"
	"context"
	"crypto/tls"
	"crypto/x509"
	"errors"
	"io"
	"net"
	"net/http"
	"net/netip"
	"syscall"
	"time"

	"lumbricary.example/service"

	"code.dny.dev/ssrf"
)

const (
	patience  = 15 * time.Second // from dialling to the end of the answer
	maxAnswer = 1000             // bytes that are read of an answer
)

// Courier posts messages. It implements service.Sender.
type Courier struct {
	client *http.Client
	agent  string
}

var _ service.Sender = (*Courier)(nil)

// New returns a courier that calls itself agent. Where loopback is set, it calls
// the program's own machine as well, at any port.
func New(agent string, loopback bool) *Courier {
	options := []ssrf.Option{ssrf.WithAnyPort()}
	if loopback {
		options = append(options,
			ssrf.WithAllowedV4Prefixes(netip.MustParsePrefix("127.0.0.0/8")), ssrf.WithAllowedV6Prefixes(netip.MustParsePrefix("::1/128")))
	}
	return over(agent, ssrf.New(options...).Safe, nil)
}

// over is New with what may be dialled and which certificates are trusted; nil:
// those of the machine.
func over(agent string, safe func(network, address string, c syscall.RawConn) error, trusted *x509.CertPool) *Courier {
	dialer := &net.Dialer{Timeout: patience, Control: safe}
	return &Courier{agent: agent, client: &http.Client{
		Timeout: patience,
		CheckRedirect: func(*http.Request, []*http.Request) error {
			return http.ErrUseLastResponse
		},
		Transport: &http.Transport{ // Proxy is nil: what is dialled is the receiver
			DialContext: dialer.DialContext, TLSClientConfig: &tls.Config{MinVersion: tls.VersionTLS12, RootCAs: trusted},
			TLSHandshakeTimeout: patience, DisableKeepAlives: true, ForceAttemptHTTP2: true, MaxResponseHeaderBytes: 64 << 10,
		},
	}}
}

// Send implements service.Sender.
func (c *Courier) Send(ctx context.Context, url string, headers map[string]string, body []byte) (made service.Attempt) {
	begun := time.Now()
	defer func() { made.Took = time.Since(begun).Round(time.Millisecond) }()
	req, err := http.NewRequestWithContext(ctx, http.MethodPost, url, bytes.NewReader(body))
	if err != nil {
		return service.Attempt{Fault: "address"}
	}
	for name, value := range headers {
		req.Header.Set(name, value)
	}
	req.Header.Set("User-Agent", c.agent)
	resp, err := c.client.Do(req)
	if err != nil {
		return service.Attempt{Fault: faultOf(err)}
	}
	defer func() { _ = resp.Body.Close() }() // nothing more is read
	answer, _ := io.ReadAll(io.LimitReader(resp.Body, maxAnswer))
	return service.Attempt{Status: resp.StatusCode, Answer: string(answer)}
}

// faultOf says in a word why there was no answer. What lies behind a name is
// nobody's business.
func faultOf(err error) string {
	_, noName := errors.AsType[*net.DNSError](err)
	_, badCertificate := errors.AsType[*tls.CertificateVerificationError](err)
	timeout, isNet := errors.AsType[net.Error](err)
	switch {
	case errors.Is(err, ssrf.ErrProhibitedIP), errors.Is(err, ssrf.ErrProhibitedNetwork), errors.Is(err, ssrf.ErrProhibitedPort):
		return "private-address"
	case noName:
		return "unknown-name"
	case badCertificate:
		return "certificate"
	case isNet && timeout.Timeout():
		return "timeout"
	}
	return "unreachable"
}
