package operator_test

import (
	"bytes"
	"crypto/rand"
	"errors"
	"net/http"
	"net/http/httptest"
	"regexp"
	"strings"
	"testing"
	"time"

	"lumbricary.example/api/apitest"
	"lumbricary.example/auth"
	"lumbricary.example/auth/operator"
	"lumbricary.example/service"
)

// desk is a program and the operator's tools on it.
type desk struct {
	*apitest.Program
	tools operator.Tools
	out   *bytes.Buffer
}

func newDesk(t *testing.T) desk {
	t.Helper()
	p := apitest.New(t)
	out := new(bytes.Buffer)
	gate := auth.NewGate(auth.GateOptions{Store: p.Store, Name: "https://worms.example", Now: p.Clock.Now, Random: rand.Reader})
	return desk{p, operator.Tools{Service: p.Server.Service, Gate: gate, PublicURL: "https://worms.example", Now: p.Clock.Now, Out: out}, out}
}

// do runs a command and returns what it printed.
func (d desk) do(t *testing.T, command, email string) string {
	t.Helper()
	d.out.Reset()
	if err := d.tools.Do(t.Context(), command, operator.About{Email: email}); err != nil {
		t.Fatalf("%s: %v", command, err)
	}
	return d.out.String()
}

var codeLine = regexp.MustCompile(`(?m)^[0-9A-Z]{58}$`)

func TestAResetLinkOpensTheAccount(t *testing.T) {
	t.Parallel()
	d := newDesk(t)
	d.SignUp("ana")
	said := d.do(t, operator.ResetLink, "ana@example.org")
	if !strings.Contains(said, "until 2026-05-01 09:00 UTC") || !strings.Contains(said, "https://worms.example/v1/recoveries") {
		t.Error(said)
	}
	d.Post("/v1/recoveries", map[string]string{"code": codeLine.FindString(said), "passphrase": "eleven snails in the rain"}).Want(http.StatusOK)
	if err := d.tools.Do(t.Context(), operator.ResetLink, operator.About{Email: "eve@example.org"}); !errors.Is(err, service.ErrAccountNotFound) {
		t.Errorf("nobody's address: %v", err)
	}
}

func TestRotatingLeavesOldTokensGoodAndShowsBothKeys(t *testing.T) {
	t.Parallel()
	d := newDesk(t)
	ana := d.SignUp("ana")
	d.Clock.Move(time.Minute)
	key := regexp.MustCompile(`key (\S{43})\.`).FindStringSubmatch(d.do(t, operator.RotateKeys, ""))[1]
	ana.Get("/v1/me").Want(http.StatusOK)
	d.Clock.Move(30 * time.Second) // the running copy looks again
	d.SignIn("ana").Get("/v1/me").Want(http.StatusOK)
	ana.Get("/v1/me").Want(http.StatusOK)
	if set := d.Get("/.well-known/jwks.json").Want(http.StatusOK); len(set.Value("/keys").([]any)) != 2 || set.Text("/keys/0/kid") != key {
		t.Error(set.Body)
	}
	want := regexp.MustCompile(`^` + key + `  made 2026-05-01 08:01 UTC  signs\n\S{43}  made 2026-05-01 08:00 UTC  retired 2026-05-01 08:01 UTC, verifies\n$`)
	if list := d.do(t, operator.ListKeys, ""); !want.MatchString(list) {
		t.Error(list)
	}
	d.Clock.Move(16 * time.Minute)
	if list := d.do(t, operator.ListKeys, ""); strings.Contains(list, "verifies") {
		t.Error(list)
	}
	if set := d.Get("/.well-known/jwks.json").Want(http.StatusOK); len(set.Value("/keys").([]any)) != 1 {
		t.Error(set.Body)
	}
}

func TestAFoundingCodeIsPrintedWithAWarningWhereNobodyAsksForIt(t *testing.T) {
	t.Parallel()
	d := newDesk(t)
	said := d.do(t, operator.FoundingCode, "")
	if !strings.Contains(said, "until 2026-05-08 08:00 UTC") || !codeLine.MatchString(said) || !strings.Contains(said, "FOUNDING is open") {
		t.Error(said)
	}
	d.Server.Founding = service.FoundingInvited
	if said := d.do(t, operator.FoundingCode, ""); strings.Contains(said, "FOUNDING is") {
		t.Error(said)
	}
}

func TestOnlyKnownCommandsAreDone(t *testing.T) {
	t.Parallel()
	d := newDesk(t)
	for _, command := range []string{"", "keys", "account", "keys list all"} {
		if operator.Known(command) || !errors.Is(d.tools.Do(t.Context(), command, operator.About{}), operator.ErrUnknown) {
			t.Errorf("%q is known", command)
		}
	}
}

func TestAServiceIsHealthyWhenItSaysItIsReady(t *testing.T) {
	t.Parallel()
	for status, healthy := range map[int]bool{http.StatusOK: true, http.StatusServiceUnavailable: false} {
		s := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
			if r.URL.Path != "/readyz" {
				t.Errorf("asked %s", r.URL)
			}
			w.WriteHeader(status)
		}))
		t.Cleanup(s.Close)
		if err := operator.Health(t.Context(), strings.TrimPrefix(s.URL, "http://")); (err == nil) != healthy {
			t.Errorf("%d: %v", status, err)
		}
	}
}
