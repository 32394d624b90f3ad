// Package elements is the script by which any page shows what a club publishes:
// custom elements for the figures of a season, offers and lineages. It is served
// as it stands here, so that it can be read and changed without building anything.
package elements

import (
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"io/fs"
	"net/http"
	"path"
	"strings"
)

// Newest is the version that the stable address serves. A version that was
// released stays as it is, beside newer ones, because pages name it.
const Newest = "1.0.0"

// Where the scripts lie, and what each is called before its version.
const (
	folder = "/elements/"
	stem   = "lumbricary"
)

// How long caches keep a script: the stable address an hour, a version for good.
const (
	anHour  = "public, max-age=3600"
	forGood = "public, max-age=31536000, immutable"
)

//go:embed *.js
var scripts embed.FS

// Handlers are the scripts by their addresses: every version under its own, the
// newest under the stable one as well.
func Handlers() map[string]http.Handler {
	files, err := fs.Glob(scripts, stem+"-*.js")
	if err != nil {
		panic(err) // the pattern is fine
	}
	all := map[string]http.Handler{folder + stem + ".js": script(stem+"-"+Newest+".js", anHour)}
	for _, name := range files {
		all[path.Join(folder, name)] = script(name, forGood)
	}
	return all
}

// script answers with a script, or 304 to callers that have it.
func script(name, caching string) http.Handler {
	body, err := scripts.ReadFile(name)
	if err != nil {
		panic(err) // the file is part of the program
	}
	sum := sha256.Sum256(body)
	etag := `"` + hex.EncodeToString(sum[:8]) + `"`
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Type", "text/javascript; charset=utf-8")
		h.Set("Cache-Control", caching)
		h.Set("ETag", etag)
		if strings.Contains(r.Header.Get("If-None-Match"), strings.Trim(etag, `"`)) {
			w.WriteHeader(http.StatusNotModified)
			return
		}
		_, _ = w.Write(body) // the caller may have gone
	})
}
