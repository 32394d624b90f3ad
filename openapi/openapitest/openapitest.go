// Package openapitest holds answers of the running service against the
// contract. It is for tests only.
package openapitest

import (
	"bytes"
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"mime"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strconv"
	"strings"
	"sync"
	"testing"

	"lumbricary.example/openapi"

	"github.com/getkin/kin-openapi/openapi3"
	"github.com/santhosh-tekuri/jsonschema/v6"
)

// Handler is next, with every answer held against the contract: where the two
// differ the test fails, and the caller gets the answer all the same.
func Handler(t testing.TB, next http.Handler) http.Handler {
	t.Helper()
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		var asked bytes.Buffer
		r.Body = io.NopCloser(io.TeeReader(r.Body, &asked))
		rec := httptest.NewRecorder()
		next.ServeHTTP(rec, r)
		r.Body = io.NopCloser(&asked)
		Check(t, r, rec.Result(), rec.Body.Bytes())
		for name, values := range rec.Header() {
			w.Header()[name] = values
		}
		w.WriteHeader(rec.Code)
		_, _ = w.Write(rec.Body.Bytes()) // the caller may have gone
	})
}

// Check fails the test where an answer isn't one that the contract gives for the
// request: an unknown status, media type, header or member, a body of another
// form; or a request that was taken though the contract forbids it. A path that
// the contract doesn't have may only be refused. The body of req must be there
// to read, as NewRequest or Handler left it.
func Check(t testing.TB, req *http.Request, resp *http.Response, body []byte) {
	t.Helper()
	c, err := contract()
	if err != nil {
		t.Fatal(err)
	}
	for _, fault := range c.Faults(req, resp, body) {
		t.Errorf("%s %s: %d: %v", req.Method, req.URL.Path, resp.StatusCode, fault)
	}
}

// contract is the served document, read once.
var contract = sync.OnceValues(func() (*Contract, error) { return Read(openapi.Document()) })

// Contract is a document that answers are held against.
type Contract struct {
	doc             *openapi3.T
	answers, bodies *forms
}

// forms are the schemas of the document.
type forms struct {
	mu       sync.Mutex
	compiler *jsonschema.Compiler
}

// Read reads an OpenAPI 3.1 document, and shuts its objects: a member that it
// doesn't name is a fault. Errors: a document that isn't valid.
func Read(document []byte) (*Contract, error) {
	doc, err := openapi3.NewLoader().LoadFromData(document)
	if err != nil {
		return nil, err
	}
	tree, err := jsonschema.UnmarshalJSON(bytes.NewReader(document))
	if err != nil {
		return nil, err
	}
	shut(tree)
	c := &Contract{doc: doc, answers: newForms(), bodies: newForms()}
	c.answers.compiler.AssertFormat() // what is asked may be mended, as an address with spaces around it
	return c, errors.Join(
		doc.Validate(context.Background()), c.answers.compiler.AddResource(documentURL, tree), c.bodies.compiler.AddResource(documentURL, tree))
}

func newForms() *forms { return &forms{compiler: jsonschema.NewCompiler()} }

// documentURL is the name of the document among schemas.
const documentURL = "contract:openapi.json"

// at returns the schema at the pointer into the document. Errors: there is none.
func (f *forms) at(pointer string) (*jsonschema.Schema, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	return f.compiler.Compile(documentURL + pointer) // once; then it has it
}

// shut closes every schema that lists its properties.
func shut(v any) {
	switch v := v.(type) {
	case map[string]any:
		if v["type"] == "object" && v["properties"] != nil && v["additionalProperties"] == nil {
			v["additionalProperties"] = false
		}
		for _, item := range v {
			shut(item)
		}
	case []any:
		for _, item := range v {
			shut(item)
		}
	}
}

// spot is a part of the document and the pointer to it.
type spot[T any] struct {
	value   T
	pointer string
}

// uncontracted tells whether the path leads to the contract itself, to the page
// that shows it, or to a script for the pages of clubs.
func uncontracted(path string) bool {
	return path == "/openapi.json" || path == "/docs" || strings.HasPrefix(path, "/docs/") || strings.HasPrefix(path, "/elements/")
}

// Faults lists where an answer, whose body is given apart, and the contract differ:
// see Check.
func (c *Contract) Faults(req *http.Request, resp *http.Response, body []byte) []error {
	if uncontracted(req.URL.Path) || req.Method == http.MethodOptions && resp.StatusCode == http.StatusNoContent {
		return nil
	}
	if req.Method == http.MethodHead {
		return c.headFaults(req, resp, body)
	}
	op := c.operation(req)
	if op.value == nil {
		return c.refusal(resp, body)
	}
	answer := op.value.Responses.Status(resp.StatusCode)
	if answer == nil {
		return []error{errors.New("the contract doesn't have this status")}
	}
	faults := headerFaults(answer.Value, resp.Header)
	if resp.StatusCode != http.StatusNotModified || len(body) > 0 {
		at := cmp.Or(answer.Ref, op.pointer+"/responses/"+strconv.Itoa(resp.StatusCode))
		content := spot[openapi3.Content]{answer.Value.Content, at + "/content/"}
		faults = append(faults, c.answers.contentFaults(content, resp.Header.Get("Content-Type"), body)...)
	}
	if resp.StatusCode < http.StatusBadRequest {
		faults = append(faults, c.requestFaults(op, req)...)
	}
	return faults
}

