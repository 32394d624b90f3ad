// Package openapi is the contract of the HTTP interface: the OpenAPI document,
// which command gen makes from package api, and the page that shows it.
package openapi

import (
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	_ "embed" // for the document
	"encoding/hex"
	"io"
	"net/http"
	"slices"
	"strings"
)

// Version is the version of the contract: raised with every release, its first
// number (while that is 0, its second) when callers of the release before would
// break.
const Version = "0.1.0"

//go:embed openapi.json.gz
var document []byte // packed: it is a twentieth of openapi.json

// Document returns the contract, an OpenAPI 3.1 document in JSON.
func Document() []byte { return unpacked(document) }

// Handler answers with the contract, or 304 to callers that have it.
func Handler() http.Handler { return serveText("application/json", string(Document())) }

// unpacked undoes gzip.
func unpacked(packed []byte) []byte {
	r, err := gzip.NewReader(bytes.NewReader(packed))
	if err != nil {
		panic(err) // it is part of the program
	}
	body, err := io.ReadAll(r)
	if err != nil {
		panic(err)
	}
	return body
}

// serveText answers with a fixed text.
func serveText(media, body string) http.Handler {
	sum := sha256.Sum256([]byte(body))
	etag := `"` + hex.EncodeToString(sum[:8]) + `"`
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Type", media)
		h.Set("Cache-Control", "no-cache")
		h.Set("ETag", etag)
		h.Set("X-Content-Type-Options", "nosniff")
		if known(r.Header.Get("If-None-Match"), etag) {
			w.WriteHeader(http.StatusNotModified)
			return
		}
		_, _ = w.Write([]byte(body)) // the caller may have gone
	})
}

// known tells whether an If-None-Match header lists the tag.
func known(header, etag string) bool {
	tags := strings.FieldsFunc(header, func(r rune) bool { return r == ',' || r == ' ' })
	return slices.ContainsFunc(tags, func(t string) bool { return t == "*" || strings.TrimPrefix(t, "W/") == etag })
}
