package main

import (
	"maps"
	"net/http"
	"slices"
	"strconv"
	"strings"
)

// failure is a problem that many operations answer with.
type failure struct {
	name, description string // of the component
	code, detail      string // of its example
}

// failures are the problems, by status.
func failures() map[int]failure {
	return map[int]failure{
		400: {"Malformed", "The request can't be read: its syntax, an unknown member or parameter, a cursor.", "malformed", "the request can't be read; see errors"},
		401: {"Unauthenticated", "Nobody is signed in, or no longer.", "sign-in", "sign in: send Authorization: Bearer with an access token"},
		403: {"Forbidden", "The caller may see the thing but not do this to it.", "forbidden", "your role in this club doesn't allow that"},
		404: {"NotFound", "There is no such thing, or it isn't the caller's to see: the two look alike.", "not-found", "there is nothing at this address"},
		409: {"Conflict", "Another write got there first, or a name or id is taken.", "id-taken", "another record has that id"},
		412: {"Stale", "The record has changed since the caller read it.", "stale", "the record has changed since you read it"},
		413: {"TooLarge", "The body is larger than the service takes.", "too-large", "the body may have 1048576 bytes"},
		415: {"Unsupported", "The body has a media type that the service doesn't read here.", "unsupported-media-type", "send application/json"},
		422: {"Invalid", "The request was read and refused; errors points at the members at fault.", "invalid", "the request was read but can't be recorded; see errors"},
		428: {"Precondition", "The call needs a header that says what the caller saw.", "precondition-required", "send If-Match with the ETag of what you read"},
		429: {"Limited", "Too many calls; come back later.", "limited", "too many calls; try again later"},
		500: {"Internal", "A fault of the service, logged under the request id.", "internal", ""},
		503: {"Unavailable", "The service can't answer now; come back later.", "busy", "too many writes at once; try again"},
	}
}

// faultsOf are the statuses of the problems that every route of this kind can
// answer with; what is special to an operation its handler declares.
func (d *document) faultsOf(op operation) []int {
	codes := []int{500}
	if !op.flags["public"] {
		codes = append(codes, 401, 503)
	}
	if len(pathNames(op.path)) > 0 {
		codes = append(codes, 404)
	}
	if !op.flags["public"] && op.ofClub() {
		codes = append(codes, 403)
	}
	if op.keyed() {
		codes = append(codes, 400, 409, 422)
	}
	if op.reads() {
		codes = append(codes, 400, 413, 415, 422)
	}
	if op.guarded() {
		codes = append(codes, 412, 428)
	}
	if d.queried(op) {
		codes = append(codes, 400)
	}
	if op.paced() {
		codes = append(codes, 429)
	}
	return codes
}

// paced tells whether the route's callers have an allowance of calls.
func (r route) paced() bool { return strings.HasPrefix(r.path, "/v1/") }

// allowance are the headers that say how the caller stands with it.
func allowance() []string { return []string{"RateLimit", "RateLimit-Policy"} }

// queried tells whether the operation reads query parameters.
func (d *document) queried(op operation) bool {
	list, _ := op.body["parameters"].([]any)
	return slices.ContainsFunc(list, func(p any) bool { return d.resolve(p.(object))["in"] == "query" })
}

// finishResponses adds the problems and the headers.
func (d *document) finishResponses(op operation) {
	responses := in(op.body, "responses")
	for _, status := range sortedKeys(responses) {
		code, err := strconv.Atoi(status)
		if err != nil {
			continue // default
		}
		if code >= http.StatusBadRequest {
			responses[status] = problem(code, text(in(responses, status)["description"]))
			continue
		}
		d.finishSuccess(op, code, in(responses, status))
	}
	if op.method == "get" && !op.flags["secret"] && responses["200"] != nil {
		responses["304"] = object{"$ref": "#/components/responses/NotModified"}
	}
	for _, code := range d.faultsOf(op) {
		if status := strconv.Itoa(code); responses[status] == nil {
			responses[status] = problem(code, "")
		}
	}
}

// problem refers to the shared response, unless the handler says more of it.
func problem(code int, description string) object {
	f, known := failures()[code]
	if known && (description == "" || statusName(description)) {
		return object{"$ref": "#/components/responses/" + f.name}
	}
	r := problemResponse(code, f)
	r["description"] = description
	return r
}

// statusName tells whether a description is only the name of a status, as swag
// writes it for want of one: that of the first status on the handler's line.
func statusName(description string) bool {
	for code := range failures() {
		if http.StatusText(code) == description {
			return true
		}
	}
	return false
}

// problemResponse is a problem with the headers of its status.
func problemResponse(code int, f failure) object {
	headers := headersNamed(append(allowance(), "X-Request-Id")...)
	switch code {
	case http.StatusUnauthorized:
		maps.Copy(headers, headersNamed("WWW-Authenticate"))
	case http.StatusTooManyRequests, http.StatusServiceUnavailable:
		maps.Copy(headers, headersNamed("Retry-After"))
	}
	content := object{"schema": object{"$ref": schemaPrefix + "Problem"}}
	if f.code != "" {
		content["example"] = f.example(code)
	}
	return object{"description": f.description, "headers": headers, "content": object{"application/problem+json": content}}
}

func (f failure) example(code int) object {
	const id = "01970000-0000-7000-8000-000000000001"
	p := object{"type": "/problems/" + f.code, "title": http.StatusText(code), "status": code, "instance": "urn:uuid:" + id, "request_id": id}
	if f.detail != "" {
		p["detail"] = f.detail
	}
	switch code {
	case http.StatusBadRequest:
		p["errors"] = []any{object{"pointer": "/colour", "code": "unknown", "detail": "there is no such member"}}
	case http.StatusUnprocessableEntity:
		p["errors"] = []any{object{"pointer": "/name", "code": "required", "detail": "give name"}}
	}
	return p
}

// finishSuccess adds the headers that an answer of the route has.
func (d *document) finishSuccess(op operation, code int, response object) {
	names := []string{"X-Request-Id", "Cache-Control"}
	if code == http.StatusNoContent {
		delete(response, "content")
	}
	otherForms(in(response, "content"))
	if !op.flags["secret"] && code != http.StatusNoContent {
		names = append(names, "ETag")
	}
	if op.keyed() {
		names = append(names, "Idempotency-Replayed")
	}
	if op.paced() {
		names = append(names, allowance()...)
	}
	if d.pages(op) {
		names = append(names, "Link")
	}
	headers := in(response, "headers")
	if headers == nil {
		headers = object{}
		response["headers"] = headers
	}
	for _, name := range sortedKeys(headers) {
		if _, common := headerNotes()[name]; common {
			names = append(names, name)
		}
	}
	maps.Copy(headers, headersNamed(names...))
}

// otherForms says what the forms of an answer are that aren't JSON, where swag
// gives each the schema of the JSON one: text, or a file.
func otherForms(content object) {
	for media := range content {
		body := content[media].(object)
		switch {
		case strings.HasSuffix(media, "json") || text(in(body, "schema")["$ref"]) == "":
		case strings.HasPrefix(media, "text/"):
			body["schema"] = object{"type": "string"}
		default:
			body["schema"] = object{"type": "string", "format": "binary"}
		}
	}
}
