package api_test

import (
	"net/http"
	"strings"
	"testing"

	"lumbricary.example/api/apitest"
)

func TestAnAccountIsOpenedAndSignsIn(t *testing.T) {
	t.Parallel()
	c := apitest.New(t)
	a := c.Post("/v1/accounts", `{"email":"Ana@Example.org","name":"Ana","passphrase":"rhubarb under seven lids"}`).Want(http.StatusCreated)
	a.Is("/email", "ana@example.org").Is("/name", "Ana").Is("/created_at", "2026-05-01T08:00:00Z").Has("Location", "/v1/me")
	if strings.Contains(a.Body, "argon2") || strings.Contains(a.Body, "rhubarb") {
		t.Error(a.Body)
	}
	s := c.Post("/v1/sessions", `{"email":"ANA@example.org","passphrase":"rhubarb under seven lids"}`).Want(http.StatusCreated)
	s.Is("/token_type", "Bearer").Is("/expires_at", "2026-05-01T08:15:00Z")
	me := c.With("Authorization", "Bearer "+s.Text("/access_token")).Get("/v1/me").Want(http.StatusOK)
	me.Is("/id", a.ID()).Is("/memberships", []string{})
}

func TestAnAccountIsRefused(t *testing.T) {
	t.Parallel()
	c := apitest.New(t)
	c.SignUp("ana")
	c.Post("/v1/accounts", `{"email":"ana@example.org","name":"Ana","passphrase":"rhubarb under seven lids"}`).
		Problem(http.StatusConflict, "email-taken")
	c.Post("/v1/accounts", `{"email":"ana","name":" ","passphrase":"too short"}`).
		Problem(http.StatusUnprocessableEntity, "invalid", "/email", "/name", "/passphrase")
	c.Post("/v1/accounts", `{}`).Problem(http.StatusUnprocessableEntity, "invalid", "/email", "/name", "/passphrase")
}

func TestAnUnknownAddressIsAnsweredLikeAWrongPassphrase(t *testing.T) {
	t.Parallel()
	c := apitest.New(t)
	c.SignUp("ana")
	wrong := c.Post("/v1/sessions", `{"email":"ana@example.org","passphrase":"rhubarb under eight lids"}`)
	unknown := c.Post("/v1/sessions", `{"email":"eve@example.org","passphrase":"rhubarb under seven lids"}`)
	sameProblem(t, wrong.Problem(http.StatusUnauthorized, "credentials"), unknown)
}

func TestMeListsTheClubsAndWhoIAmThere(t *testing.T) {
	t.Parallel()
	c := apitest.New(t)
	ana := c.SignUp("ana")
	ana.Found("hill")
	club := ana.Found("harbour")
	ben := club.Join("ben", "keeper")
	ana.Get("/v1/me").Is("/memberships/0/club/handle", "harbour").Is("/memberships/1/club/handle", "hill").Is("/memberships/1/member/role", "steward")
	ben.In("harbour").Get("/members/"+ben.MemberID()).Want(http.StatusOK).Is("/role", "keeper").Is("/name", "ben")
}
