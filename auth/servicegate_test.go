package auth_test

import (
	"bytes"
	"context"
	"crypto/rand"
	"errors"
	"strings"
	"sync"
	"testing"
	"time"

	"lumbricary.example/auth"
	"lumbricary.example/service"
)

// keyStore is a service.Store with signing keys only.
type keyStore struct {
	service.Store
	mu    sync.Mutex
	rows  []service.SigningKey
	looks int
	fail  error
}

func (s *keyStore) ViewShared(_ context.Context, fn func(service.Shared) error) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.looks++
	if s.fail != nil {
		return s.fail
	}
	return fn(service.Shared{Keys: keyRows{s}})
}

func (s *keyStore) UpdateShared(ctx context.Context, fn func(service.Shared) error) error {
	return s.ViewShared(ctx, fn)
}

type keyRows struct{ *keyStore }

func (s keyRows) Insert(k service.SigningKey) error {
	s.rows = append([]service.SigningKey{k}, s.rows...)
	return nil
}

func (s keyRows) Retire(but string, now time.Time) error {
	for i := range s.rows {
		if s.rows[i].ID != but && s.rows[i].Retired.IsZero() {
			s.rows[i].Retired = now
		}
	}
	return nil
}
func (s keyRows) All() ([]service.SigningKey, error) { return s.rows, nil }
func (s keyRows) Secret(string, func() ([]byte, error)) ([]byte, error) {
	return nil, errors.New("no secrets here")
}

func gateOn(store service.Store, now *time.Time) *auth.Gate {
	return auth.NewGate(auth.GateOptions{Store: store, Name: "https://worms.example", Now: func() time.Time { return *now }, Random: rand.Reader})
}

func TestTheFirstStartMakesAKeyAndLaterOnesKeepIt(t *testing.T) {
	t.Parallel()
	store, now := &keyStore{}, dawn()
	token, expires, err := gateOn(store, &now).Issue(t.Context(), service.Bearer{Account: "ana", Session: "one"})
	if err != nil || !expires.Equal(now.Add(15*time.Minute)) {
		t.Fatalf("expires %v, %v", expires, err)
	}
	if who, err := gateOn(store, &now).Bearer(t.Context(), token); err != nil || who != (service.Bearer{Account: "ana", Session: "one"}) {
		t.Errorf("%v, %v", who, err)
	}
	if len(store.rows) != 1 {
		t.Errorf("%d keys", len(store.rows))
	}
}

func TestTheGateMakesAKeyWhenAllAreRetired(t *testing.T) {
	t.Parallel()
	store, now := &keyStore{}, dawn()
	old, _, err := gateOn(store, &now).Issue(t.Context(), service.Bearer{Account: "ana", Session: "one"})
	if err != nil {
		t.Fatal(err)
	}
	now = now.Add(time.Minute)
	store.rows[0].Retired = now
	gate := gateOn(store, &now)
	if _, _, err := gate.Issue(t.Context(), service.Bearer{Account: "ana", Session: "one"}); err != nil || len(store.rows) != 2 {
		t.Errorf("%d keys, %v", len(store.rows), err)
	}
	if who, err := gate.Bearer(t.Context(), old); err != nil || who != (service.Bearer{Account: "ana", Session: "one"}) {
		t.Errorf("what a retired key signed: %v, %v", who, err)
	}
	if set, err := gate.JWKS(t.Context()); err != nil || bytes.Count(set, []byte(`"kid"`)) != 2 {
		t.Errorf("%s, %v", set, err)
	}
}

func TestKeysAreLookedUpOnceInAWhile(t *testing.T) {
	t.Parallel()
	store, now := &keyStore{}, dawn()
	gate := gateOn(store, &now)
	token, _, err := gate.Issue(t.Context(), service.Bearer{Account: "ana", Session: "one"})
	if err != nil {
		t.Fatal(err)
	}
	before := store.looks
	for range 10 {
		if _, err := gate.Bearer(t.Context(), token); err != nil {
			t.Fatal(err)
		}
	}
	if store.looks != before {
		t.Errorf("%d looks", store.looks-before)
	}
	now = now.Add(31 * time.Second)
	if _, err := gate.Bearer(t.Context(), token); err != nil || store.looks != before+1 {
		t.Errorf("%d looks, %v", store.looks-before, err)
	}
}

