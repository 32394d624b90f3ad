package api

import (
	"context"
	"regexp"
	"slices"

	"github.com/gin-gonic/gin"
)

// Call is all that watchers are told of a request: not its path, not its query,
// not who asks, so that no metric or trace can show them.
type Call struct {
	Method      string // one of HTTP's, or OTHER
	Route       string // template of the path, as /v1/clubs/{club}; NONE where nothing is
	TraceParent string // header of that name (W3C Trace Context), as it came
}

// Watcher is told of every call that begins, and by the function that it returns
// of the status with which it ended. The call goes on with the context that it
// returns.
type Watcher func(context.Context, Call) (context.Context, func(status int))

// watched tells the watchers.
func (s *Server) watched(c *gin.Context) {
	call := Call{Method: methodName(c.Request.Method), Route: templateOf(c.FullPath()), TraceParent: c.GetHeader("Traceparent")}
	ctx := c.Request.Context()
	for _, w := range s.Watchers {
		next, done := w(ctx, call)
		defer func() { done(c.Writer.Status()) }() // they end after the call, the last first
		ctx = next
	}
	c.Request = c.Request.WithContext(ctx)
	c.Next()
}

// methodName is the method, or OTHER: a caller may send any word.
func methodName(method string) string {
	if slices.Contains([]string{"GET", "HEAD", "POST", "PUT", "PATCH", "DELETE", "OPTIONS"}, method) {
		return method
	}
	return "OTHER"
}

var ginParameter = regexp.MustCompile(`[:*](\w+)`)

// templateOf writes gin's path as ours: /clubs/{club} for /clubs/:club.
func templateOf(fullPath string) string {
	if fullPath == "" {
		return "NONE"
	}
	return ginParameter.ReplaceAllString(fullPath, "{$1}")
}
