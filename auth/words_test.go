package auth_test

import (
	"bytes"
	"context"
	"encoding/base64"
	"errors"
	"math/rand/v2"
	"testing"
	"time"

	"lumbricary.example/auth"
)

// dawn is the moment at which these tests take place.
func dawn() time.Time {
	return time.Date(2026, time.March, 1, 6, 30, 0, 0, time.UTC)
}

// chance is a repeatable source of randomness.
func chance(seed byte) *rand.ChaCha8 {
	return rand.NewChaCha8([32]byte{seed})
}

// newKey makes a repeatable key created then.
func newKey(tb testing.TB, seed byte, created time.Time) auth.Key {
	tb.Helper()
	key, err := auth.NewKey(chance(seed), created)
	if err != nil {
		tb.Fatal(err)
	}
	return key
}

// issuer makes an issuer at a moment with these keys.
func issuer(now time.Time, keys ...auth.Key) auth.Issuer {
	return auth.Issuer{
		Name:     "https://book.example",
		Audience: "https://book.example/v1",
		Keys:     func(context.Context) ([]auth.Key, error) { return keys, nil },
		Now:      func() time.Time { return now },
		Rand:     chance(99),
	}
}

// issue makes a token for ten minutes.
func issue(tb testing.TB, from auth.Issuer) string {
	tb.Helper()
	token, _, err := from.Issue(tb.Context(), auth.Subject{Account: "ada", Session: "one"}, 10*time.Minute)
	if err != nil {
		tb.Fatal(err)
	}
	return token
}

// unbase64 decodes base64url without padding.
func unbase64(tb testing.TB, text string) []byte {
	tb.Helper()
	b, err := base64.RawURLEncoding.DecodeString(text)
	if err != nil {
		tb.Fatal(err)
	}
	return b
}

// mustBe fails unless the error is the wanted one.
func mustBe(tb testing.TB, err, want error) {
	tb.Helper()
	if !errors.Is(err, want) {
		tb.Errorf("error is %v, want %v", err, want)
	}
}

// exhausted is a source of randomness that has run dry.
func exhausted() *bytes.Reader {
	return bytes.NewReader(nil)
}
