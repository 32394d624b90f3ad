package auth

import (
	"bytes"
	"crypto/ed25519"
	"crypto/sha256"
	"crypto/x509"
	"encoding/base64"
	"encoding/json"
	"encoding/pem"
	"fmt"
	"io"
	"time"
)

// pemType is the label of a PKCS #8 key (RFC 7468, section 10).
const pemType = "PRIVATE KEY"

// Key is an Ed25519 key that signs access tokens. The zero value of Retired
// means that the key is in use; a retired key still verifies what it signed.
type Key struct {
	ID      string // the thumbprint of the public part, the token's kid
	Private ed25519.PrivateKey
	Created time.Time
	Retired time.Time
}

// NewKey makes a key from 32 bytes of a source of randomness, in production
// crypto/rand.Reader. The error is that of the source.
func NewKey(random io.Reader, now time.Time) (Key, error) {
	seed := make([]byte, ed25519.SeedSize)
	if _, err := io.ReadFull(random, seed); err != nil {
		return Key{}, err
	}
	return keyOf(ed25519.NewKeyFromSeed(seed), now), nil
}

// Public is the part of the key that may be shown, nil for an incomplete key.
func (k Key) Public() ed25519.PublicKey {
	if len(k.Private) != ed25519.PrivateKeySize {
		return nil
	}
	return ed25519.PublicKey(bytes.Clone(k.Private[ed25519.SeedSize:]))
}

// Spent reports whether the last token that the key signed has expired, by
// whatever copy of the program that hadn't heard that the key was retired.
func (k Key) Spent(now time.Time) bool {
	return !k.Retired.IsZero() && now.After(k.Retired.Add(clockSkew+MaxLifetime))
}

// String names the key by its thumbprint and keeps the private part out of logs.
func (k Key) String() string {
	return "key " + k.ID
}

// GoString is [Key.String], for the verb %#v.
func (k Key) GoString() string {
	return k.String()
}

// MarshalText is [Key.String], for JSON; [Key.Marshal] writes the private part.
// The error is always nil.
func (k Key) MarshalText() ([]byte, error) {
	return []byte(k.String()), nil
}

// Marshal writes the private key as PKCS #8 (RFC 8410) in PEM. The dates aren't
// part of it; they are kept beside it. The error is [ErrMalformedKey] for an
// incomplete key.
func (k Key) Marshal() ([]byte, error) {
	if k.Public() == nil {
		return nil, ErrMalformedKey
	}
	der, err := x509.MarshalPKCS8PrivateKey(k.Private)
	if err != nil {
		return nil, fmt.Errorf("%w: %w", ErrMalformedKey, err)
	}
	return pem.EncodeToMemory(&pem.Block{Type: pemType, Bytes: der}), nil
}

// ParseKey reads what [Key.Marshal] writes and computes the id. Created and Retired
// are left for the caller to set. The error is [ErrMalformedKey] for anything
// but one Ed25519 key.
func ParseKey(text []byte) (Key, error) {
	block, rest := pem.Decode(text)
	if block == nil || block.Type != pemType || len(bytes.TrimSpace(rest)) > 0 {
		return Key{}, fmt.Errorf("%w: not one PEM block of a private key", ErrMalformedKey)
	}
	parsed, err := x509.ParsePKCS8PrivateKey(block.Bytes)
	if err != nil {
		return Key{}, fmt.Errorf("%w: %w", ErrMalformedKey, err)
	}
	private, ok := parsed.(ed25519.PrivateKey)
	if !ok {
		return Key{}, fmt.Errorf("%w: not Ed25519", ErrMalformedKey)
	}
	return keyOf(private, time.Time{}), nil
}

// JWKS writes the public parts as a JSON Web Key Set (RFC 7517, RFC 8037), in
// the order given. The error is [ErrMalformedKey] when a key is incomplete.
func JWKS(keys []Key) ([]byte, error) {
	set := struct {
		Keys []jwk `json:"keys"`
	}{Keys: make([]jwk, 0, len(keys))}
	for _, k := range keys {
		public := k.Public()
		if public == nil {
			return nil, fmt.Errorf("%w: %s", ErrMalformedKey, k)
		}
		members := okp(public)
		set.Keys = append(set.Keys, jwk{
			KeyType: members["kty"], Curve: members["crv"], X: members["x"],
			ID: k.ID, Use: "sig", Algorithm: "EdDSA",
		})
	}
	return json.Marshal(set)
}

// jwk is a public Ed25519 key on the wire.
type jwk struct {
	KeyType   string `json:"kty"`
	Curve     string `json:"crv"`
	X         string `json:"x"`
	ID        string `json:"kid"`
	Use       string `json:"use"`
	Algorithm string `json:"alg"`
}

// keyOf names a private key by its public part.
func keyOf(private ed25519.PrivateKey, created time.Time) Key {
	k := Key{Private: private, Created: created}
	k.ID = thumbprint(okp(k.Public()))
	return k
}

// okp lists the members that RFC 8037, section 2 requires of a public key.
func okp(public ed25519.PublicKey) map[string]string {
	return map[string]string{
		"crv": "Ed25519",
		"kty": "OKP",
		"x":   base64.RawURLEncoding.EncodeToString(public),
	}
}

// thumbprint is the SHA-256 of a key's required members as JSON without spaces,
// names in order, in base64url (RFC 7638, section 3). The members are plain
// ASCII, so that nothing is escaped.
func thumbprint(members map[string]string) string {
	text, err := json.Marshal(members) // sorts the names
	if err != nil {
		panic(err) // strings always marshal
	}
	sum := sha256.Sum256(text)
	return base64.RawURLEncoding.EncodeToString(sum[:])
}
