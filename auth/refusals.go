package auth

import (
	"strings"
	"time"

	"github.com/golang-jwt/jwt/v5"
)

// Refusal names what is wrong with a token.
type Refusal string

// The reasons to refuse a token, in the order in which they are looked for.
const (
	RefusedSize      Refusal = "size"      // longer than 4 KB
	RefusedForm      Refusal = "form"      // not three parts of base64url with JSON in them
	RefusedAlgorithm Refusal = "alg"       // signed by anything but EdDSA
	RefusedCritical  Refusal = "crit"      // demands an extension; there are none
	RefusedType      Refusal = "typ"       // not an access token
	RefusedKey       Refusal = "kid"       // of an unknown key
	RefusedSignature Refusal = "signature" // altered, or signed by somebody else
	RefusedIssuer    Refusal = "iss"       // of another issuer
	RefusedAudience  Refusal = "aud"       // for another audience, or for more than one
	RefusedSubject   Refusal = "sub"       // for nobody
	RefusedID        Refusal = "jti"       // without an id
	RefusedIssued    Refusal = "iat"       // from the future, or from no time
	RefusedEarly     Refusal = "nbf"       // not valid yet
	RefusedLifetime  Refusal = "lifetime"  // without an end, or living longer than MaxLifetime
	RefusedRetired   Refusal = "retired"   // issued after its key was retired
	RefusedExpired   Refusal = "exp"       // too old, and nothing else
)

// TokenError is a token refused. It never carries the token.
type TokenError struct {
	Refusal Refusal
	Err     error // the parser's own words, or nil
}

// Error names the refusal, for a log; a client is told less.
func (e *TokenError) Error() string {
	return "auth: token refused: " + string(e.Refusal)
}

// Unwrap is the cause, if there is one.
func (e *TokenError) Unwrap() error {
	return e.Err
}

// Is makes an expired token [ErrExpired] and every other one [ErrInvalid].
func (e *TokenError) Is(target error) bool {
	if e.Refusal == RefusedExpired {
		return target == ErrExpired
	}
	return target == ErrInvalid
}

// readout is a token taken apart, not yet believed.
type readout struct {
	keyID     string
	signed    string // the part under the signature
	signature []byte
	claims    wireClaims
}

// readToken takes a token apart and checks its header. The error is a
// [*TokenError].
func readToken(text string) (readout, error) {
	if len(text) > maxTokenBytes {
		return readout{}, &TokenError{Refusal: RefusedSize}
	}
	if strings.ContainsAny(text, "\r\n") { // base64 decoders skip these
		return readout{}, &TokenError{Refusal: RefusedForm}
	}
	var r readout
	token, parts, err := jwt.NewParser(jwt.WithStrictDecoding()).ParseUnverified(text, &r.claims)
	if err != nil {
		return readout{}, &TokenError{Refusal: parserRefusal(token), Err: err}
	}
	if refusal := headerRefusal(token.Header); refusal != "" {
		return readout{}, &TokenError{Refusal: refusal}
	}
	r.keyID, _ = token.Header["kid"].(string)
	r.signed = parts[0] + "." + parts[1]
	r.signature = token.Signature
	return r, nil
}

// parserRefusal tells a token whose algorithm the parser doesn't know from one
// that it couldn't read.
func parserRefusal(token *jwt.Token) Refusal {
	if token != nil && token.Header != nil && token.Header["alg"] != jwt.SigningMethodEdDSA.Alg() {
		return RefusedAlgorithm
	}
	return RefusedForm
}

// headerRefusal is what is wrong with a header, or "". Nothing else in it is
// looked at: a key it brings along is never used.
func headerRefusal(header map[string]any) Refusal {
	if header["alg"] != jwt.SigningMethodEdDSA.Alg() {
		return RefusedAlgorithm
	}
	if _, demands := header["crit"]; demands {
		return RefusedCritical
	}
	if header["typ"] != tokenType {
		return RefusedType
	}
	return ""
}

// refusal is what is wrong with claims signed by a key, or "". Age comes last,
// so that "expired" means that all else was right.
func (i Issuer) refusal(c jwt.RegisteredClaims, key Key) Refusal {
	switch {
	case c.Issuer != i.Name:
		return RefusedIssuer
	case len(c.Audience) != 1 || c.Audience[0] != i.Audience:
		return RefusedAudience
	case c.Subject == "":
		return RefusedSubject
	case c.ID == "":
		return RefusedID
	}
	return timeRefusal(c, key.Retired, i.Now())
}

// timeRefusal is what is wrong with a token's times, or "".
//
// A retired key counts only for tokens issued before that, give or take the
// skew. As no token lives longer than [MaxLifetime], a stolen key is worth
// nothing soon after it is retired.
func timeRefusal(c jwt.RegisteredClaims, retired, now time.Time) Refusal {
	latest := now.Add(clockSkew)
	switch {
	case c.IssuedAt == nil || c.IssuedAt.After(latest):
		return RefusedIssued
	case c.NotBefore != nil && c.NotBefore.After(latest):
		return RefusedEarly
	case c.ExpiresAt == nil || c.ExpiresAt.Sub(c.IssuedAt.Time) > MaxLifetime:
		return RefusedLifetime
	case !retired.IsZero() && c.IssuedAt.After(retired.Add(clockSkew)):
		return RefusedRetired
	case !now.Before(c.ExpiresAt.Time):
		return RefusedExpired
	}
	return ""
}
