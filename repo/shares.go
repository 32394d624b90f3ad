package repo

import (
	"strings"

	"lumbricary.example/service/lineage"

	"github.com/google/uuid"
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

// origins knows the origins that were read before, by how rows hold them, so that
// lots that have one share its text.
type origins map[string]string

// shares undoes sharesToBytes; it returns none where row isn't whole.
func (known origins) shares(row []byte) lineage.Shares {
	if len(row) == 0 {
		return nil
	}
	out := make(lineage.Shares, 0, len(row)/(1+uuidBytes+partsBytes))
	for len(row) > 0 {
		n := 1 + int(row[0])
		if row[0] == 0 {
			n = 1 + uuidBytes
		}
		if len(row) < n+partsBytes {
			return nil
		}
		s := lineage.Share{Origin: known.origin(row[:n])}
		for _, b := range row[n : n+partsBytes] {
			s.Parts = s.Parts<<8 | int64(b)
		}
		out, row = append(out, s), row[n+partsBytes:]
	}
	return out
}

// origin returns the id that a row holds as key.
func (known origins) origin(key []byte) string {
	id, ok := known[string(key)]
	if !ok {
		id = string(key[1:])
		if key[0] == 0 {
			id = uuidFromBytes(key[1:])
		}
		known[string(key)] = id
	}
	return id
}

// uuidToBytes returns the bytes of a UUID in lower case, and false for any
// other text.
func uuidToBytes(text string) (id uuid.UUID, ok bool) {
	if len(text) != 36 {
		return id, false
	}
	id, err := uuid.Parse(text)
	return id, err == nil && strings.ToLower(text) == text
}

func uuidFromBytes(id []byte) string { return uuid.UUID(id).String() }
