package api_test

import (
	"context"
	"net/http"
	"regexp"
	"strings"
	"testing"

	"lumbricary.example/api/apitest"
	"lumbricary.example/service"
)

func TestABodyThatCanNotBeReadIsRefusedByItsPointer(t *testing.T) {
	t.Parallel()
	club := apitest.New(t).SignUp("ana").Found("harbour")
	for body, pointer := range map[string]string{
		"":                             "",
		`{"name":"Cellar"`:             "",
		`{"name":"Cellar"} {}`:         "",
		`{"name":"Cellar","nome":"x"}`: "/nome",
		`{"name":"a","name":"b"}`:      "/name",
		`{"name":7}`:                   "/name",
		`{"name":null}`:                "/name",
		`{"name":"a","note":"\u0000"}`: "/note",
	} {
		club.Post("/sites", body).Problem(http.StatusBadRequest, "malformed", pointer)
	}
	if items := club.Get("/sites").Want(http.StatusOK).Value("/items").([]any); len(items) != 0 {
		t.Errorf("%d sites were recorded", len(items))
	}
}

func TestABodyMayHaveOneMebibyte(t *testing.T) {
	t.Parallel()
	club := apitest.New(t).SignUp("ana").Found("harbour")
	body := `{"name":"Cellar"}`
	full := body + strings.Repeat(" ", 1<<20-len(body))
	club.Post("/sites", full+" ").Problem(http.StatusRequestEntityTooLarge, "too-large")
	club.Post("/sites", full).Want(http.StatusCreated)
}

func TestABodyIsJSONAndSaysSo(t *testing.T) {
	t.Parallel()
	club := apitest.New(t).SignUp("ana").Found("harbour")
	for _, media := range []string{"text/plain", "application/x-www-form-urlencoded", "json", "application/jsonx", " "} {
		club.With("Content-Type", media).Post("/sites", `{"name":"Cellar"}`).Problem(http.StatusUnsupportedMediaType, "unsupported-media-type")
	}
	club.Do("POST", "/sites", strings.NewReader(`{"name":"Cellar"}`)).Problem(http.StatusUnsupportedMediaType, "unsupported-media-type")
	club.With("Content-Type", "Application/JSON; charset=utf-8").Post("/sites", `{"name":"Cellar"}`).Want(http.StatusCreated)
}

func TestTheRouterAnswersWithProblems(t *testing.T) {
	t.Parallel()
	c := apitest.New(t)
	ana := c.SignUp("ana")
	for _, path := range []string{"/", "/v1", "/v1/clubs/harbour/worms", "/v1/species/", "/v2/me", "//v1/me"} {
		ana.Get(path).Problem(http.StatusNotFound, "not-found")
	}
	a := ana.Do("DELETE", "/v1/me", nil).Problem(http.StatusMethodNotAllowed, "method-not-allowed")
	a.Has("Allow", "GET, HEAD, OPTIONS")
	club := ana.Found("harbour")
	for _, id := range []string{"%00", "%ff"} {
		club.Get("/sites/"+id).Problem(http.StatusNotFound, "not-found")
	}
	club.Get("/sites/"+strings.Repeat("x", 5000)).Problem(http.StatusNotFound, "site-not-found")
}

func TestEveryAnswerNamesItsRequest(t *testing.T) {
	t.Parallel()
	c := apitest.New(t)
	const mine = "0197aaaa-0000-7000-8000-00000000000f"
	c.With("X-Request-Id", mine).Get("/livez").Has("X-Request-Id", mine)
	c.With("X-Request-Id", mine).Get("/nowhere").Has("X-Request-Id", mine).Is("/request_id", mine).Is("/instance", "urn:uuid:"+mine)
	form := regexp.MustCompile(`^[0-9a-f-]{36}$`)
	for _, given := range []string{"", "x", mine + "0", strings.ToUpper(mine), "a\tb"} {
		if got := c.With("X-Request-Id", given).Get("/livez").Header.Get("X-Request-Id"); got == given || !form.MatchString(got) {
			t.Errorf("given %q: %q", given, got)
		}
	}
}

func TestEveryAnswerHasTheSafetyHeaders(t *testing.T) {
	t.Parallel()
	c := apitest.New(t)
	club := c.SignUp("ana").Found("harbour")
	for _, a := range []*apitest.Answer{club.Get("/sites"), c.Get("/nowhere"), c.Get("/livez")} {
		a.Has("X-Content-Type-Options", "nosniff").Has("Referrer-Policy", "no-referrer")
	}
	club.Get("/sites").Has("Cache-Control", "private, no-cache").Has("Content-Type", "application/json; charset=utf-8")
	c.Post("/v1/sessions", map[string]string{"email": "ana@example.org", "passphrase": apitest.Passphrase}).Has("Cache-Control", "no-store").Has("ETag", "")
}

