package api

import (
	"crypto/hmac"
	"crypto/sha256"
	"encoding/base64"
	"encoding/binary"
	"strconv"
	"strings"
	"time"

	"lumbricary.example/service"
)

const (
	macBytes    = 16 // of the 32 of HMAC-SHA-256
	cursorLabel = "lumbricary cursor 1"
)

// cursor writes a place in the list that scope names as text that only this
// service can make.
func (s *Server) cursor(scope string, at service.Place) string {
	place := []byte(strconv.FormatInt(micros(at.At), 10) + " " + at.ID)
	return base64.RawURLEncoding.EncodeToString(append(s.seal(scope, place), place...))
}

// place reads what cursor wrote. Errors: ErrCursor for a cursor that was
// changed or belongs to another list.
func (s *Server) place(scope, cursor string) (service.Place, error) {
	text, err := base64.RawURLEncoding.Strict().DecodeString(cursor)
	if err != nil || len(text) < macBytes {
		return service.Place{}, service.ErrCursor
	}
	mac, place := text[:macBytes], text[macBytes:]
	if !hmac.Equal(mac, s.seal(scope, place)) {
		return service.Place{}, service.ErrCursor
	}
	us, id, _ := strings.Cut(string(place), " ")
	at, err := strconv.ParseInt(us, 10, 64)
	if err != nil {
		return service.Place{}, service.ErrCursor.Because(err)
	}
	return service.Place{At: timeOf(at), ID: id}, nil
}

// seal is the message authentication code of a place in a list.
func (s *Server) seal(scope string, place []byte) []byte {
	mac := hmac.New(sha256.New, s.CursorKey)
	for _, part := range [][]byte{[]byte(cursorLabel), []byte(scope), place} {
		mac.Write(binary.BigEndian.AppendUint64(nil, uint64(len(part)))) // never fails
		mac.Write(part)
	}
	return mac.Sum(nil)[:macBytes]
}

// micros and timeOf carry a time as microseconds, and the zero time as 0.
func micros(t time.Time) int64 {
	if t.IsZero() {
		return 0
	}
	return t.UnixMicro()
}

func timeOf(us int64) time.Time {
	if us == 0 {
		return time.Time{}
	}
	return time.UnixMicro(us).UTC()
}
