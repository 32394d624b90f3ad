package api_test

import (
	"fmt"
	"net/http"
	"strings"
	"sync"
	"testing"
	"time"

	"lumbricary.example/api/apitest"
	"lumbricary.example/repo"
	"lumbricary.example/repo/repotest"
)

// eachProgram runs fn on a program on each database.
func eachProgram(t *testing.T, fn func(*testing.T, *apitest.Program)) {
	t.Helper()
	repotest.Each(t, func(t *testing.T, s *repo.Store) { fn(t, apitest.On(t, s)) })
}

func refresh(c *apitest.Program, token string) *apitest.Answer {
	return c.Post("/v1/sessions/refresh", map[string]string{"refresh_token": token})
}

// works tells whether an access token is believed.
func works(c *apitest.Program, token string) bool {
	return c.With("Authorization", "Bearer "+token).Get("/v1/me").Status == http.StatusOK
}

func TestARefreshTokenIsTradedForItsSuccessor(t *testing.T) {
	t.Parallel()
	eachProgram(t, func(t *testing.T, c *apitest.Program) {
		ana := c.SignUp("ana")
		c.Clock.Move(20 * time.Minute)
		ana.Get("/v1/me").Problem(http.StatusUnauthorized, "token-expired")
		next := refresh(c, ana.Refresh).Want(http.StatusOK).Has("Cache-Control", "no-store").Has("ETag", "")
		next.Is("/token_type", "Bearer").Is("/expires_at", "2026-05-01T08:35:00Z").Is("/refresh_expires_at", "2026-05-31T08:20:00Z")
		if !works(c, next.Text("/access_token")) || next.Text("/refresh_token") == ana.Refresh {
			t.Error(next.Body)
		}
	})
}

func TestALostAnswerIsGivenAgainForTenSeconds(t *testing.T) {
	t.Parallel()
	eachProgram(t, func(t *testing.T, c *apitest.Program) {
		ana := c.SignUp("ana")
		first := refresh(c, ana.Refresh).Text("/refresh_token")
		c.Clock.Move(10 * time.Second)
		again := refresh(c, ana.Refresh).Want(http.StatusOK)
		if again.Text("/refresh_token") != first || !works(c, again.Text("/access_token")) {
			t.Error("another successor")
		}
		refresh(c, first).Want(http.StatusOK)
	})
}

func TestAReplayEndsTheWholeSession(t *testing.T) {
	t.Parallel()
	eachProgram(t, func(t *testing.T, c *apitest.Program) {
		ana := c.SignUp("ana")
		elsewhere := c.SignIn("ana")
		thief := refresh(c, ana.Refresh).Want(http.StatusOK)
		c.Clock.Move(10*time.Second + time.Microsecond)
		refresh(c, ana.Refresh).Problem(http.StatusUnauthorized, "session-ended").
			Has("WWW-Authenticate", `Bearer error="invalid_token", error_description="the session has ended"`)
		refresh(c, thief.Text("/refresh_token")).Problem(http.StatusUnauthorized, "session-ended")
		ana.Get("/v1/me").Problem(http.StatusUnauthorized, "session-ended")
		if works(c, thief.Text("/access_token")) || !works(c, elsewhere.Token) {
			t.Error("ended the wrong sessions")
		}
	})
}

func TestTwentyParallelRefreshesGiveOneSuccessor(t *testing.T) {
	t.Parallel()
	eachProgram(t, func(t *testing.T, c *apitest.Program) {
		ana := c.SignUp("ana")
		answers := make([]*apitest.Answer, 20)
		var all sync.WaitGroup
		for i := range answers {
			all.Go(func() { answers[i] = refresh(c, ana.Refresh) })
		}
		all.Wait()
		for _, a := range answers {
			a.Want(http.StatusOK).Is("/refresh_token", answers[0].Text("/refresh_token"))
		}
		refresh(c, answers[0].Text("/refresh_token")).Want(http.StatusOK)
	})
}

func TestASessionExpires(t *testing.T) {
	t.Parallel()
	c := apitest.New(t)
	ana := c.SignUp("ana")
	c.Clock.Move(30 * 24 * time.Hour)
	refresh(c, ana.Refresh).Problem(http.StatusUnauthorized, "session-ended")
	next := c.SignIn("ana")
	next.Get("/v1/sessions").Want(http.StatusOK).Is("/items/0/current", true)
	if n := len(next.Get("/v1/sessions").Value("/items").([]any)); n != 1 {
		t.Errorf("%d sessions", n)
	}
	refresh(c, ana.Refresh).Problem(http.StatusUnauthorized, "session-ended") // forgotten by now
}

func TestWhatIsNoRefreshTokenRefreshesNothing(t *testing.T) {
	t.Parallel()
	c := apitest.New(t)
	ana := c.SignUp("ana")
	for _, bad := range []string{"", "lbr_", ana.Token, ana.Refresh[1:], strings.ToLower(ana.Refresh), ana.Refresh + "0"} {
		refresh(c, bad).Problem(http.StatusUnauthorized, "session-ended")
		c.Post("/v1/sessions/end", map[string]string{"refresh_token": bad}).Want(http.StatusOK).Is("/ended", 0)
	}
	c.With("Authorization", "Bearer "+ana.Refresh).Get("/v1/me").Problem(http.StatusUnauthorized, "sign-in")
	refresh(c, ana.Refresh).Want(http.StatusOK)
}

