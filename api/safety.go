package api

import (
	"cmp"
	"context"
	"strings"
	"time"

	"github.com/gin-gonic/gin"
)

// How long a call may take, unless Server.Patience says otherwise; one with a
// big body may take three times as long.
const (
	patience    = 30 * time.Second
	bigPatience = 3
)

// safe sets the headers that every answer has; handlers may set others in their
// place. None of them depends on what is asked.
func (s *Server) safe(c *gin.Context) {
	h := c.Writer.Header()
	h.Set("Cache-Control", "no-store") // of problems; answers say their own
	h.Set("Content-Security-Policy", "default-src 'none'; frame-ancestors 'none'")
	h.Set("Cross-Origin-Resource-Policy", "same-origin")
	h.Set("Referrer-Policy", "no-referrer")
	h.Set("X-Content-Type-Options", "nosniff")
	if strings.HasPrefix(s.PublicURL, "https://") {
		h.Set("Strict-Transport-Security", "max-age=31536000")
	}
}

// timed gives a call of the route an end; what runs on is told ErrBusy.
func (s *Server) timed(c *gin.Context, rt route) context.CancelFunc {
	limit := cmp.Or(s.Patience, patience)
	if rt.has(big) {
		limit *= bigPatience
	}
	ctx, cancel := context.WithTimeout(c.Request.Context(), limit)
	c.Request = c.Request.WithContext(ctx)
	return cancel
}