// headFaults holds an answer to HEAD against what the contract gives for GET.
func (c *Contract) headFaults(req *http.Request, resp *http.Response, body []byte) []error {
	get := req.Clone(req.Context())
	get.Method = http.MethodGet
	op := c.operation(get)
	if len(body) > 0 {
		return []error{errors.New("an answer to HEAD has a body")}
	}
	if op.value == nil && resp.StatusCode >= http.StatusBadRequest {
		return nil
	}
	if op.value == nil || op.value.Responses.Status(resp.StatusCode) == nil {
		return []error{errors.New("the contract doesn't have this path or status")}
	}
	return headerFaults(op.value.Responses.Status(resp.StatusCode).Value, resp.Header)
}

// refusal holds the answer of a path or method that the contract doesn't have
// against what every problem looks like.
func (c *Contract) refusal(resp *http.Response, body []byte) []error {
	if resp.StatusCode < http.StatusBadRequest {
		return []error{errors.New("the contract doesn't have this path and method")}
	}
	if got := resp.Header.Get("Content-Type"); got != "application/problem+json" {
		return []error{fmt.Errorf("content type %q", got)}
	}
	return c.answers.formFaults("#/components/schemas/Problem", body)
}

// operation finds the operation of a request. A path without parameters goes
// before one with.
func (c *Contract) operation(req *http.Request) spot[*openapi3.Operation] {
	found := ""
	for template := range c.doc.Paths.Map() {
		if matches(template, req.URL.EscapedPath()) && (found == "" || strings.Count(template, "{") < strings.Count(found, "{")) {
			found = template
		}
	}
	if found == "" {
		return spot[*openapi3.Operation]{}
	}
	pointer := "#/paths/" + escape(found) + "/" + strings.ToLower(req.Method)
	return spot[*openapi3.Operation]{c.doc.Paths.Value(found).GetOperation(req.Method), pointer}
}

// escape writes a name as a part of a pointer in a URL (RFC 6901, section 6).
func escape(name string) string {
	return url.PathEscape(strings.NewReplacer("~", "~0", "/", "~1").Replace(name))
}

// matches tells whether a path is one of the template.
func matches(template, path string) bool {
	want, got := strings.Split(template, "/"), strings.Split(path, "/")
	if len(want) != len(got) {
		return false
	}
	for i, part := range want {
		if part != got[i] && (!strings.HasPrefix(part, "{") || got[i] == "") {
			return false
		}
	}
	return true
}

// promised are the headers that an answer may have only if the contract says so.
func promised() []string {
	return []string{"Content-Disposition", "ETag", "Idempotency-Replayed", "Link", "Location", "RateLimit", "RateLimit-Policy", "Retry-After", "WWW-Authenticate"}
}

func headerFaults(answer *openapi3.Response, got http.Header) []error {
	var faults []error
	for _, name := range promised() {
		if got.Get(name) != "" && answer.Headers[name] == nil {
			faults = append(faults, fmt.Errorf("the contract doesn't have the header %s here", name))
		}
	}
	return faults
}

// contentFaults holds a body against the media types it may have.
func (f *forms) contentFaults(content spot[openapi3.Content], contentType string, body []byte) []error {
	if len(content.value) == 0 {
		if len(body) > 0 {
			return []error{errors.New("the contract has no body here")}
		}
		return nil
	}
	media, _, err := mime.ParseMediaType(contentType)
	if err != nil {
		return []error{fmt.Errorf("content type %q: %w", contentType, err)}
	}
	if content.value[media] == nil {
		return []error{fmt.Errorf("the contract doesn't have the media type %s here", media)}
	}
	if media != "application/json" && !strings.HasSuffix(media, "+json") {
		return nil // a text has no form
	}
	return f.formFaults(content.pointer+escape(media)+"/schema", body)
}

// formFaults holds JSON against the schema at the pointer.
func (f *forms) formFaults(pointer string, body []byte) []error {
	schema, err := f.at(pointer)
	if err != nil {
		return []error{err}
	}
	value, err := jsonschema.UnmarshalJSON(bytes.NewReader(body))
	if err != nil {
		return []error{err}
	}
	if err := schema.Validate(value); err != nil {
		return []error{err}
	}
	return nil
}

// requestFaults holds a request that was taken against what may be asked: its
// body, and the names of its query parameters.
func (c *Contract) requestFaults(op spot[*openapi3.Operation], req *http.Request) []error {
	var faults []error
	for name := range req.URL.Query() {
		if op.value.Parameters.GetByInAndName("query", name) == nil {
			faults = append(faults, fmt.Errorf("taken with the parameter %q, which the contract doesn't have", name))
		}
	}
	if op.value.RequestBody == nil {
		return faults
	}
	body, err := io.ReadAll(req.Body)
	if err != nil {
		return append(faults, err)
	}
	content := spot[openapi3.Content]{op.value.RequestBody.Value.Content, op.pointer + "/requestBody/content/"}
	for _, fault := range c.bodies.contentFaults(content, req.Header.Get("Content-Type"), body) {
		faults = append(faults, fmt.Errorf("taken with a body that the contract forbids: %w", fault))
	}
	return faults
}
