package api_test

import (
	"cmp"
	"context"
	"net/http"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"lumbricary.example/api/apitest"
	"lumbricary.example/openapi"

	"github.com/gin-gonic/gin"
)

// everyRoute lists the methods and paths that the program answers, with
// something in the place of each parameter.
func everyRoute(t *testing.T, p *apitest.Program) []gin.RouteInfo {
	t.Helper()
	engine, ok := p.Server.Handler().(*gin.Engine)
	if !ok {
		t.Fatal("the handler is no engine")
	}
	var all []gin.RouteInfo
	for _, r := range engine.Routes() {
		r.Path = strings.Replace(r.Path, ":club", "harbour", 1)
		r.Path = regexp.MustCompile(`[:*]\w+`).ReplaceAllString(r.Path, "x")
		all = append(all, r)
	}
	// What ends the caller's session comes last, or all after it would be strangers.
	slices.SortStableFunc(all, func(a, b gin.RouteInfo) int {
		return cmp.Or(cmp.Compare(strings.Count(a.Path, "/sessions/end"), strings.Count(b.Path, "/sessions/end")), cmp.Compare(a.Path, b.Path))
	})
	if len(all) < 100 {
		t.Fatalf("only %d routes", len(all))
	}
	return all
}

func TestEveryAnswerOfEveryRouteHasTheSafetyHeaders(t *testing.T) {
	t.Parallel()
	c := apitest.New(t)
	c.Server.OpenAPI, c.Server.Docs = openapi.Handler(), openapi.Docs()
	ana := c.SignUp("ana")
	ana.Found("harbour")
	for _, r := range everyRoute(t, c) {
		for name, who := range map[string]apitest.Caller{"nobody": c.Caller, "ana": ana.Caller} {
			a := who.With("Content-Type", "application/json").Do(r.Method, r.Path, strings.NewReader("{}"))
			asked := name + ": " + r.Method + " " + r.Path
			for header, want := range map[string]string{
				"X-Content-Type-Options": "^nosniff$", "Referrer-Policy": "^no-referrer$",
				"Content-Security-Policy": `default-src 'none';.*frame-ancestors 'none'`, "Strict-Transport-Security": "^max-age=31536000$",
				"Cross-Origin-Resource-Policy": "^(same|cross)-origin$", "Cache-Control": "no-store|no-cache", "X-Request-Id": ".{36}",
				"Vary": "^Accept-Encoding$", "Access-Control-Allow-Credentials": "^$",
			} {
				if got := a.Header.Get(header); !regexp.MustCompile(want).MatchString(got) {
					t.Errorf("%s: %d: %s is %q", asked, a.Status, header, got)
				}
			}
			if a.Status >= http.StatusInternalServerError {
				t.Errorf("%s: %d %s", asked, a.Status, a.Body)
			}
		}
	}
}

func TestNoRouteTakesABodyWithoutEnd(t *testing.T) {
	t.Parallel()
	c := apitest.New(t)
	ana := c.SignUp("ana")
	ana.Found("harbour")
	cut := 0
	for _, r := range everyRoute(t, c) {
		if r.Method != http.MethodPost && r.Method != http.MethodPatch && r.Method != http.MethodPut {
			continue
		}
		read := &endless{}
		media := "application/json"
		if r.Method == http.MethodPatch {
			media = "application/merge-patch+json"
		}
		a := ana.With("Content-Type", media).With("If-Match", `"1-x"`).Do(r.Method, r.Path, read)
		big := strings.HasSuffix(r.Path, "/imports") || strings.HasSuffix(r.Path, "/records")
		if read.n > 17<<20 || read.n > 2<<20 && !big {
			t.Errorf("%s %s read %d bytes", r.Method, r.Path, read.n)
		}
		if a.Status == http.StatusRequestEntityTooLarge {
			cut++
		}
		if a.Status < http.StatusBadRequest && read.n > 0 {
			t.Errorf("%s %s: %d", r.Method, r.Path, a.Status)
		}
		if strings.HasSuffix(r.Path, "/end-all") {
			ana = c.SignIn("ana")
		}
	}
	if cut < 30 {
		t.Errorf("only %d routes were sent too much", cut)
	}
}

// endless is a body of blanks; it stops at 64 MiB, which is a failure already.
type endless struct{ n int }

func (e *endless) Read(p []byte) (int, error) {
	if e.n > 64<<20 {
		return 0, context.Canceled
	}
	for i := range p {
		p[i] = ' '
	}
	e.n += len(p)
	return len(p), nil
}

func TestHSTSIsForHTTPSOnly(t *testing.T) {
	t.Parallel()
	c := apitest.New(t)
	c.Server.PublicURL = "http://worms.example"
	c.Get("/livez").Has("Strict-Transport-Security", "")
}

func TestACallThatRunsOnIsEnded(t *testing.T) {
	t.Parallel()
	c := apitest.New(t)
	c.Server.Patience = time.Millisecond
	c.Server.JWKS = func(ctx context.Context) ([]byte, error) {
		<-ctx.Done()
		return nil, ctx.Err()
	}
	c.Get("/.well-known/jwks.json").Problem(http.StatusServiceUnavailable, "busy")
}

func TestEveryReadAnswersHead(t *testing.T) {
	t.Parallel()
	c := apitest.New(t)
	ana := c.SignUp("ana")
	ana.Found("harbour")
	for _, r := range everyRoute(t, c) {
		if r.Method != http.MethodGet {
			continue
		}
		get, head := ana.Get(r.Path), ana.Do(http.MethodHead, r.Path, nil)
		if head.Status != get.Status || head.Body != "" || head.Header.Get("ETag") != get.Header.Get("ETag") {
			t.Errorf("%s: HEAD gives %d with %d bytes and tag %s; GET %d and %s", r.Path, head.Status, len(head.Body), head.Header.Get("ETag"), get.Status, get.Header.Get("ETag"))
		}
	}
}
