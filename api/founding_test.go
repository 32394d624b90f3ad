package api_test

import (
	"net/http"
	"testing"
	"time"

	"lumbricary.example/api/apitest"
	"lumbricary.example/service"
)

func TestAClubIsFoundedByAFoundingCodeOnce(t *testing.T) {
	t.Parallel()
	eachProgram(t, func(t *testing.T, c *apitest.Program) {
		c.Server.Founding = service.FoundingInvited
		eve := c.SignUp("eve")
		code, expires, err := c.Server.Clubs.FoundingCode(t.Context())
		if err != nil || !expires.Equal(c.Clock.Now().Add(7*24*time.Hour)) {
			t.Fatalf("%v, %v", expires, err)
		}
		found := func(handle, code string) *apitest.Answer {
			return eve.Post("/v1/clubs", map[string]string{
				"handle": handle, "name": "Hill", "time_zone": "UTC", "currency": "EUR", "founding_code": code,
			})
		}
		found("hill", "").Problem(http.StatusForbidden, "founding-code")
		found("hill", "x").Problem(http.StatusForbidden, "founding-code")
		found("h", code).Problem(http.StatusUnprocessableEntity, "invalid", "/handle") // the code is still good
		found("hill", code).Want(http.StatusCreated)
		found("dale", code).Problem(http.StatusForbidden, "founding-code")
	})
}

func TestAFoundingCodeLastsSevenDays(t *testing.T) {
	t.Parallel()
	c := apitest.New(t)
	c.Server.Founding = service.FoundingInvited
	c.SignUp("eve")
	code, _, err := c.Server.Clubs.FoundingCode(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	c.Clock.Move(7 * 24 * time.Hour)
	c.SignIn("eve").Post("/v1/clubs", map[string]string{
		"handle": "hill", "name": "Hill", "time_zone": "UTC", "currency": "EUR", "founding_code": code,
	}).Problem(http.StatusForbidden, "founding-code")
}

func TestAServiceThatIsClosedTakesNoCode(t *testing.T) {
	t.Parallel()
	c := apitest.New(t)
	c.Server.Founding = service.FoundingClosed
	code, _, err := c.Server.Clubs.FoundingCode(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	c.SignUp("ana").Post("/v1/clubs", map[string]string{
		"handle": "hill", "name": "Hill", "time_zone": "UTC", "currency": "EUR", "founding_code": code,
	}).Problem(http.StatusForbidden, "founding-closed")
}
