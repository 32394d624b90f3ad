package auth_test

import (
	"crypto/rand"
	"encoding/base64"
	"encoding/hex"
	"io"
	"strings"
	"testing"

	"lumbricary.example/auth"
)

const passphrase = "rhubarb at noon"

func TestPublishedArgon2idHashesVerify(t *testing.T) {
	t.Parallel()
	salt := base64.RawStdEncoding.EncodeToString([]byte("somesalt"))
	for name, hash := range map[string]string{
		// The reference implementation's test.c: t=2, m=65536, p=1. seen-transcription
		"reference": "$argon2id$v=19$m=65536,t=2,p=1$c29tZXNhbHQ$CTFhFdXPJO1aFaMaO6Mm5c8y7cJHAph8ArZWb2GRPPc",
		// golang.org/x/crypto argon2_test.go, made with the reference program. seen
		"64 KiB, one lane":  "$argon2id$v=19$m=64,t=2,p=1$" + salt + "$" + phcBytes(t, "068d62b26455936aa6ebe60060b0a65870dbfa3ddf8d41f7"),
		"64 KiB, two lanes": "$argon2id$v=19$m=64,t=2,p=2$" + salt + "$" + phcBytes(t, "350ac37222f436ccb5c0972f1ebd3bf6b958bf2071841362"),
	} {
		h := auth.NewHasher(rand.Reader)
		right, err := h.Verify(t.Context(), hash, "password")
		if err != nil || !right {
			t.Errorf("%s: the right passphrase: %t, %v", name, right, err)
		}
		wrong, err := h.Verify(t.Context(), hash, "passwore")
		if err != nil || wrong {
			t.Errorf("%s: a wrong passphrase: %t, %v", name, wrong, err)
		}
		if !auth.Outdated(hash) {
			t.Errorf("%s: taken for today's cost", name)
		}
	}
}

func TestAHashIsSaltedAndVerifiesItsPassphraseOnly(t *testing.T) {
	t.Parallel()
	h := auth.NewHasher(rand.Reader)
	first, second := hashOf(t, h, passphrase), hashOf(t, h, passphrase)
	if first == second {
		t.Error("two hashes of one passphrase are the same")
	}
	if !strings.HasPrefix(first, "$argon2id$v=19$m=19456,t=2,p=1$") || auth.Outdated(first) {
		t.Errorf("not today's cost: %s", first)
	}
	if salt := strings.Split(first, "$")[4]; len(salt) != 22 { // 16 bytes in base64
		t.Errorf("salt %q", salt)
	}
	for text, want := range map[string]bool{passphrase: true, passphrase + " ": false, "": false} {
		if got, err := h.Verify(t.Context(), first, text); err != nil || got != want {
			t.Errorf("verify %q: %t, %v", text, got, err)
		}
	}
}

func TestAnAccentMayBeTypedEitherWay(t *testing.T) {
	t.Parallel()
	h := auth.NewHasher(rand.Reader)
	hash := hashOf(t, h, "caf\u00e9 derri\u00e8re la serre")
	if got, err := h.Verify(t.Context(), hash, "cafe\u0301 derrie\u0300re la serre"); err != nil || !got {
		t.Errorf("the decomposed spelling: %t, %v", got, err)
	}
}

func TestHashRefusesWhatTheRulesRefuse(t *testing.T) {
	t.Parallel()
	_, err := auth.NewHasher(rand.Reader).Hash(t.Context(), "too short")
	if err == nil || err.Error() != (&auth.PassphraseError{Fault: auth.PassphraseShort}).Error() {
		t.Errorf("error is %v", err)
	}
}

func TestHashNeedsASalt(t *testing.T) {
	t.Parallel()
	_, err := auth.NewHasher(exhausted()).Hash(t.Context(), passphrase)
	mustBe(t, err, io.EOF)
}

func TestVerifyNothingIsAWrongPassphrase(t *testing.T) {
	t.Parallel()
	if err := auth.NewHasher(rand.Reader).VerifyNothing(t.Context(), passphrase); err != nil {
		t.Error(err)
	}
}

