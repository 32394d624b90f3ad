package auth

import (
	"context"
	"errors"
	"io"
	"math"
	"slices"
	"time"

	"lumbricary.example/service"
)

// busyRetryIn is when to come back to a full queue of hashes.
const busyRetryIn = 2 * time.Second

// Gate is what the use-cases ask of this package; it implements service.Gate.
// The signing keys are kept in the store; the first start makes one.
type Gate struct {
	hasher *Hasher
	issuer Issuer
	random io.Reader
	ring   *keyRing
	secret []byte
}

var _ service.Gate = (*Gate)(nil)

// GateOptions are what a Gate is made with.
type GateOptions struct {
	Store  service.Store
	Name   string           // issuer and audience of tokens: the service's public address
	Now    func() time.Time // UTC
	Random io.Reader        // many may use it at once; in production crypto/rand.Reader
	Secret []byte           // under which refresh tokens are made; the same for all copies of the program
}

// NewGate makes a gate.
func NewGate(o GateOptions) *Gate {
	ring := &keyRing{store: o.Store, now: o.Now, random: o.Random}
	return &Gate{
		hasher: NewHasher(o.Random), random: o.Random, ring: ring, secret: o.Secret,
		issuer: Issuer{Name: o.Name, Audience: o.Name, Keys: ring.keys, Now: o.Now, Rand: o.Random},
	}
}

// CheckPassphrase implements service.Gate. The error is a [*PassphraseError].
func (g *Gate) CheckPassphrase(p string) error { return CheckPassphrase(p) }

// Hash implements service.Gate. Errors: service.ErrLimited, those of [Hasher.Hash].
func (g *Gate) Hash(ctx context.Context, passphrase string) (string, error) {
	hash, err := g.hasher.Hash(ctx, passphrase)
	return hash, serviceError(err)
}

// Verify implements service.Gate. Errors: service.ErrLimited, those of
// [Hasher.Verify].
func (g *Gate) Verify(ctx context.Context, hash, passphrase string) (bool, error) {
	if hash == "" {
		return false, serviceError(g.hasher.VerifyNothing(ctx, passphrase))
	}
	ok, err := g.hasher.Verify(ctx, hash, passphrase)
	return ok, serviceError(err)
}

// Issue implements service.Gate. Errors: those of [Issuer.Issue] and the store.
func (g *Gate) Issue(ctx context.Context, to service.Bearer) (token string, expires time.Time, err error) {
	return g.issuer.Issue(ctx, Subject{string(to.Account), string(to.Session)}, MaxLifetime)
}

// Bearer implements service.Gate. Errors: service.ErrSignIn,
// service.ErrTokenExpired, those of the store.
func (g *Gate) Bearer(ctx context.Context, token string) (service.Bearer, error) {
	claims, err := g.issuer.Verify(ctx, token)
	if e, ok := errors.AsType[*TokenError](err); ok && e.Refusal == RefusedKey && g.ring.age() > keysLooked {
		g.ring.forget() // another copy of the program may have made a key
		claims, err = g.issuer.Verify(ctx, token)
	}
	return service.Bearer{Account: service.AccountID(claims.Account), Session: service.SessionID(claims.Session)}, serviceError(err)
}

// RefreshToken implements service.Gate. The error is [ErrMalformedRefresh] for a
// session that is no UUID or a generation that is no number of 32 bits.
func (g *Gate) RefreshToken(of service.SessionID, generation int64) (string, error) {
	if generation < 0 || generation > math.MaxUint32 {
		return "", ErrMalformedRefresh
	}
	return RefreshToken{string(of), uint32(generation)}.Sign(g.secret)
}

// ReadRefreshToken implements service.Gate.
func (g *Gate) ReadRefreshToken(token string) (of service.SessionID, generation int64, ok bool) {
	t, err := ParseRefreshToken(g.secret, token)
	return service.SessionID(t.Family), int64(t.Generation), err == nil
}

// NewCode implements service.Gate. The error is that of the randomness.
func (g *Gate) NewCode() (plain, hash string, err error) { return NewCode(g.random) }

// HashCode implements service.Gate.
func (g *Gate) HashCode(plain string) string {
	code, err := ParseCode(plain)
	if err != nil {
		return ""
	}
	return HashCode(code)
}

// JWKS returns the public parts of the signing keys: those in use, and retired
// ones until the last token they signed has expired. Errors: those of the store.
func (g *Gate) JWKS(ctx context.Context) ([]byte, error) {
	keys, err := g.ring.keys(ctx)
	if err != nil {
		return nil, err
	}
	now := g.ring.now()
	return JWKS(slices.DeleteFunc(slices.Clone(keys), func(k Key) bool { return k.Spent(now) }))
}

// Rotate makes a new signing key and retires those in use. Copies of the program
// that run hear of it within half a minute; what they sign until then is good.
// Errors: those of the store, the randomness.
func (g *Gate) Rotate(ctx context.Context) (Key, error) { return g.ring.rotate(ctx) }

// Keys lists the signing keys, newest first. Errors: those of the store,
// [ErrMalformedKey].
func (g *Gate) Keys(ctx context.Context) ([]Key, error) { return g.ring.read(ctx) }

// serviceError turns an error of this package into the catalogue's.
func serviceError(err error) error {
	switch {
	case errors.Is(err, ErrBusy):
		busy := service.ErrLimited.With("too many passphrases are being checked; try again").Because(err)
		busy.RetryAfter = busyRetryIn
		return busy
	case errors.Is(err, ErrExpired):
		return service.ErrTokenExpired.Because(err)
	case errors.Is(err, ErrInvalid):
		return service.ErrSignIn.Because(err)
	}
	return err
}
