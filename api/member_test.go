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

func TestAPersonJoinsKeepsABinAndIsOutAtOnceWhenRemoved(t *testing.T) {
	t.Parallel()
	c := newHarbour(t)
	cellar := c.ben.Post("/sites", `{"name":"Ben's cellar","address":"2 Quay"}`).Want(http.StatusCreated).ID()
	c.ben.Post("/checks", `{"bin":"`+c.shed+`","moisture_pct":70}`).Want(http.StatusCreated)
	c.ben.Post("/checks", `{"bin":"`+c.tote+`","moisture_pct":70}`).Problem(http.StatusForbidden, "forbidden")
	program := key(c.ben, `["read","record"]`)
	open := invite(t, c.ana, `{"email":"cyd@example.org","name":"Cyd","role":"keeper"}`)

	gone := c.ana.Post("/members/"+c.benID+"/removal", `{"to":"`+c.anaID+`"}`).Want(http.StatusOK)
	gone.Is("/account", nil).Is("/left_at", "2026-05-01T08:00:00Z").Is("/name", "ben")
	sameProblem(t, c.ben.Get("/bins"), c.ben.Elsewhere("nowhere").Get("/bins"))
	c.ben.Post("/checks", `{"bin":"`+c.shed+`","moisture_pct":70}`).Problem(http.StatusNotFound, "club-not-found")
	program.Get("/bins").Problem(http.StatusUnauthorized, "api-key-ended")
	c.ana.Get("/bins/"+c.shed).Want(http.StatusOK).Is("/keeper", c.anaID)
	c.ana.Get("/sites/"+cellar).Want(http.StatusOK).Is("/owner", c.anaID)
	c.ana.Get("/members/"+c.benID).Want(http.StatusOK).Is("/name", "ben")
	c.ana.Post("/sites", `{"name":"Shed","owner":"`+c.benID+`"}`).Problem(http.StatusUnprocessableEntity, "invalid", "/owner")
	c.ana.Post("/members/"+c.benID+"/role", `{"role":"steward"}`).Problem(http.StatusConflict, "member-left")
	c.ana.Get("/invitations").Want(http.StatusOK).Is("/items/1/id", open.ID()).Is("/items/1/revoked_at", nil)

	code := invite(t, c.ana, `{"email":"ben@example.org","member":"`+c.benID+`"}`).Text("/code")
	c.ben.Post("/invitations/accept", `{"code":"`+code+`"}`).Want(http.StatusOK).Is("/id", c.benID).Is("/left_at", nil)
	c.ben.Post("/checks", `{"bin":"`+c.shed+`","moisture_pct":70}`).Problem(http.StatusForbidden, "forbidden")
	program.Get("/bins").Problem(http.StatusUnauthorized, "api-key-ended")
}

func TestOnlyStewardsRemoveOthersButEverybodyMayLeave(t *testing.T) {
	t.Parallel()
	c := newHarbour(t)
	cyd := c.ana.Join("cyd", "reader")
	to := `{"to":"` + c.anaID + `"}`
	c.ben.Post("/members/"+cyd.MemberID()+"/removal", to).Problem(http.StatusForbidden, "forbidden")
	cyd.Post("/members/"+cyd.MemberID()+"/removal", to).Want(http.StatusOK)
	for _, heir := range []string{c.benID, "0197aaaa-0000-7000-8000-00000000000f"} {
		c.ben.Post("/members/"+c.benID+"/removal", `{"to":"`+heir+`"}`).Problem(http.StatusUnprocessableEntity, "invalid", "/to")
	}
	c.ana.Post("/members/0197aaaa-0000-7000-8000-00000000000f/removal", to).Problem(http.StatusNotFound, "member-not-found")
}

func TestAClubKeepsAStewardWhoCanSignIn(t *testing.T) {
	t.Parallel()
	c := newHarbour(t)
	paper := c.ana.Post("/members", `{"name":"Paper","role":"steward"}`).Want(http.StatusCreated).ID()
	c.ana.Post("/members/"+c.anaID+"/role", `{"role":"keeper"}`).Problem(http.StatusConflict, "last-steward")
	c.ana.Post("/members/"+c.anaID+"/removal", `{"to":"`+paper+`"}`).Problem(http.StatusConflict, "last-steward")
	c.ben.Post("/members/"+c.benID+"/role", `{"role":"steward"}`).Problem(http.StatusForbidden, "forbidden")
	c.ana.Post("/members/"+c.benID+"/role", `{"role":"steward"}`).Want(http.StatusOK).Is("/role", "steward")
	c.ana.Post("/members/"+c.anaID+"/role", `{"role":"keeper"}`).Want(http.StatusOK)
	c.ana.Post("/members/"+c.anaID+"/role", `{"role":"steward"}`).Problem(http.StatusForbidden, "forbidden")
	c.ben.Post("/members/"+c.anaID+"/role", `{"role":"king"}`).Problem(http.StatusUnprocessableEntity, "invalid", "/role")
}
