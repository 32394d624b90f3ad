package openapi_test

import (
	"bytes"
	"context"
	"encoding/json"
	"io"
	"io/fs"
	"maps"
	"net/http"
	"net/http/httptest"
	"regexp"
	"slices"
	"strings"
	"testing"

	"lumbricary.example/api"
	"lumbricary.example/openapi"

	"github.com/getkin/kin-openapi/openapi3"
	"github.com/gin-gonic/gin"
	swaggerfiles "github.com/swaggo/files/v2"
)

const problem = "application/problem+json"

func contract(t *testing.T) *openapi3.T {
	t.Helper()
	doc, err := openapi3.NewLoader().LoadFromData(openapi.Document())
	if err != nil {
		t.Fatal(err)
	}
	return doc
}

// operations are those of the document, by method and path.
func operations(t *testing.T) map[string]*openapi3.Operation {
	t.Helper()
	all := map[string]*openapi3.Operation{}
	for path, item := range contract(t).Paths.Map() {
		for method, op := range item.Operations() {
			all[method+" "+path] = op
		}
	}
	return all
}

func TestTheDocumentIsValidOpenAPI31WithValidExamples(t *testing.T) {
	t.Parallel()
	doc := contract(t)
	if doc.OpenAPI != "3.1.0" {
		t.Errorf("openapi is %s", doc.OpenAPI)
	}
	if err := doc.Validate(context.Background()); err != nil {
		t.Error(err)
	}
}

func TestRoutesAndOperationsAreTheSame(t *testing.T) {
	t.Parallel()
	engine, ok := (&api.Server{}).Handler().(interface{ Routes() gin.RoutesInfo })
	if !ok {
		t.Fatal("the handler doesn't list its routes")
	}
	routes := map[string]bool{}
	for _, r := range engine.Routes() {
		if r.Method == http.MethodHead || r.Method == http.MethodOptions {
			continue // every GET answers HEAD and every path OPTIONS, as HTTP has it
		}
		routes[r.Method+" "+regexp.MustCompile(`:(\w+)`).ReplaceAllString(r.Path, "{$1}")] = true
	}
	ops := operations(t)
	for name := range routes {
		if ops[name] == nil {
			t.Errorf("%s is served but not in the document", name)
		}
	}
	for name := range ops {
		if !routes[name] {
			t.Errorf("%s is in the document but not served", name)
		}
	}
}

func TestEveryOperationIsDescribed(t *testing.T) {
	t.Parallel()
	ids := map[string]string{}
	for name, op := range operations(t) {
		if op.OperationID == "" || op.Summary == "" || op.Description == "" || len(op.Tags) != 1 {
			t.Errorf("%s: id %q, summary %q, description %q, tags %v", name, op.OperationID, op.Summary, op.Description, op.Tags)
		}
		if other := ids[op.OperationID]; other != "" {
			t.Errorf("%s and %s have the id %s", name, other, op.OperationID)
		}
		ids[op.OperationID] = name
	}
}

func TestEveryBodyHasAnExample(t *testing.T) {
	t.Parallel()
	for name, op := range operations(t) {
		if op.RequestBody != nil {
			examples(t, name+" request", op.RequestBody.Value.Content)
		}
		for status, answer := range op.Responses.Map() {
			examples(t, name+" "+status, answer.Value.Content)
		}
	}
}

// examples fails the test for a body of text without an example.
func examples(t *testing.T, name string, content openapi3.Content) {
	t.Helper()
	for media, body := range content {
		binary := body.Schema.Value.Format == "binary" || media == "multipart/form-data"
		if body.Example == nil && !binary {
			t.Errorf("%s: %s has no example", name, media)
		}
	}
}

// mustAnswer are the statuses that an operation can't do without.
func mustAnswer(name string, op *openapi3.Operation) []string {
	method, path, _ := strings.Cut(name, " ")
	codes := []string{"500"}
	if op.Security == nil {
		codes = append(codes, "401", "503")
	}
	if strings.Contains(path, "{") {
		codes = append(codes, "404")
	}
	if op.RequestBody != nil {
		codes = append(codes, "400", "413", "415", "422")
	}
	if method == http.MethodPost && op.Parameters.GetByInAndName("header", "Idempotency-Key") != nil {
		codes = append(codes, "400", "403", "409", "422")
	}
	if op.Parameters.GetByInAndName("query", "cursor") != nil {
		codes = append(codes, "400")
	}
	return codes
}

