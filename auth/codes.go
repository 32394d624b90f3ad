package auth

import (
	"crypto/sha256"
	"crypto/subtle"
	"encoding/base32"
	"encoding/binary"
	"encoding/hex"
	"hash/crc32"
	"io"
	"strings"
)

// The sizes of a code in bytes: the secret, and the checksum that follows it.
const (
	secretBytes   = 32
	checksumBytes = 4
)

// CodeLength is the number of characters of a code in its canonical spelling:
// 288 bits at five a character.
const CodeLength = 58

// NewCode draws a one-use secret of 256 bits, for an invitation, a reset link
// or an API key. The plain code is shown once; the hash is what is stored.
//
// A code is the secret and its CRC-32 (IEEE 802.3, little-endian) in Crockford's
// base 32: no I, L, O or U, and no difference between upper and lower case. The
// error is that of the source of randomness, in production crypto/rand.Reader.
func NewCode(random io.Reader) (plain, hash string, err error) {
	code := make([]byte, secretBytes, secretBytes+checksumBytes)
	if _, err := io.ReadFull(random, code); err != nil {
		return "", "", err
	}
	code = binary.LittleEndian.AppendUint32(code, crc32.ChecksumIEEE(code))
	plain = crockford().EncodeToString(code)
	return plain, HashCode(plain), nil
}

// ParseCode reads a code as a person may type it, in either case, with spaces,
// hyphens or line breaks, with I or L for 1 and O for 0, and returns its canonical spelling.
//
// The error is [ErrMalformedCode] when the text isn't a code at all, and
// [ErrMistypedCode] when only the checksum is wrong. The checksum finds every
// change within five neighbouring characters, for they lie in four bytes, and all
// but one in 2³² of the others. Neither needs a look into the database.
func ParseCode(typed string) (string, error) {
	plain := codeSpelling().Replace(strings.ToUpper(typed))
	code, err := crockford().DecodeString(plain)
	if err != nil || len(code) != secretBytes+checksumBytes {
		return "", ErrMalformedCode
	}
	secret, checksum := code[:secretBytes], code[secretBytes:]
	sparesAreZero := crockford().EncodeToString(code) == plain // 58 characters hold 290 bits
	if !sparesAreZero || binary.LittleEndian.Uint32(checksum) != crc32.ChecksumIEEE(secret) {
		return "", ErrMistypedCode
	}
	return plain, nil
}

// HashCode is the SHA-256 of a code's canonical spelling, as [ParseCode] returns
// it, in hexadecimal. A secret of 256 bits needs neither salt nor a slow hash.
func HashCode(plain string) string {
	sum := sha256.Sum256([]byte(plain))
	return hex.EncodeToString(sum[:])
}

// SameHash compares two hashes of codes in a time that doesn't depend on where
// they differ.
func SameHash(a, b string) bool {
	return subtle.ConstantTimeCompare([]byte(a), []byte(b)) == 1
}

// crockford is Crockford's base 32 without padding.
func crockford() *base32.Encoding {
	return base32.NewEncoding("0123456789ABCDEFGHJKMNPQRSTVWXYZ").WithPadding(base32.NoPadding)
}

// codeSpelling maps what people write to what is meant.
func codeSpelling() *strings.Replacer {
	return strings.NewReplacer(" ", "", "-", "", "\r", "", "\n", "", "I", "1", "L", "1", "O", "0")
}
