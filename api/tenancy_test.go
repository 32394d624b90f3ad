package api_test

import (
	"net/http"
	"strings"
	"testing"

	"lumbricary.example/api/apitest"
)

// things adds one of each noun to a club and returns their paths. A suffix
// makes the names differ.
func things(t *testing.T, c apitest.Club) map[string]string {
	t.Helper()
	site := c.Post("/sites", cellar).Want(http.StatusCreated)
	paths := map[string]string{"site": "/sites/" + site.ID()}
	for noun, body := range map[string]string{
		"member":   `{"name":"Paper","role":"keeper"}`,
		"bin":      `{"name":"Tote","kind":"tote","site":"` + site.ID() + `"}`,
		"material": `{"feedstock":"vegetable-produce"}`,
		"measure":  `{"name":"Bucket","volume":{"value":10,"unit":"L"}}`,
		"culture":  `{"name":"Reds","species":"eisenia-fetida"}`,
		"origin":   `{"name":"Farm","kind":"supplier","species":"eisenia-fetida"}`,
	} {
		a := c.Post("/"+noun+"s", body).Want(http.StatusCreated)
		paths[noun] = "/" + noun + "s/" + a.ID()
		if want := "/v1/clubs/" + c.Handle + paths[noun]; a.Header.Get("Location") != want {
			t.Errorf("%s: Location %s, want %s", noun, a.Header.Get("Location"), want)
		}
	}
	return paths
}

// sameProblem fails the test unless two answers are the same but for the name
// of their request.
func sameProblem(t *testing.T, a, b *apitest.Answer) {
	t.Helper()
	plain := func(a *apitest.Answer) string {
		return strings.ReplaceAll(a.Body, a.Header.Get("X-Request-Id"), "REQUEST")
	}
	if a.Status != b.Status || plain(a) != plain(b) || len(a.Header) != len(b.Header) {
		t.Errorf("%d %s\n%d %s", a.Status, plain(a), b.Status, plain(b))
	}
}

func TestAnotherClubsThingIsLikeNone(t *testing.T) {
	t.Parallel()
	c := apitest.New(t)
	ana, eve := c.SignUp("ana"), c.SignUp("eve")
	club, hers := ana.Found("harbour"), eve.Found("hill")
	const none = "0197aaaa-0000-7000-8000-00000000000f"
	for noun, path := range things(t, club) {
		club.Get(path).Want(http.StatusOK)
		theirs := hers.Get(path).Problem(http.StatusNotFound, noun+"-not-found")
		sameProblem(t, theirs, hers.Get("/"+noun+"s/"+none))
		sameProblem(t, club.As(eve).Get(path), eve.In("nowhere").Get(path))
		club.As(eve).Get(path).Problem(http.StatusNotFound, "club-not-found")
	}
}

func TestAnotherClubsThingCanNotBeNamedInARecord(t *testing.T) {
	t.Parallel()
	c := apitest.New(t)
	club, hers := c.SignUp("ana").Found("harbour"), c.SignUp("eve").Found("hill")
	id := func(path string) string { return path[strings.LastIndex(path, "/")+1:] }
	paths := things(t, club)
	hers.Post("/bins", `{"name":"T","kind":"tote","site":"`+id(paths["site"])+`"}`).Problem(http.StatusUnprocessableEntity, "invalid", "/site")
	hers.Post("/sites", `{"name":"T","owner":"`+id(paths["member"])+`"}`).Problem(http.StatusUnprocessableEntity, "invalid", "/owner")
	hers.Post("/origins", `{"name":"T","kind":"wild","species":"eisenia-fetida","culture":"`+id(paths["culture"])+`"}`).
		Problem(http.StatusUnprocessableEntity, "invalid", "/culture")
}

func TestAClubIsLikeNoneForAStranger(t *testing.T) {
	t.Parallel()
	c := apitest.New(t)
	club := c.SignUp("ana").Found("harbour")
	eve := c.SignUp("eve")
	for _, path := range []string{"", "/members", "/sites", "/bins", "/materials", "/measures", "/cultures", "/origins"} {
		sameProblem(t, club.As(eve).Get(path), eve.In("nowhere").Get(path))
		if path != "" {
			sameProblem(t, club.As(eve).Post(path, cellar), eve.In("nowhere").Post(path, cellar))
		}
	}
	sameProblem(t, club.As(eve).Post("/invitations", `{"email":"eve@example.org"}`), eve.In("nowhere").Post("/invitations", `{"email":"eve@example.org"}`))
	sameProblem(t, club.As(eve).Post("/invitations/accept", `{"code":"x"}`), eve.In("nowhere").Post("/invitations/accept", `{"code":"x"}`))
}

func TestAReaderRecordsNothing(t *testing.T) {
	t.Parallel()
	c := apitest.New(t)
	club := c.SignUp("ana").Found("harbour")
	paths := things(t, club)
	reader := club.Join("rui", "reader")
	for _, path := range paths {
		reader.Get(path).Want(http.StatusOK)
	}
	for path, body := range map[string]string{
		"/members": `{"name":"P","role":"keeper"}`, "/invitations": `{"email":"p@example.org","name":"P","role":"keeper"}`,
		"/sites": `{"name":"S"}`, "/materials": `{"name":"M","kind":"feed"}`, "/measures": `{"name":"B","volume":{"value":1,"unit":"L"}}`,
		"/cultures": `{"name":"C","species":"eisenia-fetida"}`, "/origins": `{"name":"O","kind":"wild","species":"eisenia-fetida"}`,
		"/bins": `{"name":"B","kind":"tote","site":"` + strings.TrimPrefix(paths["site"], "/sites/") + `"}`,
	} {
		reader.Post(path, body).Problem(http.StatusForbidden, "forbidden")
	}
}
