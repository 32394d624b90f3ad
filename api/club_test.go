package api_test

import (
	"net/http"
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
