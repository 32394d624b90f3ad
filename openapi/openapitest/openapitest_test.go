package openapitest

import (
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
)

const small = `{
  "openapi": "3.1.0", "info": {"title": "t", "version": "1"},
  "paths": {"/bins/{bin}": {
    "get": {
      "operationId": "getBin",
      "parameters": [{"name": "bin", "in": "path", "required": true, "schema": {"type": "string"}}, {"name": "units", "in": "query", "schema": {"type": "string"}}],
      "responses": {
        "200": {"description": "ok", "headers": {"ETag": {"schema": {"type": "string"}}}, "content": {"application/json": {"schema": {"$ref": "#/components/schemas/Bin"}}}},
        "304": {"description": "unchanged", "headers": {"ETag": {"schema": {"type": "string"}}}}}},
    "put": {
      "operationId": "putBin",
      "parameters": [{"name": "bin", "in": "path", "required": true, "schema": {"type": "string"}}],
      "requestBody": {"required": true, "content": {"application/json": {"schema": {"$ref": "#/components/schemas/Bin"}}}},
      "responses": {
        "204": {"description": "done"},
        "422": {"description": "refused", "content": {"application/problem+json": {"schema": {"$ref": "#/components/schemas/Problem"}}}}}}
  }},
  "components": {"schemas": {
    "Problem": {"type": "object", "required": ["type"], "properties": {"type": {"type": "string"}}},
    "Bin": {"type": "object", "required": ["id", "note"], "properties": {
      "id": {"type": "string", "format": "uuid"}, "at": {"type": "string", "format": "date-time"}, "note": {"type": ["string", "null"], "maxLength": 5},
      "site": {"oneOf": [{"$ref": "#/components/schemas/Problem"}, {"type": "null"}]}}}}}
}`

// exchange is a request and its answer.
type exchange struct {
	method, path, sent string
	status             int
	media, body        string
	header             string // of the answer, besides its media type
}

func (e exchange) faults(t *testing.T) []error {
	t.Helper()
	c, err := Read([]byte(small))
	if err != nil {
		t.Fatal(err)
	}
	req := httptest.NewRequestWithContext(t.Context(), e.method, e.path, strings.NewReader(e.sent))
	req.Header.Set("Content-Type", "application/json")
	header := http.Header{"Content-Type": {e.media}}
	if e.header != "" {
		header.Set(e.header, "x")
	}
	return c.Faults(req, &http.Response{StatusCode: e.status, Header: header}, []byte(e.body))
}

const (
	jsonMedia = "application/json; charset=utf-8"
	problem   = "application/problem+json"
	good      = `{"id":"01970000-0000-7000-8000-000000000001","note":null}`
)

func TestAnswersThatTheContractGivesPass(t *testing.T) {
	t.Parallel()
	for name, e := range map[string]exchange{
		"a body of its form":        {method: "GET", path: "/bins/7", status: 200, media: jsonMedia, body: good, header: "ETag"},
		"null by oneOf":             {method: "GET", path: "/bins/7?units=us", status: 200, media: jsonMedia, body: `{"id":"01970000-0000-7000-8000-000000000001","note":"a","site":null}`},
		"304 without a body":        {method: "GET", path: "/bins/7", status: 304, header: "ETag"},
		"204 for a good request":    {method: "PUT", path: "/bins/7", sent: good, status: 204},
		"a bad request refused":     {method: "PUT", path: "/bins/7", sent: `{"colour":1}`, status: 422, media: problem, body: `{"type":"/problems/x"}`},
		"an unknown path refused":   {method: "GET", path: "/worms", status: 404, media: problem, body: `{"type":"/problems/x"}`},
		"an unknown method refused": {method: "DELETE", path: "/bins/7", status: 405, media: problem, body: `{"type":"/problems/x"}`},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			if faults := e.faults(t); len(faults) > 0 {
				t.Error(faults)
			}
		})
	}
}

