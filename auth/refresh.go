package auth

import (
	"crypto/hmac"
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"hash/crc32"
	"strings"
)

// The parts of a refresh token in bytes; the checksum of a code follows them.
const (
	familyBytes     = 16
	generationBytes = 4
	macBytes        = sha256.Size
	refreshBytes    = familyBytes + generationBytes + macBytes + checksumBytes
)

// refreshPurpose keeps the authentication code of a refresh token from being
// one of anything else under the same key.
const refreshPurpose = "lumbricary refresh token 1\x00"

// RefreshPrefix starts every refresh token, so that one that got lost is known
// for what it is.
const RefreshPrefix = "lbr_"

// RefreshLength is the number of characters of a refresh token: the prefix and
// 448 bits at five a character.
const RefreshLength = len(RefreshPrefix) + 90

// RefreshToken names one generation of a family of refresh tokens. It needs not
// be stored, in clear or hashed: whoever holds the key makes it again.
type RefreshToken struct {
	Family     string // a UUID in lower case
	Generation uint32
}

// Sign writes the token under the server's key: the prefix and, in Crockford's
// base 32,
//
//	family (16) ‖ generation (4, big-endian) ‖ HMAC-SHA-256(key, purpose ‖ family ‖ generation) ‖ CRC-32
//
// The error is [ErrMalformedRefresh] for a family that is no UUID.
func (r RefreshToken) Sign(key []byte) (string, error) {
	family, err := hex.DecodeString(strings.ReplaceAll(r.Family, "-", ""))
	if err != nil || len(family) != familyBytes || uuidOf(family) != r.Family {
		return "", ErrMalformedRefresh
	}
	token := binary.BigEndian.AppendUint32(family, r.Generation)
	token = append(token, refreshMAC(key, token)...)
	token = binary.LittleEndian.AppendUint32(token, crc32.ChecksumIEEE(token))
	return RefreshPrefix + crockford().EncodeToString(token), nil
}

// ParseRefreshToken reads what [RefreshToken.Sign] wrote under the same key, and
// no other spelling of it. The error is [ErrMalformedRefresh] for a text that is
// no refresh token, [ErrMistypedCode] when its checksum is wrong, and
// [ErrInvalid] when it isn't of this key.
func ParseRefreshToken(key []byte, text string) (RefreshToken, error) {
	spelt, ok := strings.CutPrefix(text, RefreshPrefix)
	if !ok || len(text) != RefreshLength {
		return RefreshToken{}, ErrMalformedRefresh
	}
	token, err := crockford().DecodeString(spelt)
	if err != nil || len(token) != refreshBytes || crockford().EncodeToString(token) != spelt {
		return RefreshToken{}, ErrMalformedRefresh
	}
	body, checksum := token[:refreshBytes-checksumBytes], token[refreshBytes-checksumBytes:]
	if binary.LittleEndian.Uint32(checksum) != crc32.ChecksumIEEE(body) {
		return RefreshToken{}, ErrMistypedCode
	}
	named, mac := body[:familyBytes+generationBytes], body[familyBytes+generationBytes:]
	if !hmac.Equal(mac, refreshMAC(key, named)) {
		return RefreshToken{}, ErrInvalid
	}
	return RefreshToken{Family: uuidOf(named[:familyBytes]), Generation: binary.BigEndian.Uint32(named[familyBytes:])}, nil
}

// refreshMAC is the authentication code over the parts that name a token.
func refreshMAC(key, named []byte) []byte {
	h := hmac.New(sha256.New, key)
	h.Write([]byte(refreshPurpose)) // never fails
	h.Write(named)
	return h.Sum(nil)
}

// uuidOf writes 16 bytes as a UUID.
func uuidOf(b []byte) string {
	x := hex.EncodeToString(b)
	return x[:8] + "-" + x[8:12] + "-" + x[12:16] + "-" + x[16:20] + "-" + x[20:]
}
