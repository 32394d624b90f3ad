package api_test

import (
	"net/http"
	"strings"
	"testing"
	"time"

	"lumbricary.example/api/apitest"
)

func invite(t *testing.T, c apitest.Club, body string) *apitest.Answer {
	t.Helper()
	return c.Post("/invitations", body).Want(http.StatusCreated)
}

func TestAnInvitationMakesAnAccountAMember(t *testing.T) {
	t.Parallel()
	c := apitest.New(t)
	club := c.SignUp("ana").Found("harbour")
	ben := club.As(c.SignUp("ben"))
	a := invite(t, club, `{"email":"Ben@example.org","name":"Ben","role":"keeper"}`)
	a.Is("/email", "ben@example.org").Is("/member", nil).Is("/expires_at", "2026-05-08T08:00:00Z").Is("/invited_by", club.MemberID())
	code := a.Text("/code")
	typed := strings.ToLower(code[:10] + " " + code[10:20] + "-" + code[20:])
	ben.Post("/invitations/accept", `{"code":"`+typed+`"}`).Want(http.StatusOK).Is("/role", "keeper").Is("/name", "Ben")
	ben.Get("/sites").Want(http.StatusOK)
}

func TestAMemberOnPaperJoinsByAnInvitation(t *testing.T) {
	t.Parallel()
	c := apitest.New(t)
	club := c.SignUp("ana").Found("harbour")
	paper := club.Post("/members", `{"name":"Old Ben","role":"reader"}`).Want(http.StatusCreated)
	ben := c.SignUp("ben")
	a := invite(t, club, `{"email":"ben@example.org","member":"`+paper.ID()+`"}`).Is("/name", "Old Ben").Is("/role", "reader")
	club.As(ben).Post("/invitations/accept", `{"code":"`+a.Text("/code")+`"}`).Want(http.StatusOK).Is("/id", paper.ID())
	club.Post("/invitations", `{"email":"eve@example.org","member":"`+paper.ID()+`"}`).Problem(http.StatusConflict, "member-taken")
}

func TestACodeIsGoodOnceForOneAddressAndAWeek(t *testing.T) {
	t.Parallel()
	c := apitest.New(t)
	club := c.SignUp("ana").Found("harbour")
	c.SignUp("ben")
	code := invite(t, club, `{"email":"ben@example.org","name":"Ben","role":"keeper"}`).Text("/code")
	late := invite(t, club, `{"email":"ben@example.org","name":"Late","role":"keeper"}`).Text("/code")
	accept := func(p apitest.Person, code string) *apitest.Answer {
		return club.As(p).Post("/invitations/accept", `{"code":"`+code+`"}`)
	}
	accept(c.SignUp("eve"), code).Problem(http.StatusNotFound, "invitation-not-found")
	accept(c.SignIn("ben"), "x").Problem(http.StatusNotFound, "invitation-not-found")
	accept(c.SignIn("ben"), code).Want(http.StatusOK)
	accept(c.SignIn("ben"), code).Problem(http.StatusNotFound, "invitation-not-found")
	c.Clock.Move(7*24*time.Hour + time.Second)
	accept(c.SignIn("ben"), late).Problem(http.StatusNotFound, "invitation-not-found")
}

func TestAnInvitationIsRefused(t *testing.T) {
	t.Parallel()
	c := apitest.New(t)
	club := c.SignUp("ana").Found("harbour")
	club.Post("/invitations", `{"email":"ben","role":"king"}`).Problem(http.StatusUnprocessableEntity, "invalid", "/email", "/name", "/role")
	club.Join("ben", "keeper").Post("/invitations", `{"email":"eve@example.org","name":"Eve","role":"keeper"}`).Problem(http.StatusForbidden, "forbidden")
}

func TestTheInvitersAnswerDoesNotTellWhetherThereIsAnAccount(t *testing.T) {
	t.Parallel()
	c := apitest.New(t)
	club := c.SignUp("ana").Found("harbour")
	c.SignUp("ben")
	with := invite(t, club, `{"email":"ben@example.org","name":"N","role":"keeper"}`)
	without := invite(t, club, `{"email":"eve@example.org","name":"N","role":"keeper"}`)
	plain := func(a *apitest.Answer) string {
		return strings.NewReplacer(a.ID(), "", a.Text("/code"), "", a.Text("/email"), "").Replace(a.Body)
	}
	if plain(with) != plain(without) {
		t.Errorf("%s\n%s", plain(with), plain(without))
	}
}

func TestARevokedInvitationIsGoodForNothing(t *testing.T) {
	t.Parallel()
	c := apitest.New(t)
	club := c.SignUp("ana").Found("harbour")
	ben := club.As(c.SignUp("ben"))
	a := invite(t, club, `{"email":"ben@example.org","name":"Ben","role":"keeper"}`)
	revoke := func(as apitest.Club) *apitest.Answer { return as.Post("/invitations/"+a.ID()+"/revocation", "") }
	revoke(club).Want(http.StatusOK).Is("/revoked_at", "2026-05-01T08:00:00Z").Is("/code", nil)
	c.Clock.Move(time.Second)
	revoke(club).Want(http.StatusOK).Is("/revoked_at", "2026-05-01T08:00:00Z")
	ben.Post("/invitations/accept", `{"code":"`+a.Text("/code")+`"}`).Problem(http.StatusNotFound, "invitation-not-found")
	club.Get("/invitations").Want(http.StatusOK).Is("/items/0/id", a.ID()).Is("/items/0/code", nil)

	keeper := club.Join("cyd", "keeper")
	keeper.Get("/invitations").Problem(http.StatusForbidden, "forbidden")
	revoke(keeper).Problem(http.StatusForbidden, "forbidden")
	used := club.Get("/invitations").Text("/items/1/id")
	club.Post("/invitations/"+used+"/revocation", "").Problem(http.StatusConflict, "invitation-closed")
}
