package api_test

import (
	"net/http"
	"strings"
	"testing"

	"lumbricary.example/api/apitest"
	"lumbricary.example/api/elements"
)

func TestTheElementsAreServedToEveryPage(t *testing.T) {
	t.Parallel()
	c := apitest.New(t)
	c.Server.Elements = elements.Handlers()
	for path := range c.Server.Elements {
		a := c.With("Origin", stranger).Get(path).Want(http.StatusOK).Has("Access-Control-Allow-Origin", "*").Has("Cross-Origin-Resource-Policy", "cross-origin")
		a.Has("X-Content-Type-Options", "nosniff").Has("Content-Type", "text/javascript; charset=utf-8")
		if caching := a.Header.Get("Cache-Control"); !strings.HasPrefix(caching, "public, max-age=") {
			t.Errorf("%s: %s", path, caching)
		}
		c.With("If-None-Match", a.Header.Get("ETag")).Get(path).Want(http.StatusNotModified)
	}
	c.Get("/elements/lumbricary-0.0.1.js").Problem(http.StatusNotFound, "not-found")
}
