package api_test

import (
	"net/http"
	"slices"
	"strings"
	"testing"

	"lumbricary.example/api/apitest"
	"lumbricary.example/openapi"
)

const site, stranger = "https://harbour.example", "https://evil.example"

// letsIn is a club that lets pages of site in.
func letsIn(t *testing.T) (*apitest.Program, apitest.Club) {
	t.Helper()
	c := apitest.New(t)
	c.Server.OpenAPI = openapi.Handler()
	club := c.SignUp("ana").Found("harbour")
	club.Patch("", club.Get("").Want(200).Header.Get("ETag"), `{"allowed_origins":["`+site+`"]}`).Want(200)
	return c, club
}

func TestAPageOfAListedOriginMayReadWhatIsTheClubs(t *testing.T) {
	t.Parallel()
	c, club := letsIn(t)
	a := club.Caller.With("Origin", site).Get("/sites").Want(200).Has("Access-Control-Allow-Origin", site)
	if !strings.Contains(a.Header.Get("Access-Control-Expose-Headers"), "ETag") || !slices.Contains(a.Header.Values("Vary"), "Origin") {
		t.Errorf("%v", a.Header)
	}
	refused := c.With("Origin", site).Get("/v1/clubs/harbour/sites").Want(401)
	refused.Has("Access-Control-Allow-Origin", site)
	for _, other := range []string{stranger, "null", "*", "", site + "/", site + ":443", "http://harbour.example", "HTTPS://HARBOUR.EXAMPLE", site + ".evil.example"} {
		a := club.Caller.With("Origin", other).Get("/sites").Want(200).Has("Access-Control-Allow-Origin", "")
		if !slices.Contains(a.Header.Values("Vary"), "Origin") {
			t.Errorf("%q: a cache could give this answer to a listed page", other)
		}
	}
	other := c.SignUp("ben").Found("hill")
	other.Caller.With("Origin", site).Get("/sites").Want(200).Has("Access-Control-Allow-Origin", "")
}

func TestNoPrivateRouteReflectsAnOriginThatNoClubLists(t *testing.T) {
	t.Parallel()
	c, club := letsIn(t)
	for _, r := range everyRoute(t, c) {
		for _, origin := range []string{stranger, site} {
			a := club.Absolute().With("Origin", origin).With("Content-Type", "application/json").Do(r.Method, r.Path, strings.NewReader("{"))
			got := a.Header.Get("Access-Control-Allow-Origin")
			signsIn := slices.Contains([]string{"/v1/sessions", "/v1/sessions/refresh", "/v1/sessions/end"}, r.Path) && r.Method == http.MethodPost
			listed := origin == site && (signsIn || strings.HasPrefix(r.Path, "/v1/clubs/harbour"))
			if got == origin != (listed && r.Method != http.MethodOptions) {
				t.Errorf("%s %s from %s: %q", r.Method, r.Path, origin, got)
			}
			if a.Header.Get("Access-Control-Allow-Credentials") != "" {
				t.Errorf("%s %s allows credentials", r.Method, r.Path)
			}
		}
	}
}

func TestAnyPageMayReadWhatIsPublic(t *testing.T) {
	t.Parallel()
	c, _ := letsIn(t)
	for _, path := range []string{"/openapi.json", "/problems/malformed", "/.well-known/jwks.json", "/v1/species", "/v1/species/eisenia-fetida", "/v1/feedstocks"} {
		c.With("Origin", stranger).Get(path).Want(200).Has("Access-Control-Allow-Origin", "*").Has("Cross-Origin-Resource-Policy", "cross-origin")
		c.With("Origin", stranger).With("Access-Control-Request-Method", "GET").Do("OPTIONS", path, nil).Want(204).Has("Access-Control-Allow-Origin", "*")
	}
	c.With("Origin", stranger).Post("/v1/sessions", "{}").Has("Access-Control-Allow-Origin", "")
}

func TestAMemberSignsInOnAPageThatAClubLists(t *testing.T) {
	t.Parallel()
	c, _ := letsIn(t)
	page := c.With("Origin", site)
	given := page.Post("/v1/sessions", `{"email":"ana@example.org","passphrase":"`+apitest.Passphrase+`"}`).Want(201).Has("Access-Control-Allow-Origin", site)
	page.Post("/v1/sessions", `{"email":"ana@example.org","passphrase":"no such passphrase"}`).Problem(401, "credentials").Has("Access-Control-Allow-Origin", site)
	again := page.Post("/v1/sessions/refresh", map[string]string{"refresh_token": given.Text("/refresh_token")}).Want(200).Has("Access-Control-Allow-Origin", site)
	c.With("Origin", site).With("Access-Control-Request-Method", "POST").Do("OPTIONS", "/v1/sessions", nil).Want(204).Has("Access-Control-Allow-Origin", site)
	page.With("Authorization", "Bearer "+again.Text("/access_token")).Get("/v1/sessions").Want(200).Has("Access-Control-Allow-Origin", "")
}

func TestAPreflightOfAListedPageIsToldWhatItMaySend(t *testing.T) {
	t.Parallel()
	c, _ := letsIn(t)
	ask := func(origin, method, path string) *apitest.Answer {
		return c.With("Origin", origin).With("Access-Control-Request-Method", method).Do("OPTIONS", path, nil)
	}
	for method, headers := range map[string]string{
		"GET": "Authorization, If-None-Match, X-Request-Id", "POST": "Authorization, Content-Type, Idempotency-Key, Late-Reason, X-Request-Id",
	} {
		ask(site, method, "/v1/clubs/harbour/sites").Want(204).Has("Access-Control-Allow-Origin", site).
			Has("Access-Control-Allow-Methods", "GET, HEAD, OPTIONS, POST").Has("Access-Control-Allow-Headers", headers)
	}
	ask(site, "PATCH", "/v1/clubs/harbour/sites/x").Want(204).Has("Access-Control-Allow-Headers", "Authorization, Content-Type, Idempotency-Key, If-Match, Late-Reason, X-Request-Id")
	for _, a := range []*apitest.Answer{
		ask(stranger, "GET", "/v1/clubs/harbour/sites"), ask(site, "PUT", "/v1/clubs/harbour/sites"), ask(site, "GET", "/v1/clubs/none/sites"),
		ask(site, "GET", "/v1/clubs/%ff/sites"), ask(site, "GET", "/v1/me"), ask(stranger, "POST", "/v1/sessions"), ask(site, "POST", "/v1/accounts"), ask(site, "GET", "/nowhere"),
	} {
		a.Problem(404, "not-found").Has("Access-Control-Allow-Origin", "").Has("Access-Control-Allow-Methods", "")
	}
}

func TestOptionsTellsTheMethodsOfAPath(t *testing.T) {
	t.Parallel()
	c := apitest.New(t)
	for path, methods := range map[string]string{"/v1/clubs/any/sites": "GET, HEAD, OPTIONS, POST", "/livez": "GET, HEAD, OPTIONS"} {
		a := c.Do("OPTIONS", path, nil).Want(204).Has("Allow", methods)
		if a.Body != "" {
			t.Error(a.Body)
		}
	}
}