func TestTheAccessLogHasOneLineWithTheTemplate(t *testing.T) {
	t.Parallel()
	c := apitest.New(t)
	club := c.SignUp("ana").Found("harbour")
	a := club.Get("/sites/0197aaaa-0000-7000-8000-00000000000f?x=secret").Want(http.StatusNotFound)
	lines := c.Log.Lines(a.Header.Get("X-Request-Id"))
	if len(lines) != 1 {
		t.Fatalf("%d lines: %s", len(lines), lines)
	}
	for _, want := range []string{`"route":"/v1/clubs/{club}/sites/{site}"`, `"status":404`, `"method":"GET"`} {
		if !strings.Contains(lines[0], want) {
			t.Errorf("no %s in %s", want, lines[0])
		}
	}
	for _, never := range []string{"0197aaaa", "harbour", "secret", club.Token, "ana@example.org", apitest.Passphrase} {
		if found := c.Log.Lines(never); len(found) > 0 {
			t.Errorf("logged %s: %s", never, found)
		}
	}
}

func TestAPanicBehindARouteIsAProblem(t *testing.T) {
	t.Parallel()
	c := apitest.New(t)
	c.Server.JWKS = func(context.Context) ([]byte, error) { panic("hunter2") }
	a := c.Get("/.well-known/jwks.json").Problem(http.StatusInternalServerError, "internal")
	if strings.Contains(a.Body, "hunter2") || strings.Contains(a.Body, "detail") {
		t.Error(a.Body)
	}
	if n := len(c.Log.Lines("hunter2")); n != 1 {
		t.Errorf("logged %d times", n)
	}
	c.Get("/livez").Want(http.StatusOK)
}

func TestWhoHasNoGoodTokenIsAskedToSignIn(t *testing.T) {
	t.Parallel()
	c := apitest.New(t)
	ana := c.SignUp("ana")
	ana.Found("harbour")
	const site = "/v1/clubs/harbour/sites"
	for _, header := range []string{"", "Bearer", "Bearer ", "Bearer x", "Basic " + ana.Token, ana.Token, "Bearer " + ana.Token + "x"} {
		c.With("Authorization", header).Get(site).Problem(http.StatusUnauthorized, "sign-in").Has("WWW-Authenticate", "Bearer")
		c.With("Authorization", header).Post(site, "{").Problem(http.StatusUnauthorized, "sign-in")
	}
	c.With("Authorization", "bearer "+ana.Token).Get(site).Want(http.StatusOK)
	c.Clock.Move(15*60e9 + 1)
	ana.Get(site).Problem(http.StatusUnauthorized, "token-expired").
		Has("WWW-Authenticate", `Bearer error="invalid_token", error_description="expired"`)
	c.SignIn("ana").Get(site).Want(http.StatusOK)
}

func TestEveryProblemTypeIsExplained(t *testing.T) {
	t.Parallel()
	c := apitest.New(t)
	for _, e := range service.Catalogue() {
		a := c.Get("/problems/" + e.Code).Want(http.StatusOK)
		a.Is("/type", "/problems/"+e.Code).Is("/detail", e.Detail).Has("Content-Type", "application/json; charset=utf-8")
	}
	c.Get("/problems/hunter2").Problem(http.StatusNotFound, "not-found")
}

func TestTheServiceTellsHowItIs(t *testing.T) {
	t.Parallel()
	c := apitest.New(t)
	c.Get("/livez").Want(http.StatusOK).Is("/status", "ok")
	c.Get("/readyz").Want(http.StatusOK).Is("/status", "ok")
	closer, ok := c.Store.(interface{ Close() error })
	if !ok || closer.Close() != nil {
		t.Fatal("the store can't be closed")
	}
	c.Get("/readyz").Problem(http.StatusServiceUnavailable, "not-ready")
	c.Get("/livez").Want(http.StatusOK)
}

func TestTheKeysOfTokensArePublic(t *testing.T) {
	t.Parallel()
	c := apitest.New(t)
	a := c.Get("/.well-known/jwks.json").Want(http.StatusOK).Is("/keys/0/alg", "EdDSA").Has("Content-Type", "application/jwk-set+json")
	if strings.Contains(a.Body, `"d"`) {
		t.Error("the private part is shown")
	}
	ana := c.SignUp("ana")
	c.Get("/.well-known/jwks.json").Is("/keys/0/kid", a.Text("/keys/0/kid"))
	ana.Get("/v1/me").Want(http.StatusOK)
}
