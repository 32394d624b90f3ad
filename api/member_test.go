package api_test

import (
	"net/http"
	"strings"
	"testing"
	"time"

	"lumbricary.example/api/apitest"
	"lumbricary.example/repo"
	"lumbricary.example/repo/repotest"
)

func TestAStewardAddsAMemberOnPaper(t *testing.T) {
	t.Parallel()
	club := apitest.New(t).SignUp("ana").Found("harbour")
	a := club.Post("/members", `{"name":"Ben","role":"keeper"}`).Want(http.StatusCreated)
	a.Is("/name", "Ben").Is("/role", "keeper").Is("/account", nil).Is("/created_at", "2026-05-01T08:00:00Z")
	got := club.Get("/members/" + a.ID()).Want(http.StatusOK)
	got.Has("ETag", a.Header.Get("ETag"))
	if got.Body != a.Body {
		t.Errorf("%s, not %s", got.Body, a.Body)
	}
	club.Get("/members").Want(http.StatusOK).Is("/items/0/name", "ana").Is("/items/1/name", "Ben")
}

func TestAMemberIsRefused(t *testing.T) {
	t.Parallel()
	club := apitest.New(t).SignUp("ana").Found("harbour")
	club.Post("/members", `{"name":" Ben","role":"king","id":"x"}`).Problem(http.StatusUnprocessableEntity, "invalid", "/name", "/role", "/id")
	club.Post("/members", `{"name":"ana","role":"keeper"}`).Problem(http.StatusConflict, "member-name-taken")
	club.Join("ben", "keeper").Post("/members", `{"name":"P","role":"keeper"}`).Problem(http.StatusForbidden, "forbidden")
}

func TestAnIDIsTheCallersToChooseAndMakesTheCallRepeatable(t *testing.T) {
	t.Parallel()
	repotest.Each(t, repeatedByID)
}

func repeatedByID(t *testing.T, store *repo.Store) {
	c := apitest.On(t, store)
	club := c.SignUp("ana").Found("harbour")
	const body = `{"id":"0197aaaa-0000-7000-8000-00000000000f","name":"Ben","role":"keeper"}`
	first := club.Post("/members", body).Want(http.StatusCreated).Is("/id", "0197aaaa-0000-7000-8000-00000000000f")
	c.Clock.Move(time.Minute)
	again := club.Post("/members", body).Want(http.StatusCreated).Is("", first.Value(""))
	again.Has("Location", first.Header.Get("Location")).Has("ETag", first.Header.Get("ETag"))
	club.With("Idempotency-Key", "k-1").Post("/members", body).Want(http.StatusCreated).Is("", first.Value(""))
	club.Post("/members", strings.Replace(body, "keeper", "reader", 1)).Want(http.StatusConflict)
	club.Post("/members", strings.Replace(body, "Ben", "Rui", 1)).Problem(http.StatusConflict, "id-taken")
	club.Post("/members", strings.Replace(body, "0f", "0e", 1)).Problem(http.StatusConflict, "member-name-taken")
}

func TestARepeatedCallMeetsItsOwnNounAndClubOnly(t *testing.T) {
	t.Parallel()
	c := apitest.New(t)
	ana := c.SignUp("ana")
	club, other := ana.Found("harbour"), ana.Found("hill")
	const body = `{"id":"0197aaaa-0000-7000-8000-00000000000f","name":"Ben","role":"keeper"}`
	club.Post("/members", body).Want(http.StatusCreated)
	other.Post("/members", body).Want(http.StatusCreated)
	club.Post("/sites", `{"id":"0197aaaa-0000-7000-8000-00000000000f","name":"Ben"}`).Want(http.StatusCreated)
	ben := club.Join("rui", "keeper")
	ben.Post("/members", body).Problem(http.StatusForbidden, "forbidden")
}