func TestMySessionsAreListed(t *testing.T) {
	t.Parallel()
	c := apitest.New(t)
	ana := c.SignUp("ana")
	c.SignUp("ben")
	c.Clock.Move(time.Minute)
	phone := c.SignIn("ana")
	c.Clock.Move(time.Minute)
	refresh(c, ana.Refresh).Want(http.StatusOK)
	list := phone.Get("/v1/sessions").Want(http.StatusOK).Is("/next_cursor", nil)
	list.Is("/items/0/created_at", "2026-05-01T08:00:00Z").Is("/items/0/last_used_at", "2026-05-01T08:02:00Z").
		Is("/items/0/expires_at", "2026-05-31T08:02:00Z").Is("/items/0/current", false).Is("/items/1/current", true)
	if n := len(list.Value("/items").([]any)); n != 2 {
		t.Errorf("%d sessions", n)
	}
}

func TestSigningOutEndsOneSessionAtOnce(t *testing.T) {
	t.Parallel()
	eachProgram(t, func(t *testing.T, c *apitest.Program) {
		ana := c.SignUp("ana")
		phone := c.SignIn("ana")
		end := func() *apitest.Answer {
			return c.Post("/v1/sessions/end", map[string]string{"refresh_token": ana.Refresh}).Want(http.StatusOK)
		}
		end().Is("/ended", 1)
		end().Is("/ended", 0)
		ana.Get("/v1/me").Problem(http.StatusUnauthorized, "session-ended")
		refresh(c, ana.Refresh).Problem(http.StatusUnauthorized, "session-ended")
		phone.Get("/v1/me").Want(http.StatusOK)
	})
}

func TestSigningOutEverywhereEndsAccessTokensAtOnce(t *testing.T) {
	t.Parallel()
	eachProgram(t, func(t *testing.T, c *apitest.Program) {
		ana, ben := c.SignUp("ana"), c.SignUp("ben")
		phone := c.SignIn("ana")
		phone.Do(http.MethodPost, "/v1/sessions/end-all", nil).Want(http.StatusOK).Is("/ended", 2)
		for _, p := range []apitest.Person{ana, phone} {
			p.Get("/v1/me").Problem(http.StatusUnauthorized, "session-ended")
			refresh(c, p.Refresh).Problem(http.StatusUnauthorized, "session-ended")
		}
		ben.Get("/v1/me").Want(http.StatusOK)
		c.SignIn("ana").Get("/v1/me").Want(http.StatusOK) // in the same second
	})
}

func TestAnotherPassphraseEndsTheOtherSessions(t *testing.T) {
	t.Parallel()
	eachProgram(t, func(t *testing.T, c *apitest.Program) {
		ana := c.SignUp("ana")
		phone := c.SignIn("ana")
		change := func(old, fresh string) *apitest.Answer {
			return ana.Post("/v1/me/passphrase", map[string]string{"old": old, "new": fresh})
		}
		change("rhubarb under eight lids", "eleven snails in the rain").Problem(http.StatusUnprocessableEntity, "invalid", "/old")
		change(apitest.Passphrase, "short").Problem(http.StatusUnprocessableEntity, "invalid", "/new")
		phone.Get("/v1/me").Want(http.StatusOK)
		change(apitest.Passphrase, "eleven snails in the rain").Want(http.StatusOK).Is("/ended", 1)
		ana.Get("/v1/me").Want(http.StatusOK)
		phone.Get("/v1/me").Problem(http.StatusUnauthorized, "session-ended")
		signIn := func(passphrase string) *apitest.Answer {
			return c.Post("/v1/sessions", map[string]string{"email": ana.Email, "passphrase": passphrase})
		}
		signIn(apitest.Passphrase).Problem(http.StatusUnauthorized, "credentials")
		signIn("eleven snails in the rain").Want(http.StatusCreated)
	})
}

func TestAnAccountHasAHundredSessionsAtMost(t *testing.T) {
	t.Parallel()
	c := apitest.New(t)
	ana := c.SignUp("ana")
	var last apitest.Person
	for range 100 {
		c.Clock.Move(time.Second)
		last = c.SignIn("ana")
	}
	ana.Get("/v1/me").Problem(http.StatusUnauthorized, "session-ended")
	if n := len(last.Get("/v1/sessions").Want(http.StatusOK).Value("/items").([]any)); n != 100 {
		t.Errorf("%d sessions", n)
	}
}

func TestNoRefreshTokenIsStoredOrLogged(t *testing.T) {
	t.Parallel()
	c := apitest.New(t)
	ana := c.SignUp("ana")
	next := refresh(c, ana.Refresh).Want(http.StatusOK).Text("/refresh_token")
	for _, token := range []string{ana.Refresh, next, ana.Token} {
		if lines := c.Log.Lines(token); len(lines) > 0 {
			t.Error(fmt.Sprint(lines))
		}
	}
}
