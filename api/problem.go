package api

import (
	"context"
	"errors"
	"math"
	"net/http"
	"strconv"

	"lumbricary.example/service"

	"github.com/gin-gonic/gin"
)

// Problem is an RFC 9457 problem document, the body of every 4xx and 5xx.
type Problem struct {
	Type      string  `json:"type" example:"/problems/invalid" format:"uri-reference" validate:"required"`                 // answers with its explanation
	Title     string  `json:"title" example:"Unprocessable Entity" validate:"required"`                                    // the status in words
	Status    int     `json:"status" example:"422" validate:"required"`                                                    // the HTTP status
	Detail    string  `json:"detail,omitempty" example:"the request was read but can't be recorded; see errors"`           // what went wrong this time
	Instance  string  `json:"instance" example:"urn:uuid:01970000-0000-7000-8000-000000000001" validate:"required"`        // this occurrence
	RequestID string  `json:"request_id" example:"01970000-0000-7000-8000-000000000001" format:"uuid" validate:"required"` // as in X-Request-Id and in the log
	Errors    []Fault `json:"errors,omitempty"`                                                                            // what is wrong with the members of the request
}

// Fault is what is wrong with one member of the request.
type Fault struct {
	Pointer string `json:"pointer" example:"/name" validate:"required"` // RFC 6901 pointer into the body, or ? and the name of a query parameter
	Code    string `json:"code" example:"required" validate:"required"` // required, range, format, unit, unknown, type …
	Detail  string `json:"detail" example:"give a name" validate:"required"`
	Record  string `json:"record,omitempty" example:"01970000-0000-7000-8000-000000000050" format:"uuid"` // what stands in the way, where it is a record
}

// statusOf is the HTTP status of each kind of error.
var statusOf = map[service.Kind]int{
	service.Internal:        http.StatusInternalServerError,
	service.Malformed:       http.StatusBadRequest,
	service.Unauthenticated: http.StatusUnauthorized,
	service.Forbidden:       http.StatusForbidden,
	service.NotFound:        http.StatusNotFound,
	service.NotAllowed:      http.StatusMethodNotAllowed,
	service.Conflict:        http.StatusConflict,
	service.Stale:           http.StatusPreconditionFailed,
	service.TooLarge:        http.StatusRequestEntityTooLarge,
	service.Unsupported:     http.StatusUnsupportedMediaType,
	service.Invalid:         http.StatusUnprocessableEntity,
	service.Precondition:    http.StatusPreconditionRequired,
	service.Limited:         http.StatusTooManyRequests,
	service.Unavailable:     http.StatusServiceUnavailable,
}

// problemOf is the only place that turns an error into the body of an answer.
// An error that nobody classed shows nothing of itself.
func problemOf(err error, requestID string) Problem {
	e := classed(err)
	p := Problem{
		Type: "/problems/" + e.Code, Title: http.StatusText(statusOf[e.Kind]), Status: statusOf[e.Kind],
		Instance: "urn:uuid:" + requestID, RequestID: requestID,
	}
	if e.Kind == service.Internal {
		return p
	}
	p.Detail = e.Detail
	for _, f := range e.Fields {
		p.Errors = append(p.Errors, Fault{f.Pointer, f.Code, f.Detail, f.Record})
	}
	return p
}

// classed returns the service's error in err; one that has none is internal,
// unless time ran out.
func classed(err error) *service.Error {
	if e, ok := errors.AsType[*service.Error](err); ok && e.Kind != service.Internal {
		return e
	}
	if errors.Is(err, context.DeadlineExceeded) || errors.Is(err, context.Canceled) {
		return service.ErrBusy
	}
	return service.ErrInternal
}

// fail answers with the problem that err is, and logs what its caller can't be
// told.
func (s *Server) fail(c *gin.Context, err error) {
	p := problemOf(err, requestID(c))
	if p.Status >= http.StatusInternalServerError {
		s.Log.ErrorContext(c.Request.Context(), "request failed", "err", err, "request_id", p.RequestID, "route", c.GetString(routeKey))
	}
	if p.Status == http.StatusUnauthorized {
		c.Header("WWW-Authenticate", challenge(err))
	}
	if wait := classed(err).RetryAfter; wait > 0 {
		c.Header("Retry-After", strconv.Itoa(int(math.Ceil(wait.Seconds()))))
	}
	body, err := encode(p)
	if err != nil {
		panic(err) // a Problem is made of strings
	}
	c.Data(p.Status, "application/problem+json", body)
	c.Abort()
}

// challenge is the WWW-Authenticate header of a 401 (RFC 6750, section 3).
func challenge(err error) string {
	if errors.Is(err, service.ErrTokenExpired) {
		return `Bearer error="invalid_token", error_description="expired"`
	}
	if errors.Is(err, service.ErrSessionEnded) {
		return `Bearer error="invalid_token", error_description="the session has ended"`
	}
	return "Bearer"
}

// Explanation says what a problem type means, whoever meets it.
type Explanation struct {
	Type   string `json:"type" example:"/problems/bin-retired" validate:"required"`
	Title  string `json:"title" example:"Conflict" validate:"required"`
	Status int    `json:"status" example:"409" validate:"required"`
	Detail string `json:"detail" example:"the bin is retired" validate:"required"`
}

// getProblem explains a problem type.
//
//	@Summary		Explain a problem type
//	@Description	Every problem's type leads here.
//	@ID				getProblem
//	@Tags			service
//	@Produce		json
//	@Param			code	path		string	true	"code of the problem, the end of its type"	example(bin-retired)
//	@Success		200		{object}	Explanation
//	@Failure		404		{object}	Problem
//	@Router			/problems/{code} [get]
func (s *Server) getProblem(r *request) (answer, error) {
	for _, e := range service.Catalogue() {
		if e.Code == r.param("code") {
			status := statusOf[e.Kind]
			return answer{status: http.StatusOK, body: Explanation{"/problems/" + e.Code, http.StatusText(status), status, e.Detail}}, nil
		}
	}
	return answer{}, service.ErrNoRoute
}
