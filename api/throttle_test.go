package api_test

import (
	"context"
	"crypto/rand"
	"fmt"
	"net/http"
	"net/netip"
	"sync/atomic"
	"testing"
	"time"

	"lumbricary.example/api"
	"lumbricary.example/api/apitest"
	"lumbricary.example/auth"
	"lumbricary.example/service"
)

// counting is a gate that counts the passphrases it hashes.
type counting struct {
	service.Gate
	hashes *atomic.Int64
}

func (g counting) Hash(ctx context.Context, passphrase string) (string, error) {
	g.hashes.Add(1)
	return g.Gate.Hash(ctx, passphrase)
}

func (g counting) Verify(ctx context.Context, hash, passphrase string) (bool, error) {
	g.hashes.Add(1)
	return g.Gate.Verify(ctx, hash, passphrase)
}

// throttled is a program with limits, which counts its hashes.
func throttled(t *testing.T, limits api.Limits) (*apitest.Program, *atomic.Int64) {
	t.Helper()
	c := apitest.New(t)
	gate := auth.NewGate(auth.GateOptions{Store: c.Store, Name: "https://worms.example", Now: c.Clock.Now, Random: rand.Reader, Secret: []byte("key")})
	hashes := new(atomic.Int64)
	c.Server.Service = service.New(c.Server.Desk, counting{gate, hashes})
	c.Server.Limits = limits
	c.Server.TrustedProxies = []netip.Prefix{netip.MustParsePrefix("192.0.2.0/24")} // the caller of tests
	return c, hashes
}

func attempt(c apitest.Caller, from, email string) *apitest.Answer {
	return c.With("X-Forwarded-For", from).Post("/v1/sessions", map[string]string{"email": email, "passphrase": "rhubarb under no lids"})
}

func TestSignInsFromOneAddressAreThrottledBeforeAnyHash(t *testing.T) {
	t.Parallel()
	c, hashes := throttled(t, api.Limits{Address: api.Allowance{PerMinute: 6, Burst: 3}})
	for i := range 3 {
		attempt(c.Caller, fmt.Sprintf("198.51.100.%d", i), fmt.Sprintf("a%d@example.org", i)).Problem(http.StatusUnauthorized, "credentials")
	}
	before := hashes.Load()
	attempt(c.Caller, "198.51.100.9", "z@example.org").Problem(http.StatusTooManyRequests, "limited").Has("Retry-After", "10").
		Has("RateLimit-Policy", `"address";q=3;w=30`).Has("RateLimit", `"address";r=0;t=30`)
	from := c.With("X-Forwarded-For", "198.51.100.9")
	from.Post("/v1/accounts", `{"email":"z@example.org","name":"Z","passphrase":"rhubarb under seven lids"}`).Problem(http.StatusTooManyRequests, "limited")
	from.Post("/v1/recoveries", `{"code":"x","passphrase":"rhubarb under seven lids"}`).Problem(http.StatusTooManyRequests, "limited")
	from.Post("/v1/recoveries/requests", `{"email":"z@example.org"}`).Problem(http.StatusTooManyRequests, "limited")
	if hashes.Load() != before {
		t.Errorf("%d hashes", hashes.Load()-before)
	}
	attempt(c.Caller, "203.0.113.1", "z@example.org").Problem(http.StatusUnauthorized, "credentials")
	c.Clock.Move(10 * time.Second)
	attempt(c.Caller, "198.51.100.9", "z@example.org").Problem(http.StatusUnauthorized, "credentials")
}

func TestAnAccountIsThrottledFromOneAddressAndNeverLocked(t *testing.T) {
	t.Parallel()
	c, hashes := throttled(t, api.Limits{Account: api.Allowance{PerMinute: 1, Burst: 2}})
	c.Post("/v1/accounts", `{"email":"ana@example.org","name":"Ana","passphrase":"rhubarb under seven lids"}`).Want(http.StatusCreated)
	for range 2 {
		attempt(c.Caller, "198.51.100.1", "ana@example.org").Problem(http.StatusUnauthorized, "credentials")
	}
	before := hashes.Load()
	attempt(c.Caller, "198.51.100.1", " ANA@example.org").Problem(http.StatusTooManyRequests, "limited")
	if hashes.Load() != before {
		t.Error("a hash was computed")
	}
	attempt(c.Caller, "198.51.100.1", "ben@example.org").Problem(http.StatusUnauthorized, "credentials")
	c.With("X-Forwarded-For", "203.0.113.1").Post("/v1/sessions", `{"email":"ana@example.org","passphrase":"rhubarb under seven lids"}`).Want(http.StatusCreated)
}

func TestWithoutATrustedProxyTheConnectionsAddressCounts(t *testing.T) {
	t.Parallel()
	c, _ := throttled(t, api.Limits{Address: api.Allowance{PerMinute: 6, Burst: 1}})
	c.Server.TrustedProxies = nil
	attempt(c.Caller, "198.51.100.1", "ana@example.org").Problem(http.StatusUnauthorized, "credentials")
	attempt(c.Caller, "203.0.113.1", "ana@example.org").Problem(http.StatusTooManyRequests, "limited")
}

func TestCallsAreCountedByClubAndPrincipal(t *testing.T) {
	t.Parallel()
	c := apitest.New(t)
	c.Server.Limits.Calls = api.Allowance{PerMinute: 60, Burst: 20}
	ana := c.SignUp("ana")
	club, other := ana.Found("harbour"), ana.Found("hill")
	key := club.Post("/api-keys", `{"name":"n","scopes":["read"]}`).Want(http.StatusCreated).Has("RateLimit-Policy", `"calls";q=20;w=20`).Text("/key")
	var last *apitest.Answer
	for range 20 {
		last = club.Get("/bins")
	}
	last.Problem(http.StatusTooManyRequests, "limited").Has("Retry-After", "1").Has("RateLimit", `"calls";r=0;t=20`)
	other.Get("/bins").Want(http.StatusOK).Has("RateLimit", `"calls";r=19;t=1`)
	club.WithKey(key).Get("/bins").Want(http.StatusOK).Has("RateLimit", `"calls";r=19;t=1`)
	for range 30 {
		c.Get("/livez").Want(http.StatusOK).Has("RateLimit", "")
	}
	c.Clock.Move(time.Second)
	club.Get("/bins").Want(http.StatusOK)
}
