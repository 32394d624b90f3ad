package api

import (
	"context"
	"iter"
	"log/slog"
	"net/http"
	"net/netip"
	"strings"
	"time"

	"lumbricary.example/service"

	"github.com/gin-gonic/gin"
)

// Server is the HTTP face of the use-cases.
type Server struct {
	*service.Service
	Log          *slog.Logger
	Now          func() time.Time
	NewRequestID func() string // nil: as the use-cases make ids
	PublicURL    string        // where callers reach the service, without a slash at the end
	CursorKey    []byte        // signs the cursors of lists

	Limits         Limits         // how often callers may call; zero: as often as they like
	TrustedProxies []netip.Prefix // whose X-Forwarded-For is believed
	limits         limiters

	Watchers []Watcher     // metrics, traces
	Patience time.Duration // how long a call may take; 0: 30 s

	JWKS    func(context.Context) ([]byte, error) // the public keys of access tokens
	OpenAPI http.Handler                          // the contract; nil: not served
	Docs    http.Handler                          // the documentation page; nil: not served

	Elements map[string]http.Handler // scripts for the pages of clubs, by their paths
}

// Handler returns the whole interface. It trusts no proxy.
func (s *Server) Handler() http.Handler {
	gin.SetMode(gin.ReleaseMode)
	s.limits = newLimiters(s.Limits, s.Now)
	e := gin.New()
	e.HandleMethodNotAllowed = true
	e.RedirectTrailingSlash = false
	if err := e.SetTrustedProxies(nil); err != nil {
		panic(err) // nil is always accepted
	}
	e.Use(s.watched, s.trace, compress(), s.recovered)
	e.NoRoute(func(c *gin.Context) { s.fail(c, service.ErrNoRoute) })
	e.NoMethod(s.noMethod)
	paths := map[string][]route{}
	for rt, handler := range s.all() {
		paths[rt.path] = append(paths[rt.path], rt)
		chain := []gin.HandlerFunc{s.crossOrigin(rt), handler}
		e.Handle(rt.method, ginPath(rt.path), chain...)
		if rt.method == get {
			e.HEAD(ginPath(rt.path), chain...)
		}
	}
	for path, routes := range paths {
		e.OPTIONS(ginPath(path), s.preflight(routes))
	}
	return e
}

// all are the routes and what answers them: the table's, then what others made
// handlers for.
func (s *Server) all() iter.Seq2[route, gin.HandlerFunc] {
	return func(yield func(route, gin.HandlerFunc) bool) {
		for _, rt := range s.routes() {
			if !yield(rt, s.serve(rt)) {
				return
			}
		}
		for path, h := range s.Elements {
			if !yield(route{get, path, nil, public}, gin.WrapH(h)) {
				return
			}
		}
		for _, m := range []struct {
			path  string
			h     http.Handler
			flags flags
		}{{"/openapi.json", s.OpenAPI, public}, {"/docs", s.Docs, 0}, {"/docs/*page", s.Docs, 0}} {
			if m.h != nil && !yield(route{get, m.path, nil, m.flags}, gin.WrapH(m.h)) {
				return
			}
		}
	}
}

// ginPath writes a path template as gin wants it: /clubs/:club for
// /clubs/{club}.
func ginPath(template string) string {
	return strings.NewReplacer("/{", "/:", "}", "").Replace(template)
}

// serve adapts a handler: who calls, what they send, what they get.
func (s *Server) serve(rt route) gin.HandlerFunc {
	return func(c *gin.Context) {
		defer s.timed(c, rt)()
		r := &request{ctx: c.Request.Context(), server: s, gin: c, route: rt}
		out, err := r.run()
		if err != nil {
			s.fail(c, err)
			return
		}
		out.write(c, rt)
	}
}
