package api

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"net/http"
	"reflect"
	"strings"

	"lumbricary.example/service"
)

// maxKey is how many characters an Idempotency-Key may have.
const maxKey = 255

// once calls the handler; with an Idempotency-Key on a route that takes one, it
// makes the call happen once. A replay of an answer with a secret shows what
// was kept in its place. Errors: ErrMalformed for a bad key, ErrClubNotFound,
// ErrKeyReused, ErrKeyBusy, those of the handler.
func (r *request) once() (sent, error) {
	header := r.gin.GetHeader("Idempotency-Key")
	if header == "" || !r.route.keyed() {
		return r.call()
	}
	key, ok := parseKey(header)
	if !ok {
		return sent{}, service.ErrMalformed.With("an Idempotency-Key is a quoted string or a bare token of 1 to %d printable ASCII characters", maxKey)
	}
	var live sent
	var kept service.Answer
	outer := r.ctx
	stored, err := r.server.Once(r.ctx, r.actor(), r.onceKey(key), func(ctx context.Context) (_ service.Answer, err error) {
		r.ctx = ctx
		live, kept, err = r.callToKeep()
		return kept, err
	})
	r.ctx = outer
	if err != nil {
		return sent{}, err
	}
	if reflect.DeepEqual(stored, kept) {
		return live, nil
	}
	return sent{Answer: stored, replayed: true}, nil
}

// call runs the handler. Errors: those of the handler.
func (r *request) call() (sent, error) {
	live, _, err := r.callToKeep()
	return live, err
}

// callToKeep runs the handler and returns its answer twice: as it is sent now,
// and as it is kept. Errors: those of the handler.
func (r *request) callToKeep() (live sent, kept service.Answer, err error) {
	r.local, r.err = nil, nil // of a run before
	out, err := r.route.handle(r)
	if err != nil {
		return sent{}, service.Answer{}, err
	}
	if live, err = out.encoded(); err != nil {
		return sent{}, service.Answer{}, err
	}
	if !r.route.has(secret) {
		return live, live.Answer, nil
	}
	out.body = out.kept
	shown, err := out.encoded()
	return live, shown.Answer, err
}

// onceKey is the scope of a key and what the request said.
func (r *request) onceKey(key string) service.OnceKey {
	h := sha256.New()
	for _, part := range [][]byte{[]byte(r.path()), []byte(r.gin.Request.URL.RawQuery), r.body} {
		sum := sha256.Sum256(part)
		h.Write(sum[:]) // never fails
	}
	return service.OnceKey{Route: r.route.method + " " + r.route.path, Key: key, BodyHash: hex.EncodeToString(h.Sum(nil))}
}

// keyed tells whether the route takes an Idempotency-Key.
func (rt route) keyed() bool {
	return rt.method == http.MethodPost && strings.HasPrefix(rt.path, "/v1/clubs/{club}/") && !rt.has(unkeyed)
}

// parseKey reads an Idempotency-Key: a quoted string (RFC 8941, section 3.3.3),
// or the same without quotes.
func parseKey(header string) (string, bool) {
	key := header
	if rest, quoted := strings.CutPrefix(header, `"`); quoted {
		var closed bool
		if key, closed = strings.CutSuffix(rest, `"`); !closed {
			return "", false
		}
		var ok bool
		if key, ok = unescape(key); !ok {
			return "", false
		}
	} else if strings.ContainsAny(header, " \"\\,;") {
		return "", false
	}
	for i := range len(key) {
		if key[i] < ' ' || key[i] > '~' {
			return "", false
		}
	}
	return key, key != "" && len(key) <= maxKey
}

// unescape takes away the backslashes of a quoted string, which stand before
// quotes and backslashes only.
func unescape(text string) (string, bool) {
	var b strings.Builder
	for i := 0; i < len(text); i++ {
		switch text[i] {
		case '"':
			return "", false
		case '\\':
			i++
			if i == len(text) || text[i] != '"' && text[i] != '\\' {
				return "", false
			}
		}
		b.WriteByte(text[i])
	}
	return b.String(), true
}
