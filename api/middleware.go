package api

import (
	"errors"
	"fmt"
	"net/http"
	"regexp"
	"runtime/debug"

	"github.com/gin-gonic/gin"
)

// The keys under which the engine's context keeps things.
const (
	routeKey     = "route"
	requestIDKey = "request-id"
)

var uuidForm = regexp.MustCompile(`^[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}$`)

// trace names the request, sets the headers that every answer has, and writes
// one line of the access log, with the route's template and never the path.
func (s *Server) trace(c *gin.Context) {
	id := c.GetHeader("X-Request-Id")
	if !uuidForm.MatchString(id) {
		id = s.newRequestID()
	}
	c.Set(requestIDKey, id)
	c.Header("X-Request-Id", id)
	c.Set(routeKey, templateOf(c.FullPath()))
	s.safe(c)
	start := s.Now()
	c.Next()
	s.Log.InfoContext(c.Request.Context(), "request",
		"method", c.Request.Method, "route", c.GetString(routeKey), "status", c.Writer.Status(),
		"bytes", max(0, c.Writer.Size()), "duration", s.Now().Sub(start), "request_id", id)
}

func (s *Server) newRequestID() string {
	if s.NewRequestID != nil {
		return s.NewRequestID()
	}
	return s.NewID()
}

func requestID(c *gin.Context) string { return c.GetString(requestIDKey) }

// recovered turns a panic into a problem.
func (s *Server) recovered(c *gin.Context) {
	defer func() {
		cause := recover()
		if cause == nil {
			return
		}
		if err, ok := cause.(error); ok && errors.Is(err, http.ErrAbortHandler) {
			panic(cause) // net/http drops the connection
		}
		s.fail(c, fmt.Errorf("panic: %v\n%s", cause, debug.Stack()))
	}()
	c.Next()
}
