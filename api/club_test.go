package api_test

import (
	"net/http"
	"strings"
	"testing"

	"lumbricary.example/api/apitest"
	"lumbricary.example/service"
)

func TestAClubIsFoundedAndItsFounderIsSteward(t *testing.T) {
	t.Parallel()
	c := apitest.New(t)
	ana := c.SignUp("ana")
	a := ana.Post("/v1/clubs", `{"handle":"harbour","name":"Harbour Worm Club","time_zone":"Europe/Lisbon","currency":"EUR"}`).Want(http.StatusCreated)
	a.Is("/club/handle", "harbour").Is("/club/units", "metric").Is("/club/hemisphere", "north").Is("/club/retention_years", 10).
		Is("/member/role", "steward").Is("/member/name", "ana").Has("Location", "/v1/clubs/harbour")
	for _, ref := range []string{"harbour", a.Text("/club/id")} {
		ana.Get("/v1/clubs/"+ref).Want(http.StatusOK).Is("", a.Value("/club"))
	}
}

func TestAClubIsRefused(t *testing.T) {
	t.Parallel()
	ana := apitest.New(t).SignUp("ana")
	ana.Found("harbour")
	ana.Post("/v1/clubs", `{"handle":"harbour","name":"H","time_zone":"UTC","currency":"EUR"}`).Problem(http.StatusConflict, "handle-taken")
	ana.Post("/v1/clubs", `{"id":"x","handle":"H!","name":"","time_zone":"Mars","currency":"euro","hemisphere":"east","units":"si","retention_years":1000}`).
		Problem(http.StatusUnprocessableEntity, "invalid", "/id", "/handle", "/name", "/time_zone", "/currency", "/hemisphere", "/units", "/retention_years")
}

func TestTheOperatorSaysWhoMayFoundAClub(t *testing.T) {
	t.Parallel()
	c := apitest.New(t)
	c.Server.Founding = service.FoundingFirst
	ana := c.SignUp("ana")
	ana.Found("harbour")
	const body = `{"handle":"hill","name":"Hill","time_zone":"UTC","currency":"EUR"}`
	c.SignUp("eve").Post("/v1/clubs", body).Problem(http.StatusForbidden, "founding-closed")
	ana.Post("/v1/clubs", body).Problem(http.StatusForbidden, "founding-closed")
}

func TestAStewardChangesTheClubsSettings(t *testing.T) {
	t.Parallel()
	c := apitest.New(t)
	club := c.SignUp("ana").Found("harbour")
	ben := club.Join("ben", "keeper")
	read := club.Get("").Want(http.StatusOK).Is("/season_by", "seasons").Is("/allowed_origins", []string{})
	patch := func(as apitest.Club, etag, body string) *apitest.Answer {
		return as.With("If-Match", etag).With("Content-Type", "application/merge-patch+json").Do(http.MethodPatch, "", strings.NewReader(body))
	}
	const body = `{"name":"Harbour Worms","season_by":"quarters","allowed_origins":["https://club.example"]}`
	patch(ben, "*", body).Problem(http.StatusForbidden, "forbidden")
	changed := patch(club, read.Header.Get("ETag"), body).Want(http.StatusOK)
	changed.Is("/name", "Harbour Worms").Is("/currency", "EUR").Is("/allowed_origins/0", "https://club.example")
	club.Get("").Want(http.StatusOK).Has("ETag", changed.Header.Get("ETag"))
	club.Get("/reports/seasons/current").Want(http.StatusOK).Is("/period/code", "2026-Q2")
	patch(club, read.Header.Get("ETag"), body).Problem(http.StatusPreconditionFailed, "stale")
	patch(club, "*", `{"handle":"other"}`).Problem(http.StatusUnprocessableEntity, "invalid", "/handle")
	patch(club, "*", `{"allowed_origins":["club.example"],"units":"ells"}`).Problem(http.StatusUnprocessableEntity, "invalid", "/allowed_origins/0", "/units")
}