func TestEveryOperationHasItsProblems(t *testing.T) {
	t.Parallel()
	for name, op := range operations(t) {
		for _, code := range mustAnswer(name, op) {
			if op.Responses.Value(code) == nil {
				t.Errorf("%s doesn't have %s", name, code)
			}
		}
		for status, answer := range op.Responses.Map() {
			if status >= "400" && (len(answer.Value.Content) != 1 || answer.Value.Content[problem] == nil) {
				t.Errorf("%s %s isn't a problem: %v", name, status, slices.Collect(maps.Keys(answer.Value.Content)))
			}
		}
	}
}

func TestOperationsOfAClubNeedATokenOrWhereTheySaySoAnAPIKey(t *testing.T) {
	t.Parallel()
	doc := contract(t)
	if len(doc.Security) != 1 || doc.Security[0]["accessToken"] == nil {
		t.Errorf("the document's security is %v", doc.Security)
	}
	for name, op := range operations(t) {
		if !strings.Contains(name, " /v1/clubs") || op.Security == nil {
			continue
		}
		ways := *op.Security
		noKey := func(way openapi3.SecurityRequirement) bool { return len(way["apiKey"]) == 0 }
		if len(ways) < 2 || ways[0]["accessToken"] == nil || slices.ContainsFunc(ways[1:], noKey) || !strings.Contains(name, " /v1/clubs/{club}") {
			t.Errorf("%s needs %v", name, ways)
		}
	}
}

func TestRequestsAreClosedAndAnswersAreNot(t *testing.T) {
	t.Parallel()
	for name, op := range operations(t) {
		if op.RequestBody == nil {
			continue
		}
		if body := op.RequestBody.Value.Content["application/json"]; body != nil {
			if has := body.Schema.Value.AdditionalProperties.Has; has == nil || *has {
				t.Errorf("%s takes unknown members", name)
			}
		}
	}
}

func get(t *testing.T, h http.Handler, path, etag string) *http.Response {
	t.Helper()
	r := httptest.NewRequestWithContext(t.Context(), http.MethodGet, path, http.NoBody)
	if etag != "" {
		r.Header.Set("If-None-Match", etag)
	}
	w := httptest.NewRecorder()
	h.ServeHTTP(w, r)
	return w.Result()
}

func TestTheDocumentIsServedOnceToACallerWhoKeepsIt(t *testing.T) {
	t.Parallel()
	first := get(t, openapi.Handler(), "/openapi.json", "")
	defer first.Body.Close()
	var doc struct{ Info struct{ Version string } }
	if err := json.NewDecoder(first.Body).Decode(&doc); err != nil || first.StatusCode != http.StatusOK || first.Header.Get("Content-Type") != "application/json" {
		t.Fatalf("%d %v: %v", first.StatusCode, first.Header, err)
	}
	if doc.Info.Version != openapi.Version {
		t.Errorf("version %s, want %s", doc.Info.Version, openapi.Version)
	}
	for _, header := range []string{first.Header.Get("ETag"), `"other", W/` + first.Header.Get("ETag"), "*"} {
		again := get(t, openapi.Handler(), "/openapi.json", header)
		if again.Body.Close(); again.StatusCode != http.StatusNotModified {
			t.Errorf("If-None-Match %s: %d", header, again.StatusCode)
		}
	}
	changed := get(t, openapi.Handler(), "/openapi.json", `"other"`)
	if changed.Body.Close(); changed.StatusCode != http.StatusOK {
		t.Errorf("another tag: %d", changed.StatusCode)
	}
}

