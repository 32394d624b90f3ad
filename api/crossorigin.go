package api

import (
	"context"
	"net/http"
	"slices"
	"strings"

	"lumbricary.example/service"

	"github.com/gin-gonic/gin"
)

// The headers of cross-origin calls (Fetch standard, section 3.2). Credentials
// mode is never allowed: callers send a token, and browsers none by themselves.
const (
	anyOrigin = "*"
	exposed   = "Content-Disposition, ETag, Idempotency-Replayed, Link, Location, RateLimit, RateLimit-Policy, Retry-After, WWW-Authenticate, X-Request-Id"
	preflown  = "600" // seconds that a browser keeps the answer to a preflight
)

// open tells whether any page may read the route's answers: what is public and
// only read. A page of another origin has no business with the rest.
func (rt route) open() bool { return rt.has(public) && rt.method == get }

// inClub tells whether the route leads to a club's own.
func (rt route) inClub() bool {
	return !rt.has(public) && strings.HasPrefix(rt.path, "/v1/clubs/{club}")
}

// crossOrigin lets pages of other origins read the answer where they may.
func (s *Server) crossOrigin(rt route) gin.HandlerFunc {
	return func(c *gin.Context) {
		if rt.open() {
			c.Header("Cross-Origin-Resource-Policy", "cross-origin")
		}
		if rt.inClub() || rt.has(entrance) {
			c.Writer.Header().Add("Vary", "Origin")
		}
		if origin := s.letIn(c, rt); origin != "" {
			c.Header("Access-Control-Allow-Origin", origin)
			c.Header("Access-Control-Expose-Headers", exposed)
		}
	}
}

// letIn is the origin that may read the route's answer: any, the caller's own if
// the club of the path lists it to the letter, or, where one signs in, any club
// does; or none.
func (s *Server) letIn(c *gin.Context, rt route) string {
	origin := c.GetHeader("Origin")
	switch {
	case rt.open():
		return anyOrigin
	case origin == "" || origin == "null":
		return ""
	case rt.has(entrance):
		if listed, err := s.Clubs.AnyLists(c.Request.Context(), origin); err != nil || !listed {
			return ""
		}
		return origin
	case !rt.inClub() || !storable(c.Param("club")):
		return ""
	}
	listed, err := s.OriginsOf(c.Request.Context(), c.Param("club"))
	if err != nil || !slices.Contains(listed, origin) {
		return ""
	}
	return origin
}

// OriginsOf lists the origins of the pages that the club lets in. Errors:
// ErrClubNotFound.
func (s *Server) OriginsOf(ctx context.Context, club string) ([]string, error) {
	return s.Clubs.Origins(ctx, club)
}

// preflight answers OPTIONS for a path: a browser that asks before a call of a
// listed origin is told what it may send, any other the same as at an address
// where there is nothing. Who only asks for the methods gets those.
func (s *Server) preflight(routes []route) gin.HandlerFunc {
	methods := methodsOf(routes)
	return func(c *gin.Context) {
		method := c.GetHeader("Access-Control-Request-Method")
		h := c.Writer.Header()
		if method == "" || c.GetHeader("Origin") == "" {
			h.Set("Allow", methods)
			c.Status(http.StatusNoContent)
			return
		}
		for _, name := range []string{"Origin", "Access-Control-Request-Method", "Access-Control-Request-Headers"} {
			h.Add("Vary", name)
		}
		i := slices.IndexFunc(routes, func(rt route) bool { return rt.method == method || rt.method == get && method == http.MethodHead })
		if i < 0 {
			s.fail(c, service.ErrNoRoute)
			return
		}
		origin := s.letIn(c, routes[i])
		if origin == "" {
			s.fail(c, service.ErrNoRoute)
			return
		}
		h.Set("Access-Control-Allow-Origin", origin)
		h.Set("Access-Control-Allow-Methods", methods)
		h.Set("Access-Control-Allow-Headers", routes[i].headers())
		h.Set("Access-Control-Max-Age", preflown)
		c.Status(http.StatusNoContent)
	}
}

// methodsOf lists the methods of one path.
func methodsOf(routes []route) string {
	names := []string{http.MethodOptions}
	for _, rt := range routes {
		names = append(names, rt.method)
		if rt.method == get {
			names = append(names, http.MethodHead)
		}
	}
	slices.Sort(names)
	return strings.Join(slices.Compact(names), ", ")
}

// headers lists the request headers that the route reads and a browser asks for.
func (rt route) headers() string {
	names := []string{"X-Request-Id"}
	if rt.inClub() && rt.method != get {
		names = append(names, lateHeader)
	}
	if !rt.has(public) {
		names = append(names, "Authorization")
	}
	switch rt.method {
	case get:
		names = append(names, "If-None-Match")
	case post:
		names = append(names, "Content-Type", "Idempotency-Key")
	default:
		names = append(names, "Content-Type", "Idempotency-Key", "If-Match")
	}
	slices.Sort(names)
	return strings.Join(names, ", ")
}
