package api_test

import (
	"net/http"
	"testing"

	"lumbricary.example/api/apitest"
)

func TestACultureGathersOrigins(t *testing.T) {
	t.Parallel()
	club := apitest.New(t).SignUp("ana").Found("harbour")
	culture := club.Post("/cultures", `{"name":"Harbour reds","species":"eisenia-fetida"}`).Want(http.StatusCreated)
	a := club.Post("/origins", `{"name":"Farm","kind":"supplier","species":"eisenia-fetida","culture":"`+culture.ID()+`"}`).Want(http.StatusCreated)
	a.Is("/culture", culture.ID()).Is("/kind", "supplier").Is("/note", nil)
	club.Get("/origins/"+a.ID()).Want(http.StatusOK).Is("", a.Value("")).Has("ETag", a.Header.Get("ETag"))
	club.Get("/cultures/"+culture.ID()).Want(http.StatusOK).Is("", culture.Value("")).Has("ETag", culture.Header.Get("ETag"))
	club.Get("/origins").Is("/items/0", a.Value(""))
	club.Get("/cultures").Is("/items/0", culture.Value(""))
	club.Post("/origins", `{"name":"Heap","kind":"unknown","species":"eisenia-andrei","culture":null}`).Want(http.StatusCreated).Is("/culture", nil)
}

func TestAnOriginIsRefused(t *testing.T) {
	t.Parallel()
	club := apitest.New(t).SignUp("ana").Found("harbour")
	culture := club.Post("/cultures", `{"name":"Harbour reds","species":"eisenia-fetida"}`).Want(http.StatusCreated).ID()
	club.Post("/origins", `{"name":"","kind":"gift","species":"python"}`).
		Problem(http.StatusUnprocessableEntity, "invalid", "/name", "/kind", "/species")
	club.Post("/origins", `{"name":"Farm","kind":"wild","species":"eisenia-andrei","culture":"`+culture+`"}`).
		Problem(http.StatusUnprocessableEntity, "invalid", "/culture")
	const farm = `{"name":"Farm","kind":"wild","species":"eisenia-fetida"}`
	club.Post("/origins", farm).Want(http.StatusCreated)
	club.Post("/origins", farm).Problem(http.StatusConflict, "origin-name-taken")
}

func TestACultureIsRefused(t *testing.T) {
	t.Parallel()
	club := apitest.New(t).SignUp("ana").Found("harbour")
	club.Post("/cultures", `{"name":"","species":"python"}`).Problem(http.StatusUnprocessableEntity, "invalid", "/name", "/species")
	const reds = `{"name":"Reds","species":"eisenia-fetida"}`
	club.Post("/cultures", reds).Want(http.StatusCreated)
	club.Post("/cultures", reds).Problem(http.StatusConflict, "culture-name-taken")
	club.Join("ben", "keeper").Post("/cultures", `{"name":"Blues","species":"eisenia-fetida"}`).Problem(http.StatusForbidden, "forbidden")
}
