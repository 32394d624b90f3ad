package openapi

import (
	"embed"
	"encoding/json"
	"errors"
	"io/fs"
	"net/http"
	"path"
)

// docsPath is where the documentation page lies.
const docsPath = "/docs/"

// docsPolicy is the Content-Security-Policy of the page: nothing but what this
// service serves, and no script or style inside the page.
const docsPolicy = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; " +
	"connect-src 'self'; font-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"

//go:embed page
var page embed.FS

// Docs answers with the documentation page of the contract, which calls nothing
// but this service: /docs leads to /docs/, and under it lie the files that the
// page needs, and no others.
func Docs() http.Handler {
	files := pageFiles()
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", docsPolicy)
		h.Set("Referrer-Policy", "no-referrer")
		if r.URL.Path == path.Clean(docsPath) {
			http.Redirect(w, r, docsPath, http.StatusMovedPermanently)
			return
		}
		file, ok := files[r.URL.Path]
		if !ok {
			notFound(w)
			return
		}
		file.ServeHTTP(w, r)
	})
}

// notFound answers with a problem, under the request id that the answer has.
func notFound(w http.ResponseWriter) {
	id := w.Header().Get("X-Request-Id")
	body, err := json.Marshal(map[string]any{
		"type": "/problems/not-found", "title": http.StatusText(http.StatusNotFound), "status": http.StatusNotFound,
		"detail": "there is nothing at this address", "instance": "urn:uuid:" + id, "request_id": id,
	})
	if err != nil {
		panic(err) // the body is made of strings
	}
	w.Header().Set("Content-Type", "application/problem+json")
	w.WriteHeader(http.StatusNotFound)
	_, _ = w.Write(body) // the caller may have gone
}

// pageFiles are the page's files, by their paths.
func pageFiles() map[string]http.Handler {
	own, _ := fs.Sub(page, "page") // a valid name
	return map[string]http.Handler{
		docsPath:                          serveFile(own, "index.html", "text/html; charset=utf-8"),
		docsPath + "start.js":             serveFile(own, "start.js", "text/javascript; charset=utf-8"),
		docsPath + "swagger-ui-bundle.js": serveFile(own, "swagger-ui-bundle.js", "text/javascript; charset=utf-8"),
		docsPath + "swagger-ui.css":       serveFile(own, "swagger-ui.css", "text/css; charset=utf-8"),
		docsPath + "favicon-32x32.png":    serveFile(own, "favicon-32x32.png", "image/png"),
	}
}

// serveFile answers with an embedded file, which may be packed.
func serveFile(files fs.FS, name, media string) http.Handler {
	body, err := fs.ReadFile(files, name)
	if errors.Is(err, fs.ErrNotExist) {
		if body, err = fs.ReadFile(files, name+".gz"); err == nil {
			body = unpacked(body)
		}
	}
	if err != nil {
		panic(err) // the file is part of the program
	}
	return serveText(media, string(body))
}
