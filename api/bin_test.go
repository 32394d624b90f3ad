package api_test

import (
	"net/http"
	"testing"

	"lumbricary.example/api/apitest"
)

func TestABinIsAddedAndShown(t *testing.T) {
	t.Parallel()
	club := apitest.New(t).SignUp("ana").Found("harbour")
	ben := club.Join("ben", "keeper")
	site := club.Post("/sites", cellar).Want(http.StatusCreated).ID()
	a := ben.Post("/bins", `{"name":"Tote 3","kind":"tote","site":"`+site+`","stand_ins":["`+club.MemberID()+`"],
		"surface_m2":0.25,"depth_cm":30,"started":"2026-04-20","note":"under the stairs"}`).Want(http.StatusCreated)
	a.Is("/name", "Tote 3").Is("/site", site).Is("/keeper", ben.MemberID()).Is("/stand_ins/0", club.MemberID()).Is("/surface_m2", 0.25).
		Is("/started", "2026-04-20").Is("/started_precision", "day").Is("/retired", nil).Is("/retired_precision", nil)
	got := club.Get("/bins/" + a.ID()).Want(http.StatusOK)
	got.Has("ETag", a.Header.Get("ETag")).Is("", a.Value(""))
	club.Get("/bins").Is("/items/0", a.Value(""))
}

func TestABinStartsNowUnlessToldOtherwise(t *testing.T) {
	t.Parallel()
	club := apitest.New(t).SignUp("ana").Found("harbour")
	site := club.Post("/sites", cellar).Want(http.StatusCreated).ID()
	for i, tt := range []struct{ started, want string }{
		{`null`, "2026-05-01T08:00:00Z"}, {`""`, "2026-05-01T08:00:00Z"}, {`"2026-04-20T09:30:00+01:00"`, "2026-04-20T08:30:00Z"},
	} {
		name := string(rune('A' + i))
		a := club.Post("/bins", `{"name":"`+name+`","kind":"bag","site":"`+site+`","started":`+tt.started+`}`).Want(http.StatusCreated)
		a.Is("/started", tt.want).Is("/started_precision", "instant").Is("/surface_m2", nil).Is("/stand_ins", []string{})
	}
}

func TestABinIsRefused(t *testing.T) {
	t.Parallel()
	club := apitest.New(t).SignUp("ana").Found("harbour")
	site := club.Post("/sites", cellar).Want(http.StatusCreated).ID()
	club.Post("/bins", `{"name":"","kind":"barrel","site":"x","stand_ins":["x"],"surface_m2":-1,"depth_cm":2000,"started":"soon"}`).
		Problem(http.StatusUnprocessableEntity, "invalid", "/name", "/kind", "/site", "/stand_ins/0", "/surface_m2", "/depth_cm", "/started")
	const bin = `{"name":"T","kind":"tote","site":"`
	club.Post("/bins", bin+site+`","started":"2026-05-02"}`).Problem(http.StatusUnprocessableEntity, "invalid", "/started")
	club.Post("/bins", bin+site+`","started":"2026-04-02","retired":"2026-04-01"}`).Problem(http.StatusUnprocessableEntity, "invalid", "/retired")
	club.Post("/bins", bin+site+`"}`).Want(http.StatusCreated)
	club.Post("/bins", bin+site+`"}`).Problem(http.StatusConflict, "bin-name-taken")
}
