package api_test

import (
	"net/http"
	"testing"

	"lumbricary.example/api/apitest"
)

func TestASiteIsAddedAndShown(t *testing.T) {
	t.Parallel()
	club := apitest.New(t).SignUp("ana").Found("harbour")
	a := club.Post("/sites", `{"name":"Cellar","address":"Rua do Cais 4","note":null}`).Want(http.StatusCreated)
	a.Is("/name", "Cellar").Is("/address", "Rua do Cais 4").Is("/owner", club.MemberID()).Is("/note", nil)
	got := club.Get("/sites/" + a.ID()).Want(http.StatusOK)
	got.Has("ETag", a.Header.Get("ETag")).Is("", a.Value(""))
	club.With("If-None-Match", a.Header.Get("ETag")).Get("/sites/" + a.ID()).Want(http.StatusNotModified)
}

func TestAnAddressIsForItsOwnerAndStewards(t *testing.T) {
	t.Parallel()
	club := apitest.New(t).SignUp("ana").Found("harbour")
	ben, rui := club.Join("ben", "keeper"), club.Join("rui", "reader")
	site := ben.Post("/sites", `{"name":"Shed","address":"Rua do Cais 4"}`).Want(http.StatusCreated)
	for _, who := range []apitest.Club{club, ben} {
		who.Get("/sites/"+site.ID()).Is("/address", "Rua do Cais 4")
		who.Get("/sites").Is("/items/0/address", "Rua do Cais 4")
	}
	rui.Get("/sites/"+site.ID()).Is("/address", nil)
	rui.Get("/sites").Is("/items/0/address", nil)
}

func TestASiteIsRefused(t *testing.T) {
	t.Parallel()
	club := apitest.New(t).SignUp("ana").Found("harbour")
	club.Post("/sites", cellar).Want(http.StatusCreated)
	club.Post("/sites", cellar).Problem(http.StatusConflict, "site-name-taken")
	club.Post("/sites", `{"name":""}`).Problem(http.StatusUnprocessableEntity, "invalid", "/name")
	club.Post("/sites", `{}`).Problem(http.StatusUnprocessableEntity, "invalid", "/name")
	club.Join("ben", "keeper").Post("/sites", `{"name":"Hers","owner":"`+club.MemberID()+`"}`).Problem(http.StatusForbidden, "forbidden")
}