func TestAKeyThatAnotherCopyMadeIsFound(t *testing.T) {
	t.Parallel()
	store, now := &keyStore{}, dawn()
	here, there := gateOn(store, &now), gateOn(store, &now)
	if _, _, err := here.Issue(t.Context(), service.Bearer{Account: "ana", Session: "one"}); err != nil {
		t.Fatal(err)
	}
	now = now.Add(2 * time.Second)
	store.rows[0].Retired = now
	token, _, err := there.Issue(t.Context(), service.Bearer{Account: "ana", Session: "one"})
	if err != nil {
		t.Fatal(err)
	}
	if who, err := here.Bearer(t.Context(), token); err != nil || who != (service.Bearer{Account: "ana", Session: "one"}) {
		t.Errorf("%v, %v", who, err)
	}
}

func TestTheGateSpeaksTheServicesErrors(t *testing.T) {
	t.Parallel()
	store, now := &keyStore{}, dawn()
	gate := gateOn(store, &now)
	token, _, err := gate.Issue(t.Context(), service.Bearer{Account: "ana", Session: "one"})
	if err != nil {
		t.Fatal(err)
	}
	for name, bad := range map[string]string{"empty": "", "noise": "x.y.z", "changed": token[:len(token)-4] + "AAAA"} {
		if _, err := gate.Bearer(t.Context(), bad); !errors.Is(err, service.ErrSignIn) {
			t.Errorf("%s: %v", name, err)
		}
	}
	now = now.Add(16 * time.Minute)
	if _, err := gate.Bearer(t.Context(), token); !errors.Is(err, service.ErrTokenExpired) {
		t.Errorf("expired: %v", err)
	}
	store.fail = service.ErrNotReady
	if _, err := gateOn(store, &now).Bearer(t.Context(), token); !errors.Is(err, service.ErrNotReady) {
		t.Errorf("no database: %v", err)
	}
	if _, err := gateOn(store, &now).JWKS(t.Context()); !errors.Is(err, service.ErrNotReady) {
		t.Errorf("no database: %v", err)
	}
}

func TestTheGateChecksPassphrases(t *testing.T) {
	t.Parallel()
	now := dawn()
	gate := gateOn(&keyStore{}, &now)
	const passphrase = "rhubarb under seven lids"
	hash, err := gate.Hash(t.Context(), passphrase)
	if err != nil || !strings.HasPrefix(hash, "$argon2id$") {
		t.Fatalf("%s, %v", hash, err)
	}
	for _, tt := range []struct {
		hash, passphrase string
		want             bool
	}{{hash, passphrase, true}, {hash, passphrase + "!", false}, {"", passphrase, false}} {
		if got, err := gate.Verify(t.Context(), tt.hash, tt.passphrase); err != nil || got != tt.want {
			t.Errorf("%q: %v, %v", tt.passphrase, got, err)
		}
	}
	if gate.CheckPassphrase("short") == nil || gate.CheckPassphrase(passphrase) != nil {
		t.Error("the rules for passphrases don't apply")
	}
}

func TestTheGateHashesCodesAsTyped(t *testing.T) {
	t.Parallel()
	now := dawn()
	gate := gateOn(&keyStore{}, &now)
	plain, hash, err := gate.NewCode()
	if err != nil {
		t.Fatal(err)
	}
	if got := gate.HashCode(strings.ToLower(plain[:5]) + " " + plain[5:]); got != hash {
		t.Errorf("%s, want %s", got, hash)
	}
	if got := gate.HashCode("x" + plain); got != "" {
		t.Errorf("no code has the hash %s", got)
	}
}
