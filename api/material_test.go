package api_test

import (
	"net/http"
	"testing"

	"lumbricary.example/api/apitest"
)

func TestAMaterialTakesItsFiguresFromAFeedstock(t *testing.T) {
	t.Parallel()
	c := apitest.New(t)
	club := c.SignUp("ana").Found("harbour")
	a := club.Post("/materials", `{"feedstock":"vegetable-produce","moisture_pct":90.5,"slow":true}`).Want(http.StatusCreated)
	a.Is("/name", "Vegetable produce").Is("/kind", "feed").Is("/moisture_pct", 90.5).Is("/slow", true).Is("/animal_origin", false)
	list := c.Get("/v1/feedstocks").Want(http.StatusOK)
	list.Is("/items/0/id", "vegetable-produce")
	for _, figure := range []string{"/nitrogen_pct", "/carbon_ratio", "/density_g_per_l"} {
		a.Is(figure, list.Value("/items/0"+figure))
	}
	club.Get("/materials/"+a.ID()).Want(http.StatusOK).Is("", a.Value("")).Has("ETag", a.Header.Get("ETag"))
	club.Get("/materials").Is("/items/0", a.Value(""))
}

func TestAMaterialOfOnesOwnHasNoFigureThatWasNotTold(t *testing.T) {
	t.Parallel()
	club := apitest.New(t).SignUp("ana").Found("harbour")
	a := club.Post("/materials", `{"name":"Grit","kind":"amendment","moisture_pct":0}`).Want(http.StatusCreated)
	a.Is("/feedstock", nil).Is("/moisture_pct", 0).Is("/nitrogen_pct", nil).Is("/carbon_ratio", nil).Is("/density_g_per_l", nil)
}

func TestAMaterialIsRefused(t *testing.T) {
	t.Parallel()
	club := apitest.New(t).SignUp("ana").Found("harbour")
	club.Post("/materials", `{"name":"","kind":"poison","feedstock":"x","moisture_pct":100,"nitrogen_pct":-1,"carbon_ratio":-1,"density_g_per_l":0}`).
		Problem(http.StatusUnprocessableEntity, "invalid", "/name", "/kind", "/feedstock", "/moisture_pct", "/nitrogen_pct", "/carbon_ratio", "/density_g_per_l")
	club.Post("/materials", `{"name":"Grit","kind":"amendment"}`).Want(http.StatusCreated)
	club.Post("/materials", `{"name":"Grit","kind":"amendment"}`).Problem(http.StatusConflict, "material-name-taken")
}
