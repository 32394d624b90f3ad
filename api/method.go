package api

import (
	"net/http"
	"regexp"
	"slices"

	"lumbricary.example/service"

	"github.com/gin-gonic/gin"
)

// entryPath is the path of an entry of the journal, or of what has one.
var entryPath = regexp.MustCompile(`^/v1/clubs/[^/]+/(?:movements|harvests|censuses)/[^/]+$`)

// noMethod answers for an address that doesn't take the method. What posts is
// never changed or removed, and its caller is told what to do instead.
func (s *Server) noMethod(c *gin.Context) {
	err := service.ErrNoMethod
	if entryPath.MatchString(c.Request.URL.Path) && slices.Contains([]string{http.MethodPatch, http.MethodPut, http.MethodDelete}, c.Request.Method) {
		err = err.With("what posts to the journal is never changed or removed; reverse it with POST /v1/clubs/{club}/movements/{movement}/reversal, and record it again")
	}
	s.fail(c, err)
}
