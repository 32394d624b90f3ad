package courier

import (
	"crypto/x509"
	"net/http"
	"net/http/httptest"
	"strings"
	"syscall"
	"testing"

	"code.dny.dev/ssrf"
)

func TestAMessageIsPostedOnceWithItsHeadersAndFollowedNowhere(t *testing.T) {
	t.Parallel()
	var got []*http.Request
	to := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		got = append(got, r)
		w.Header().Set("Location", "/elsewhere")
		w.WriteHeader(http.StatusTemporaryRedirect)
		_, _ = w.Write([]byte(strings.Repeat("x", 5000)))
	}))
	defer to.Close()
	made := New("Lumbricary/test", true).Send(t.Context(), to.URL+"/hook", map[string]string{"webhook-id": "m-1", "content-type": "application/json"}, []byte(`{}`))
	if made.Status != http.StatusTemporaryRedirect || made.Fault != "" || len(made.Answer) != 1000 {
		t.Errorf("%d %s, %d bytes", made.Status, made.Fault, len(made.Answer))
	}
	if len(got) != 1 || got[0].Method != http.MethodPost || got[0].URL.Path != "/hook" || got[0].Header.Get("webhook-id") != "m-1" ||
		got[0].UserAgent() != "Lumbricary/test" || got[0].ContentLength != 2 {
		t.Errorf("%+v", got)
	}
}

func TestNoPrivateAddressIsDialled(t *testing.T) {
	t.Parallel()
	to := httptest.NewTLSServer(http.HandlerFunc(func(http.ResponseWriter, *http.Request) { t.Error("it was called") }))
	defer to.Close()
	port := to.URL[strings.LastIndex(to.URL, ":"):]
	c := New("Lumbricary/test", false)
	for _, host := range []string{"127.0.0.1" + port, "localhost" + port, "10.0.0.1", "169.254.169.254", "192.168.1.1", "100.64.0.1", "0.0.0.0", "[::1]" + port, "[::ffff:127.0.0.1]" + port, "[fd00::1]", "[64:ff9b::7f00:1]"} {
		if made := c.Send(t.Context(), "https://"+host+"/", nil, nil); made.Fault != "private-address" {
			t.Errorf("%s: %d %s", host, made.Status, made.Fault)
		}
	}
	if made := New("Lumbricary/test", true).Send(t.Context(), "http://10.0.0.1/", nil, nil); made.Fault != "private-address" {
		t.Errorf("with loopback: %s", made.Fault)
	}
}

func TestWhyThereIsNoAnswerIsSaidInAWord(t *testing.T) {
	t.Parallel()
	secure := httptest.NewTLSServer(http.NotFoundHandler())
	defer secure.Close()
	closed := httptest.NewServer(http.NotFoundHandler())
	closed.Close()
	c := New("Lumbricary/test", true)
	for url, want := range map[string]string{
		secure.URL: "certificate", closed.URL: "unreachable", "http://name.invalid/": "unknown-name", "http://a b/": "address",
	} {
		if made := c.Send(t.Context(), url, nil, nil); made.Fault != want || made.Status != 0 {
			t.Errorf("%s: %d %s", url, made.Status, made.Fault)
		}
	}
	trusted := x509.NewCertPool()
	trusted.AddCert(secure.Certificate())
	local := ssrf.New(ssrf.WithAnyPort()).Safe
	if made := over("Lumbricary/test", func(network, address string, conn syscall.RawConn) error {
		if err := local(network, address, conn); err == nil {
			t.Errorf("%s is public", address)
		}
		return nil
	}, trusted).Send(t.Context(), secure.URL, nil, nil); made.Status != http.StatusNotFound {
		t.Errorf("a certificate that is trusted: %d %s", made.Status, made.Fault)
	}
}