func TestADamagedHashIsAnErrorAndCostsNoMemory(t *testing.T) {
	t.Parallel()
	const salt, hash = "c29tZXNhbHQ", "CTFhFdXPJO1aFaMaO6Mm5c8y7cJHAph8ArZWb2GRPPc"
	h := auth.NewHasher(rand.Reader)
	for name, damaged := range map[string]string{
		"empty":            "",
		"another scheme":   "$2a$10$abcdefghijklmnopqrstuv",
		"argon2i":          "$argon2i$v=19$m=64,t=2,p=1$" + salt + "$" + hash,
		"version 16":       "$argon2id$v=16$m=64,t=2,p=1$" + salt + "$" + hash,
		"no cost":          "$argon2id$v=19$$" + salt + "$" + hash,
		"no passes":        "$argon2id$v=19$m=64,t=0,p=1$" + salt + "$" + hash,
		"no lanes":         "$argon2id$v=19$m=64,t=2,p=0$" + salt + "$" + hash,
		"too little":       "$argon2id$v=19$m=7,t=2,p=1$" + salt + "$" + hash,
		"all the memory":   "$argon2id$v=19$m=4294967295,t=2,p=1$" + salt + "$" + hash,
		"all the time":     "$argon2id$v=19$m=64,t=4294967295,p=1$" + salt + "$" + hash,
		"leading zero":     "$argon2id$v=19$m=064,t=2,p=1$" + salt + "$" + hash,
		"cost and more":    "$argon2id$v=19$m=64,t=2,p=1,x=1$" + salt + "$" + hash,
		"short salt":       "$argon2id$v=19$m=64,t=2,p=1$c2FsdA$" + hash,
		"salt not base64":  "$argon2id$v=19$m=64,t=2,p=1$c29tZXNhbH?$" + hash,
		"short hash":       "$argon2id$v=19$m=64,t=2,p=1$" + salt + "$c29tZXNhbHQ",
		"hash not base64":  "$argon2id$v=19$m=64,t=2,p=1$" + salt + "$" + hash + "=",
		"hash of 66 bytes": "$argon2id$v=19$m=64,t=2,p=1$" + salt + "$" + strings.Repeat("AAAA", 22),
		"trailing field":   "$argon2id$v=19$m=64,t=2,p=1$" + salt + "$" + hash + "$",
	} {
		if ok, err := h.Verify(t.Context(), damaged, passphrase); ok || err == nil {
			t.Errorf("%s: %t, %v", name, ok, err)
		} else {
			mustBe(t, err, auth.ErrMalformedHash)
		}
		if !auth.Outdated(damaged) {
			t.Errorf("%s: taken for today's cost", name)
		}
	}
}

func BenchmarkHash(b *testing.B) {
	h := auth.NewHasher(rand.Reader)
	for b.Loop() {
		hashOf(b, h, passphrase)
	}
}

func BenchmarkVerifyPassphrase(b *testing.B) {
	h := auth.NewHasher(rand.Reader)
	hash := hashOf(b, h, passphrase)
	for b.Loop() {
		if ok, err := h.Verify(b.Context(), hash, passphrase); err != nil || !ok {
			b.Fatal(ok, err)
		}
	}
}

func BenchmarkVerifyNothing(b *testing.B) {
	h := auth.NewHasher(rand.Reader)
	for b.Loop() {
		if err := h.VerifyNothing(b.Context(), passphrase); err != nil {
			b.Fatal(err)
		}
	}
}

// hashOf hashes a passphrase that must be fit for it.
func hashOf(tb testing.TB, h *auth.Hasher, text string) string {
	tb.Helper()
	hash, err := h.Hash(tb.Context(), text)
	if err != nil {
		tb.Fatal(err)
	}
	return hash
}

// phcBytes turns hexadecimal into base64 without padding.
func phcBytes(tb testing.TB, text string) string {
	tb.Helper()
	b, err := hex.DecodeString(text)
	if err != nil {
		tb.Fatal(err)
	}
	return base64.RawStdEncoding.EncodeToString(b)
}
