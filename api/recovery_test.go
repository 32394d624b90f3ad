package api_test

import (
	"context"
	"errors"
	"net/http"
	"regexp"
	"testing"
	"time"

	"lumbricary.example/api/apitest"
)

const fresh = "eleven snails in the rain"

// codeFor is a recovery code from the operator.
func codeFor(t *testing.T, c *apitest.Program, email string) string {
	t.Helper()
	code, _, err := c.Server.Recoveries.Code(t.Context(), email)
	if err != nil {
		t.Fatal(err)
	}
	return code
}

func recoverBy(c *apitest.Program, code, passphrase string) *apitest.Answer {
	return c.Post("/v1/recoveries", map[string]string{"code": code, "passphrase": passphrase})
}

func TestARecoveryCodeSetsAPassphraseOnceAndEndsAllSessions(t *testing.T) {
	t.Parallel()
	eachProgram(t, func(t *testing.T, c *apitest.Program) {
		ana := c.SignUp("ana")
		c.SignIn("ana")
		code, spare := codeFor(t, c, "Ana@Example.org"), codeFor(t, c, ana.Email)
		recoverBy(c, code, "short").Problem(http.StatusUnprocessableEntity, "invalid", "/passphrase")
		recoverBy(c, code, fresh).Want(http.StatusOK).Is("/ended", 2)
		ana.Get("/v1/me").Problem(http.StatusUnauthorized, "session-ended")
		recoverBy(c, code, fresh).Problem(http.StatusNotFound, "code-not-found")
		recoverBy(c, spare, fresh).Problem(http.StatusNotFound, "code-not-found")
		c.Post("/v1/sessions", map[string]string{"email": ana.Email, "passphrase": fresh}).Want(http.StatusCreated)
	})
}

func TestARecoveryCodeLastsAnHour(t *testing.T) {
	t.Parallel()
	eachProgram(t, func(t *testing.T, c *apitest.Program) {
		c.SignUp("ana")
		early, late := codeFor(t, c, "ana@example.org"), codeFor(t, c, "ana@example.org")
		c.Clock.Move(time.Hour)
		recoverBy(c, late, fresh).Problem(http.StatusNotFound, "code-not-found")
		c.Clock.Move(-time.Microsecond)
		recoverBy(c, early, fresh).Want(http.StatusOK)
	})
}

func TestAFoundingCodeRecoversNothing(t *testing.T) {
	t.Parallel()
	c := apitest.New(t)
	c.SignUp("ana")
	code, _, err := c.Server.Clubs.FoundingCode(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	for _, bad := range []string{code, "", "x"} {
		recoverBy(c, bad, fresh).Problem(http.StatusNotFound, "code-not-found")
	}
}

func TestWithoutMailTheOperatorRecoversAccounts(t *testing.T) {
	t.Parallel()
	c := apitest.New(t)
	c.Post("/v1/recoveries/requests", `{"email":"ana@example.org"}`).Problem(http.StatusForbidden, "recovery-by-operator")
}

// postbox keeps letters.
type postbox struct {
	letters chan [2]string // address, text
	fails   error
}

func (p postbox) Send(_ context.Context, to, _, text string) error {
	p.letters <- [2]string{to, text}
	return p.fails
}

func TestARecoveryCodeComesByMailAndStrangersHearTheSame(t *testing.T) {
	t.Parallel()
	c := apitest.New(t)
	box := postbox{letters: make(chan [2]string, 4)}
	c.Server.Mail = box
	c.SignUp("ana")
	ask := func(email string) *apitest.Answer {
		return c.Post("/v1/recoveries/requests", map[string]string{"email": email})
	}
	stranger, known := ask("eve@example.org").Want(http.StatusAccepted), ask("ANA@example.org").Want(http.StatusAccepted)
	if stranger.Body != known.Body {
		t.Errorf("%s and %s", stranger.Body, known.Body)
	}
	ask("ana").Problem(http.StatusUnprocessableEntity, "invalid", "/email")
	ctx, stop := context.WithCancel(t.Context())
	defer stop()
	go c.Server.Recoveries.Work(ctx, func(err error) { t.Error(err) })
	letter := <-box.letters // eve was before and got none
	code := regexp.MustCompile(`(?m)^[0-9A-Z]{58}$`).FindString(letter[1])
	if letter[0] != "ana@example.org" {
		t.Errorf("to %s", letter[0])
	}
	recoverBy(c, code, fresh).Want(http.StatusOK)
}

func TestMailThatFailsIsReported(t *testing.T) {
	t.Parallel()
	c := apitest.New(t)
	c.Server.Mail = postbox{make(chan [2]string, 1), errors.New("no such host")}
	c.SignUp("ana")
	c.Post("/v1/recoveries/requests", `{"email":"ana@example.org"}`).Want(http.StatusAccepted)
	ctx, stop := context.WithCancel(t.Context())
	defer stop()
	failed := make(chan error, 1)
	go c.Server.Recoveries.Work(ctx, func(err error) { failed <- err })
	if err := <-failed; err == nil || err.Error() != "no such host" {
		t.Error(err)
	}
}

func TestTooManyRequestsForMailAreTurnedAway(t *testing.T) {
	t.Parallel()
	c := apitest.New(t)
	c.Server.Mail = postbox{}
	var last *apitest.Answer
	for range 33 { // nobody works
		last = c.Post("/v1/recoveries/requests", `{"email":"eve@example.org"}`)
	}
	last.Problem(http.StatusTooManyRequests, "limited").Has("Retry-After", "60")
}
