// Package qr writes the ids of things so that a phone reads them off a label: in
// a short form, and as the modules of a QR code (ISO/IEC 18004).
package qr

import (
	"encoding/hex"
	"errors"
	"math/big"
	"strings"

	qrcode "github.com/skip2/go-qrcode"
)

// digits are those of Crockford's base 32, which has no letter that is mistaken
// for another; all of them are in the alphanumeric mode of QR codes.
const digits = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"

// length is how many digits 128 bits take.
const length = 26

// ErrID is an id that is no UUID, and ErrShort a text that is no short form.
var (
	ErrID    = errors.New("an id is a UUID")
	ErrShort = errors.New("a code has 26 digits and letters, without I, L, O and U")
)

// Short returns the short form of an id: its 128 bits in 26 digits. Errors:
// ErrID.
func Short(id string) (string, error) {
	bits, err := hex.DecodeString(strings.ReplaceAll(id, "-", ""))
	if err != nil || len(bits) != 16 {
		return "", ErrID
	}
	n, thirtyTwo, digit := new(big.Int).SetBytes(bits), big.NewInt(32), new(big.Int)
	out := make([]byte, length)
	for i := length - 1; i >= 0; i-- {
		n.DivMod(n, thirtyTwo, digit)
		out[i] = digits[digit.Int64()]
	}
	return string(out), nil
}

// ID returns the id of a short form as people copy it: in lower case, with
// hyphens or spaces, with I or L for 1 and O for 0. Errors: ErrShort.
func ID(short string) (string, error) {
	short = strings.NewReplacer("-", "", " ", "", "I", "1", "L", "1", "O", "0").Replace(strings.ToUpper(short))
	n := new(big.Int)
	for _, r := range short {
		at := strings.IndexRune(digits, r)
		if at < 0 {
			return "", ErrShort
		}
		n.Add(n.Lsh(n, 5), big.NewInt(int64(at)))
	}
	if len(short) != length || n.BitLen() > 128 {
		return "", ErrShort
	}
	h := hex.EncodeToString(n.FillBytes(make([]byte, 16)))
	return h[:8] + "-" + h[8:12] + "-" + h[12:16] + "-" + h[16:20] + "-" + h[20:], nil
}

// Modules returns the QR code of a text, by rows, dark modules as true, with the
// light border that readers need. A quarter of it may be soiled. Errors: a text
// that is too long.
func Modules(text string) ([][]bool, error) {
	q, err := qrcode.New(text, qrcode.High)
	if err != nil {
		return nil, err
	}
	return q.Bitmap(), nil
}
