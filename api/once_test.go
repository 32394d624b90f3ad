package api_test

import (
	"net/http"
	"sync"
	"testing"

	"lumbricary.example/api/apitest"
	"lumbricary.example/repo"
	"lumbricary.example/repo/repotest"
)

const cellar = `{"name":"Cellar"}`

func sites(t *testing.T, c apitest.Club) int {
	t.Helper()
	return len(c.Get("/sites").Want(http.StatusOK).Value("/items").([]any))
}

func TestACallThatComesTwiceWithAKeyHappensOnce(t *testing.T) {
	t.Parallel()
	c := apitest.New(t)
	club := c.SignUp("ana").Found("harbour")
	first := club.With("Idempotency-Key", `"k-1"`).Post("/sites", cellar).Want(http.StatusCreated).Has("Idempotency-Replayed", "")
	again := club.With("Idempotency-Key", `k-1`).Post("/sites", cellar).Want(http.StatusCreated).Has("Idempotency-Replayed", "true")
	if again.Body != first.Body {
		t.Errorf("%s, first %s", again.Body, first.Body)
	}
	for _, name := range []string{"Location", "ETag", "Content-Type", "Cache-Control"} {
		again.Has(name, first.Header.Get(name))
	}
	if n := sites(t, club); n != 1 {
		t.Errorf("%d sites", n)
	}
}

func TestAKeyIsOneRequests(t *testing.T) {
	t.Parallel()
	c := apitest.New(t)
	club := c.SignUp("ana").Found("harbour")
	with := club.With("Idempotency-Key", "k-1")
	with.Post("/sites", cellar).Want(http.StatusCreated)
	with.Post("/sites", `{"name":"Attic"}`).Problem(http.StatusUnprocessableEntity, "idempotency-key-reused")
	with.Post("/sites?x=1", cellar).Problem(http.StatusUnprocessableEntity, "idempotency-key-reused")
	if n := sites(t, club); n != 1 {
		t.Errorf("%d sites", n)
	}
}

func TestAKeysScopeIsTheClubTheCallerAndTheRoute(t *testing.T) {
	t.Parallel()
	c := apitest.New(t)
	ana := c.SignUp("ana")
	club, other := ana.Found("harbour"), ana.Found("hill")
	ben := club.Join("ben", "steward")
	for _, by := range []apitest.Caller{club.Caller, other.Caller} {
		by.With("Idempotency-Key", "k-1").Post("/sites", cellar).Want(http.StatusCreated).Has("Idempotency-Replayed", "")
	}
	ben.With("Idempotency-Key", "k-1").Post("/sites", `{"name":"Ben's"}`).Want(http.StatusCreated)
	ben.With("Idempotency-Key", "k-1").Post("/materials", `{"feedstock":"vegetable-produce"}`).Want(http.StatusCreated)
}

func TestARefusalIsNotKept(t *testing.T) {
	t.Parallel()
	c := apitest.New(t)
	club := c.SignUp("ana").Found("harbour")
	with := club.With("Idempotency-Key", "k-1")
	with.Post("/bins", `{"name":"Tote","kind":"tote","site":"0197aaaa-0000-7000-8000-00000000000f"}`).Problem(http.StatusUnprocessableEntity, "invalid", "/site")
	site := club.Post("/sites", cellar).Want(http.StatusCreated).ID()
	bin := with.Post("/bins", map[string]string{"name": "Tote", "kind": "tote", "site": site}).Want(http.StatusCreated)
	with.Post("/bins", map[string]string{"name": "Tote", "kind": "tote", "site": site}).Has("Idempotency-Replayed", "true").Is("/id", bin.ID())
}

func TestRightsAreCheckedBeforeAReplay(t *testing.T) {
	t.Parallel()
	c := apitest.New(t)
	club := c.SignUp("ana").Found("harbour")
	club.With("Idempotency-Key", "k-1").Post("/sites", cellar).Want(http.StatusCreated)
	stranger := club.As(c.SignUp("eve"))
	stranger.With("Idempotency-Key", "k-1").Post("/sites", cellar).Problem(http.StatusNotFound, "club-not-found")
	c.With("Idempotency-Key", "k-1").Post("/v1/clubs/harbour/sites", cellar).Problem(http.StatusUnauthorized, "sign-in")
}

func TestABadKeyIsMalformed(t *testing.T) {
	t.Parallel()
	club := apitest.New(t).SignUp("ana").Found("harbour")
	for _, key := range []string{`"`, `""`, "two words", "é"} {
		club.With("Idempotency-Key", key).Post("/sites", cellar).Problem(http.StatusBadRequest, "malformed")
	}
}

func TestTwentyCallsAtOnceWithAKeyHaveOneEffect(t *testing.T) {
	t.Parallel()
	repotest.Each(t, twentyCalls)
}

func twentyCalls(t *testing.T, store *repo.Store) {
	club := apitest.On(t, store).SignUp("ana").Found("harbour")
	with := club.With("Idempotency-Key", `"k-1"`)
	answers := make([]*apitest.Answer, 20)
	var all sync.WaitGroup
	for i := range answers {
		all.Go(func() { answers[i] = with.Post("/sites", cellar) })
	}
	all.Wait()
	live := 0
	for _, a := range answers {
		a.Want(http.StatusCreated)
		if a.Body != answers[0].Body {
			t.Errorf("%s, not %s", a.Body, answers[0].Body)
		}
		if a.Header.Get("Idempotency-Replayed") == "" {
			live++
		}
	}
	if n := sites(t, club); n != 1 || live != 1 {
		t.Errorf("%d sites, %d answers not replayed", n, live)
	}
}

func TestAReplayNeverShowsASecret(t *testing.T) {
	t.Parallel()
	c := apitest.New(t)
	club := c.SignUp("ana").Found("harbour")
	with := club.With("Idempotency-Key", "k-1")
	body := `{"email":"ben@example.org","name":"ben","role":"keeper"}`
	first := with.Post("/invitations", body).Want(http.StatusCreated).Has("Cache-Control", "no-store")
	again := with.Post("/invitations", body).Want(http.StatusCreated).Has("Idempotency-Replayed", "true")
	again.Is("/code", nil).Is("/id", first.ID())
	if len(first.Text("/code")) != 58 {
		t.Error(first.Body)
	}
}