func TestTheDocumentationPageServesWhatItNeedsAndNothingElse(t *testing.T) {
	t.Parallel()
	for path, want := range map[string]string{
		"/docs/": "text/html; charset=utf-8", "/docs/start.js": "text/javascript; charset=utf-8", "/docs/swagger-ui-bundle.js": "text/javascript; charset=utf-8",
		"/docs/swagger-ui.css": "text/css; charset=utf-8", "/docs/favicon-32x32.png": "image/png",
		"/docs/index.html": problem, "/docs/swagger-ui-bundle.js.map": problem, "/docs/swagger-initializer.js": problem, "/docs/oauth2-redirect.html": problem, "/docs/../openapi.go": problem,
	} {
		t.Run(path, func(t *testing.T) {
			t.Parallel()
			resp := get(t, openapi.Docs(), path, "")
			defer resp.Body.Close()
			status := http.StatusOK
			if want == problem {
				status = http.StatusNotFound
			}
			if resp.StatusCode != status || resp.Header.Get("Content-Type") != want {
				t.Errorf("%d %s", resp.StatusCode, resp.Header.Get("Content-Type"))
			}
		})
	}
}

func TestTheDocumentationPageRunsUnderAStrictPolicy(t *testing.T) {
	t.Parallel()
	resp := get(t, openapi.Docs(), "/docs/", "")
	defer resp.Body.Close()
	policy := resp.Header.Get("Content-Security-Policy")
	if strings.Contains(policy, "unsafe") || strings.Contains(policy, "http") || !strings.HasPrefix(policy, "default-src 'none'; script-src 'self'; style-src 'self';") {
		t.Errorf("policy %q", policy)
	}
	page, err := io.ReadAll(resp.Body)
	if err != nil {
		t.Fatal(err)
	}
	for _, bad := range []string{"<style", " style=", "<script>", " onload=", "://"} {
		if strings.Contains(string(page), bad) {
			t.Errorf("the page has %q", bad)
		}
	}
}

func TestTheAddressWithoutASlashLeadsToThePage(t *testing.T) {
	t.Parallel()
	resp := get(t, openapi.Docs(), "/docs", "")
	defer resp.Body.Close()
	if resp.StatusCode != http.StatusMovedPermanently || resp.Header.Get("Location") != "/docs/" {
		t.Errorf("%d to %q", resp.StatusCode, resp.Header.Get("Location"))
	}
}

func TestEverythingThatIsSentHasALimit(t *testing.T) {
	t.Parallel()
	for name, op := range operations(t) {
		var sent []*openapi3.SchemaRef
		for _, p := range op.Parameters {
			sent = append(sent, p.Value.Schema)
		}
		if op.RequestBody != nil {
			for _, body := range op.RequestBody.Value.Content {
				sent = append(sent, body.Schema)
			}
		}
		seen := map[*openapi3.Schema]bool{}
		for _, s := range sent {
			bounded(t, name, s, seen)
		}
	}
}

// bounded fails the test for a text, a list or a whole number without an end.
func bounded(t *testing.T, name string, ref *openapi3.SchemaRef, seen map[*openapi3.Schema]bool) {
	t.Helper()
	if ref == nil || seen[ref.Value] {
		return
	}
	s := ref.Value
	seen[s] = true
	endless := s.Type.Includes("string") && s.MaxLength == nil || s.Type.Includes("array") && s.MaxItems == nil || s.Type.Includes("integer") && (s.Min == nil || s.Max == nil)
	if s.Enum == nil && endless {
		t.Errorf("%s: something of type %v has no limit: %s %s", name, s.Type, ref.Ref, s.Description)
	}
	for _, member := range s.Properties {
		bounded(t, name, member, seen)
	}
	for _, part := range append(append(s.OneOf, s.AnyOf...), s.AllOf...) {
		bounded(t, name, part, seen)
	}
	bounded(t, name, s.Items, seen)
	bounded(t, name, s.AdditionalProperties.Schema, seen)
}

func TestThePageHasTheFilesOfTheModule(t *testing.T) {
	t.Parallel()
	for _, name := range []string{"swagger-ui-bundle.js", "swagger-ui.css", "favicon-32x32.png"} {
		want, err := fs.ReadFile(swaggerfiles.FS, name)
		if err != nil {
			t.Fatal(err)
		}
		got := httptest.NewRecorder()
		openapi.Docs().ServeHTTP(got, httptest.NewRequestWithContext(t.Context(), http.MethodGet, "/docs/"+name, http.NoBody))
		if !bytes.Equal(got.Body.Bytes(), want) {
			t.Errorf("%s isn't that of the module: copy it again, as page/NOTICE says", name)
		}
	}
}
