package auth

import (
	"context"
	"crypto/subtle"
	"io"

	"golang.org/x/crypto/argon2"
	"golang.org/x/text/unicode/norm"
)

// How many passphrases are hashed at a time, and how many more may wait.
const (
	hashesAtOnce  = 2
	hashesWaiting = 20
)

// Hasher turns passphrases into argon2id hashes (RFC 9106) with 19 MiB of
// memory, two passes and one lane, and compares them.
//
// A hash takes about 25 ms of one processor, so two run at a time and at most
// twenty callers wait; the next is told [ErrBusy]. Passphrases are hashed in the
// Unicode normalisation NFC. One Hasher serves the whole program.
type Hasher struct {
	salts io.Reader
	gate  gate
}

// NewHasher makes a hasher that reads its salts from a source of randomness that
// many may use at once, in production crypto/rand.Reader.
func NewHasher(salts io.Reader) *Hasher {
	return &Hasher{salts: salts, gate: newGate(hashesAtOnce, hashesWaiting)}
}

// Hash hashes a new passphrase under a fresh salt and returns the PHC string
// "$argon2id$v=19$m=19456,t=2,p=1$salt$hash".
//
// The error is a [*PassphraseError] when [CheckPassphrase] refuses the
// passphrase, [ErrBusy] when too many wait, the context's when it ends first,
// or that of the source of randomness.
func (h *Hasher) Hash(ctx context.Context, passphrase string) (string, error) {
	if err := CheckPassphrase(passphrase); err != nil {
		return "", err
	}
	salt := make([]byte, saltBytes)
	if _, err := io.ReadFull(h.salts, salt); err != nil {
		return "", err
	}
	stored := phc{cost: currentCost(), salt: salt}
	hash, err := h.derive(ctx, stored, passphrase, hashBytes)
	if err != nil {
		return "", err
	}
	stored.hash = hash
	return stored.String(), nil
}

// Verify tells whether a passphrase is the one that was hashed. The comparison
// takes the same time wherever the two differ.
//
// The error is [ErrMalformedHash] when the stored hash can't be read, [ErrBusy]
// when too many wait, or the context's when it ends first. A wrong passphrase
// is no error.
func (h *Hasher) Verify(ctx context.Context, hash, passphrase string) (bool, error) {
	stored, err := parsePHC(hash)
	if err != nil {
		return false, err
	}
	got, err := h.derive(ctx, stored, passphrase, len(stored.hash))
	if err != nil {
		return false, err
	}
	return subtle.ConstantTimeCompare(got, stored.hash) == 1, nil
}

// VerifyNothing does the work of [Hasher.Verify] for an account that isn't
// there, so that its absence shows neither in the answer nor in the time taken.
//
// The error is [ErrBusy] when too many wait, or the context's when it ends
// first; nil stands for a wrong passphrase.
func (h *Hasher) VerifyNothing(ctx context.Context, passphrase string) error {
	nobody := phc{cost: currentCost(), salt: make([]byte, saltBytes)}
	_, err := h.derive(ctx, nobody, passphrase, hashBytes)
	return err
}

// Outdated tells whether a stored hash was made at another cost than today's,
// or can't be read; the passphrase is then hashed anew at the next sign-in.
func Outdated(hash string) bool {
	stored, err := parsePHC(hash)
	return err != nil || stored.cost != currentCost()
}

// derive computes an argon2id tag of so many bytes, in its turn. The error is
// [ErrBusy] or the context's.
func (h *Hasher) derive(ctx context.Context, p phc, passphrase string, size int) ([]byte, error) {
	leave, err := h.gate.enter(ctx)
	if err != nil {
		return nil, err
	}
	defer leave()
	text := norm.NFC.Bytes([]byte(passphrase))
	return argon2.IDKey(text, p.salt, p.passes, p.memory, p.lanes, uint32(size)), nil //nolint:gosec // a size is 32
}
