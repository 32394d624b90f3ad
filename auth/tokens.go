package auth

import (
	"cmp"
	"context"
	"crypto/rand"
	"encoding/base64"
	"fmt"
	"io"
	"slices"
	"time"

	"github.com/golang-jwt/jwt/v5"
)

// The bounds of an access token.
const (
	MaxLifetime   = 15 * time.Minute // from issue to expiry
	maxTokenBytes = 4 << 10
	clockSkew     = time.Minute // by which another copy's clock may run ahead
	tokenType     = "at+jwt"    // RFC 9068, section 2.1
	tokenIDBytes  = 16
)

// Issuer signs and verifies access tokens: JWTs (RFC 7519) signed with Ed25519
// (RFC 8037), of the type at+jwt (RFC 9068).
//
// A token says who, not what they may do: rights come from the database on each
// request. All copies of the program share Name, Audience and the keys.
type Issuer struct {
	Name     string // the claim iss
	Audience string // the claim aud
	// Keys lists the keys known now, retired ones too. A copy that caches them
	// for longer than a minute signs with a key others hold for retired.
	Keys func(context.Context) ([]Key, error)
	Now  func() time.Time
	Rand io.Reader // for token ids; crypto/rand.Reader when nil
}

// Subject is whom a token names.
type Subject struct {
	Account string // the claim sub
	Session string // the claim sid; empty: left out
}

// Claims is what a verified token says.
type Claims struct {
	ID string // the claim jti
	Subject
	Issued  time.Time
	Expires time.Time
}

// Issue signs a token for an account with the newest key in use. Times are
// whole seconds, so that it may expire up to a second early, never late.
//
// The error is [ErrAccount] for an empty account, [ErrLifetime] for less than a
// second or more than [MaxLifetime], [ErrNoKey] when no key is in use,
// [ErrMalformedKey] when that key is incomplete, or that of Keys or Rand.
func (i Issuer) Issue(ctx context.Context, to Subject, ttl time.Duration) (string, time.Time, error) {
	if to.Account == "" {
		return "", time.Time{}, ErrAccount
	}
	if ttl < time.Second || ttl > MaxLifetime {
		return "", time.Time{}, fmt.Errorf("%w: not %v", ErrLifetime, ttl)
	}
	key, err := i.signingKey(ctx)
	if err != nil {
		return "", time.Time{}, err
	}
	id, err := i.tokenID()
	if err != nil {
		return "", time.Time{}, err
	}
	issued := i.Now().UTC().Truncate(time.Second)
	claims := Claims{ID: id, Subject: to, Issued: issued, Expires: issued.Add(ttl.Truncate(time.Second))}
	text, err := i.sign(key, claims)
	return text, claims.Expires, err
}

// Verify reads a token and believes it only when all of it is as [Issuer.Issue]
// would have made it.
//
// The error is a [*TokenError], which is [ErrExpired] when nothing but the age
// is wrong and else [ErrInvalid], or that of Keys, which says nothing about the
// token.
func (i Issuer) Verify(ctx context.Context, token string) (Claims, error) {
	t, err := readToken(token)
	if err != nil {
		return Claims{}, err
	}
	key, err := i.verifyingKey(ctx, t.keyID)
	if err != nil {
		return Claims{}, err
	}
	if err := jwt.SigningMethodEdDSA.Verify(t.signed, t.signature, key.Public()); err != nil {
		return Claims{}, &TokenError{Refusal: RefusedSignature, Err: err}
	}
	if refusal := i.refusal(t.claims.RegisteredClaims, key); refusal != "" {
		return Claims{}, &TokenError{Refusal: refusal}
	}
	return Claims{
		ID:      t.claims.ID,
		Subject: Subject{Account: t.claims.Subject, Session: t.claims.Session},
		Issued:  t.claims.IssuedAt.UTC(),
		Expires: t.claims.ExpiresAt.UTC(),
	}, nil
}

// sign writes the claims as a token of this issuer. The error is
// [ErrMalformedKey].
func (i Issuer) sign(key Key, c Claims) (string, error) {
	if key.Public() == nil {
		return "", fmt.Errorf("%w: %s", ErrMalformedKey, key)
	}
	token := jwt.NewWithClaims(jwt.SigningMethodEdDSA, wireClaims{RegisteredClaims: jwt.RegisteredClaims{
		Issuer:    i.Name,
		Audience:  jwt.ClaimStrings{i.Audience},
		Subject:   c.Account,
		ID:        c.ID,
		IssuedAt:  jwt.NewNumericDate(c.Issued),
		ExpiresAt: jwt.NewNumericDate(c.Expires),
	}, Session: c.Session})
	token.Header["typ"] = tokenType
	token.Header["kid"] = key.ID
	text, err := token.SignedString(key.Private)
	if err != nil {
		return "", fmt.Errorf("%w: %w", ErrMalformedKey, err)
	}
	return text, nil
}

// wireClaims are the claims as they are written.
type wireClaims struct {
	jwt.RegisteredClaims
	Session string `json:"sid,omitempty"`
}

// signingKey is the newest key in use; of two made at once, the one whose id
// sorts last. The error is [ErrNoKey] or that of Keys.
func (i Issuer) signingKey(ctx context.Context) (Key, error) {
	keys, err := i.Keys(ctx)
	if err != nil {
		return Key{}, err
	}
	inUse := slices.DeleteFunc(slices.Clone(keys), func(k Key) bool { return !k.Retired.IsZero() })
	if len(inUse) == 0 {
		return Key{}, ErrNoKey
	}
	return slices.MaxFunc(inUse, func(a, b Key) int {
		return cmp.Or(a.Created.Compare(b.Created), cmp.Compare(a.ID, b.ID))
	}), nil
}

// verifyingKey is the key of that id, retired or not. The error is a
// [*TokenError] for an unknown key, or that of Keys.
func (i Issuer) verifyingKey(ctx context.Context, id string) (Key, error) {
	keys, err := i.Keys(ctx)
	if err != nil {
		return Key{}, err
	}
	at := slices.IndexFunc(keys, func(k Key) bool { return k.ID == id })
	if at < 0 {
		return Key{}, &TokenError{Refusal: RefusedKey}
	}
	return keys[at], nil
}

// tokenID draws 128 bits. The error is that of Rand.
func (i Issuer) tokenID() (string, error) {
	random := i.Rand
	if random == nil {
		random = rand.Reader
	}
	id := make([]byte, tokenIDBytes)
	if _, err := io.ReadFull(random, id); err != nil {
		return "", err
	}
	return base64.RawURLEncoding.EncodeToString(id), nil
}
