package repo

import (
	"encoding/hex"

	"lumbricary.example/service/lineage"
)

// A lot's row holds its shares one after the other. Each is the origin's id: a
// zero byte and the sixteen of a UUID, or for any other id one byte of its length
// and the id; then its parts, five bytes, the highest first. That is 22 bytes a
// share, half of what JSON takes.
const (
	uuidBytes  = 16
	partsBytes = 5 // lineage.One is less than 2⁴⁰
)

// sharesToBytes returns shares as their lot's row holds them.
func sharesToBytes(shares lineage.Shares) []byte {
	out := make([]byte, 0, len(shares)*(1+uuidBytes+partsBytes))
	for _, s := range shares {
		if id, ok := uuidToBytes(s.Origin); ok {
			out = append(append(out, 0), id[:]...)
		} else {
			out = append(append(out, byte(len(s.Origin))), s.Origin...) //nolint:gosec // G115: ids are UUIDs, or a short word
		}
		for shift := 8 * (partsBytes - 1); shift >= 0; shift -= 8 {
			out = append(out, byte(s.Parts>>shift)) //nolint:gosec // G115: the lowest byte is meant
		}
	}
	return out
}

// sharesFromBytes undoes sharesToBytes; it returns none where row isn't whole.
func sharesFromBytes(row []byte) lineage.Shares {
	if len(row) == 0 {
		return nil
	}
	out := make(lineage.Shares, 0, len(row)/(1+uuidBytes+partsBytes))
	for len(row) > 0 {
		n, uuid := int(row[0]), row[0] == 0
		if uuid {
			n = uuidBytes
		}
		if len(row) < 1+n+partsBytes {
			return nil
		}
		s := lineage.Share{Origin: string(row[1 : 1+n])}
		if uuid {
			s.Origin = uuidFromBytes(row[1 : 1+n])
		}
		for _, b := range row[1+n : 1+n+partsBytes] {
			s.Parts = s.Parts<<8 | int64(b)
		}
		out, row = append(out, s), row[1+n+partsBytes:]
	}
	return out
}

// uuidToBytes returns the bytes of a UUID in lower case, and false for any
// other text.
func uuidToBytes(text string) (id [uuidBytes]byte, ok bool) {
	if len(text) != 36 {
		return id, false
	}
	digits := text[:8] + text[9:13] + text[14:18] + text[19:23] + text[24:]
	if _, err := hex.Decode(id[:], []byte(digits)); err != nil {
		return id, false
	}
	return id, uuidFromBytes(id[:]) == text
}

func uuidFromBytes(id []byte) string {
	var text [36]byte
	hex.Encode(text[:8], id[:4])
	hex.Encode(text[9:13], id[4:6])
	hex.Encode(text[14:18], id[6:8])
	hex.Encode(text[19:23], id[8:10])
	hex.Encode(text[24:], id[10:])
	text[8], text[13], text[18], text[23] = '-', '-', '-', '-'
	return string(text[:])
}
