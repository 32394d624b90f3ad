package api

import (
	"context"
	"log/slog"
	"net/http"
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

	JWKS    func(context.Context) ([]byte, error) // the public keys of access tokens
	OpenAPI http.Handler                          // the contract; nil: not served
	Docs    http.Handler                          // the documentation page; nil: not served
}

// Handler returns the whole interface. It trusts no proxy.
func (s *Server) Handler() http.Handler {
	gin.SetMode(gin.ReleaseMode)
	e := gin.New()
	e.HandleMethodNotAllowed = true
	e.RedirectTrailingSlash = false
	if err := e.SetTrustedProxies(nil); err != nil {
		panic(err) // nil is always accepted
	}
	e.Use(s.trace, s.recovered)
	e.NoRoute(func(c *gin.Context) { s.fail(c, service.ErrNoRoute) })
	e.NoMethod(func(c *gin.Context) { s.fail(c, service.ErrNoMethod) })
	for _, rt := range s.routes() {
		e.Handle(rt.method, ginPath(rt.path), s.serve(rt))
	}
	s.mount(e)
	return e
}

// mount adds what others made handlers for.
func (s *Server) mount(e *gin.Engine) {
	if s.OpenAPI != nil {
		e.GET("/openapi.json", gin.WrapH(s.OpenAPI))
	}
	if s.Docs != nil {
		e.GET("/docs", gin.WrapH(s.Docs))
		e.GET("/docs/*page", gin.WrapH(s.Docs))
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
		c.Set(routeKey, rt.path)
		r := &request{ctx: c.Request.Context(), server: s, gin: c, route: rt}
		out, err := r.run()
		if err != nil {
			s.fail(c, err)
			return
		}
		out.write(c, rt)
	}
}