func TestAnswersThatTheContractDoesNotGiveFail(t *testing.T) {
	t.Parallel()
	for name, e := range map[string]exchange{
		"another status":              {method: "GET", path: "/bins/7", status: 404, media: problem, body: `{"type":"x"}`},
		"another media type":          {method: "GET", path: "/bins/7", status: 200, media: "text/html", body: good},
		"no media type":               {method: "GET", path: "/bins/7", status: 200, body: good},
		"a header it doesn't have":    {method: "GET", path: "/bins/7", status: 200, media: jsonMedia, body: good, header: "Location"},
		"a member left out":           {method: "GET", path: "/bins/7", status: 200, media: jsonMedia, body: `{"id":"01970000-0000-7000-8000-000000000001"}`},
		"a member it doesn't name":    {method: "GET", path: "/bins/7", status: 200, media: jsonMedia, body: `{"id":"01970000-0000-7000-8000-000000000001","note":null,"colour":"red"}`},
		"another type":                {method: "GET", path: "/bins/7", status: 200, media: jsonMedia, body: `{"id":"01970000-0000-7000-8000-000000000001","note":4}`},
		"null where there is none":    {method: "GET", path: "/bins/7", status: 200, media: jsonMedia, body: `{"id":null,"note":null}`},
		"a text that is too long":     {method: "GET", path: "/bins/7", status: 200, media: jsonMedia, body: `{"id":"01970000-0000-7000-8000-000000000001","note":"longer"}`},
		"no UUID":                     {method: "GET", path: "/bins/7", status: 200, media: jsonMedia, body: `{"id":"7","note":null}`},
		"no time":                     {method: "GET", path: "/bins/7", status: 200, media: jsonMedia, body: `{"id":"01970000-0000-7000-8000-000000000001","note":null,"at":"noon"}`},
		"no JSON":                     {method: "GET", path: "/bins/7", status: 200, media: jsonMedia, body: `{`},
		"a body where there is none":  {method: "PUT", path: "/bins/7", sent: good, status: 204, media: jsonMedia, body: good},
		"304 with a body":             {method: "GET", path: "/bins/7", status: 304, media: jsonMedia, body: good},
		"a bad request taken":         {method: "PUT", path: "/bins/7", sent: `{"colour":1}`, status: 204},
		"an unknown parameter taken":  {method: "GET", path: "/bins/7?colour=red", status: 200, media: jsonMedia, body: good},
		"an unknown path taken":       {method: "GET", path: "/worms", status: 200, media: jsonMedia, body: good},
		"a path with a part too many": {method: "GET", path: "/bins/7/8", status: 200, media: jsonMedia, body: good},
		"a refusal of another form":   {method: "GET", path: "/worms", status: 404, media: "text/plain", body: "no"},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			if faults := e.faults(t); len(faults) == 0 {
				t.Error("nothing was found")
			}
		})
	}
}

func TestTheHandlerPassesTheAnswerOn(t *testing.T) {
	t.Parallel()
	next := http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) {
		w.Header().Set("Content-Type", problem)
		w.WriteHeader(http.StatusNotFound)
		_, _ = w.Write([]byte(`{"type":"/problems/not-found","title":"Not Found","status":404,"instance":"urn:uuid:01970000-0000-7000-8000-000000000001","request_id":"01970000-0000-7000-8000-000000000001"}`))
	})
	w := httptest.NewRecorder()
	Handler(t, next).ServeHTTP(w, httptest.NewRequestWithContext(t.Context(), http.MethodGet, "/nothing", http.NoBody))
	if w.Code != http.StatusNotFound || w.Header().Get("Content-Type") != problem || w.Body.Len() == 0 {
		t.Errorf("got %d %v %s", w.Code, w.Header(), w.Body)
	}
}

func BenchmarkCheck(b *testing.B) {
	c, _ := Read([]byte(small))
	for b.Loop() {
		req := httptest.NewRequest("GET", "/bins/7", nil)
		c.Faults(req, &http.Response{StatusCode: 200, Header: http.Header{"Content-Type": {jsonMedia}}}, []byte(good))
	}
}
