package api

import (
	"bytes"
	"context"
	"errors"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"github.com/gin-gonic/gin"
)

// bench is a Server with one public route, /x.
type bench struct {
	*Server
	engine *gin.Engine
	log    bytes.Buffer
}

func testServer(h func(*request) (answer, error)) *bench {
	b := &bench{}
	dawn := func() time.Time { return time.Date(2026, 5, 1, 8, 0, 0, 0, time.UTC) }
	b.Server = &Server{
		Log: slog.New(slog.NewTextHandler(&b.log, nil)), Now: dawn, CursorKey: []byte("key"),
		NewRequestID: func() string { return "01970000-0000-4000-8000-000000000001" },
	}
	b.engine = gin.New()
	b.engine.Use(b.watched, b.trace, compress(), b.recovered)
	b.engine.GET("/x", b.serve(route{get, "/x", h, public}))
	b.engine.POST("/x", b.serve(route{post, "/x", h, public}))
	return b
}

func (b *bench) call(method, path string, headers ...string) *httptest.ResponseRecorder {
	r := httptest.NewRequestWithContext(context.Background(), method, path, strings.NewReader("{}"))
	for i := 0; i < len(headers); i += 2 {
		r.Header.Set(headers[i], headers[i+1])
	}
	w := httptest.NewRecorder()
	b.engine.ServeHTTP(w, r)
	return w
}

func TestAPanicIsAProblemThatShowsNothingAndIsLoggedOnce(t *testing.T) {
	t.Parallel()
	for _, cause := range []any{"hunter2", errors.New("hunter2")} {
		b := testServer(func(*request) (answer, error) { panic(cause) })
		w := b.call("GET", "/x")
		if w.Code != http.StatusInternalServerError || w.Header().Get("Content-Type") != "application/problem+json" ||
			strings.Contains(w.Body.String(), "hunter2") {
			t.Errorf("%d %s", w.Code, w.Body)
		}
		if n := strings.Count(b.log.String(), "panic: hunter2"); n != 1 {
			t.Errorf("logged %d times: %s", n, &b.log)
		}
		if !strings.Contains(b.log.String(), "request_id=01970000-0000-4000-8000-000000000001 route=/x") {
			t.Errorf("log: %s", &b.log)
		}
	}
}

func TestAnAbortedAnswerGoesOnToTheHTTPServer(t *testing.T) {
	t.Parallel()
	b := testServer(func(*request) (answer, error) { panic(http.ErrAbortHandler) })
	defer func() {
		if recover() != http.ErrAbortHandler { //nolint:errorlint // the very value
			t.Error("swallowed")
		}
	}()
	b.call("GET", "/x")
}

func TestAnAnswerThatCanNotBeEncodedIsAProblem(t *testing.T) {
	t.Parallel()
	b := testServer(func(*request) (answer, error) { return answer{status: http.StatusOK, body: func() {}}, nil })
	if w := b.call("GET", "/x"); w.Code != http.StatusInternalServerError {
		t.Errorf("%d %s", w.Code, w.Body)
	}
}

func TestAnUnchangedAnswerIsNotSentAgain(t *testing.T) {
	t.Parallel()
	for _, version := range []int64{0, 7} {
		b := testServer(func(*request) (answer, error) {
			return answer{status: http.StatusOK, version: version, body: "worms"}, nil
		})
		etag := b.call("GET", "/x").Header().Get("ETag")
		if strong := strings.HasPrefix(etag, `"7-`); strong != (version == 7) || strings.HasPrefix(etag, "W/") == strong {
			t.Errorf("version %d has tag %s", version, etag)
		}
		for _, header := range []string{etag, "*", `"other", ` + etag, "W/" + strings.TrimPrefix(etag, "W/")} {
			w := b.call("GET", "/x", "If-None-Match", header)
			if w.Code != http.StatusNotModified || w.Body.Len() != 0 || w.Header().Get("ETag") != etag {
				t.Errorf("If-None-Match: %s: %d %q", header, w.Code, w.Body)
			}
		}
		if w := b.call("GET", "/x", "If-None-Match", `"other"`); w.Code != http.StatusOK {
			t.Errorf("another tag: %d", w.Code)
		}
		if w := b.call("POST", "/x", "If-None-Match", etag, "Content-Type", "application/json"); w.Code != http.StatusOK {
			t.Errorf("a POST: %d", w.Code)
		}
	}
}

func TestAnglesAreWrittenAsTheyAre(t *testing.T) {
	t.Parallel()
	b := testServer(func(*request) (answer, error) { return answer{status: http.StatusOK, body: "a<b & c"}, nil })
	if got := b.call("GET", "/x").Body.String(); got != `"a<b & c"` {
		t.Error(got)
	}
}

func TestEveryRouteIsListedOnceAndKnowsItsLimits(t *testing.T) {
	t.Parallel()
	seen := map[string]bool{}
	for _, rt := range new(Server).routes() {
		name := rt.method + " " + rt.path
		if seen[name] {
			t.Errorf("%s comes twice", name)
		}
		seen[name] = true
		shown := strings.HasPrefix(rt.path, "/v1/public/")
		if strings.Contains(rt.path, "{club}") && rt.has(public) != shown {
			t.Errorf("%s is open to all", name)
		}
		if shown && (rt.method != get || !rt.has(kept)) || rt.has(kept) && !shown {
			t.Errorf("%s is published and kept by caches, or neither", name)
		}
		if rt.has(unkeyed|big|csv|bare) && rt.method != post {
			t.Errorf("%s has flags that only a POST may have", name)
		}
	}
}

func TestTheContractAndTheDocumentationAreMountedWhereGiven(t *testing.T) {
	t.Parallel()
	b := testServer(nil)
	echo := http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) { _, _ = io.WriteString(w, r.URL.Path) })
	for _, path := range []string{"/openapi.json", "/docs", "/docs/app.js"} {
		b.OpenAPI, b.Docs = nil, nil
		b.engine = b.Handler().(*gin.Engine)
		if w := b.call("GET", path); w.Code != http.StatusNotFound {
			t.Errorf("%s without a handler: %d", path, w.Code)
		}
		b.OpenAPI, b.Docs = echo, echo
		b.engine = b.Handler().(*gin.Engine)
		if w := b.call("GET", path); w.Code != http.StatusOK || w.Body.String() != path || w.Header().Get("X-Content-Type-Options") != "nosniff" {
			t.Errorf("%s: %d %s", path, w.Code, w.Body)
		}
	}
}
