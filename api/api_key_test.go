package api_test

import (
	"bytes"
	"fmt"
	"net/http"
	"strings"
	"testing"
	"time"

	"lumbricary.example/api/apitest"
	"lumbricary.example/auth"
)

// key makes an API key of the caller's own and calls with it.
func key(c apitest.Club, scopes string) apitest.Club {
	return c.WithKey(c.Post("/api-keys", `{"name":"script","scopes":`+scopes+`}`).Want(http.StatusCreated).Text("/key"))
}

func TestAnAPIKeyIsShownOnceAndKeptAsAHash(t *testing.T) {
	t.Parallel()
	c := apitest.New(t)
	club := c.SignUp("ana").Found("harbour")
	const body = `{"name":"Cellar thermometer","scopes":["read","record"]}`
	made := club.With("Idempotency-Key", "k-1").Post("/api-keys", body).Want(http.StatusCreated)
	made.Is("/owner", "member").Is("/member", club.MemberID()).Is("/role", nil).Is("/scopes", []string{"read", "record"})
	made.Is("/expires_at", "2026-07-30T08:00:00Z").Is("/last_used_at", nil).Has("Cache-Control", "no-store")
	secret := made.Text("/key")
	if !strings.HasPrefix(secret, "lbk_") || len(secret) != len("lbk_")+58 {
		t.Errorf("key %q", secret)
	}
	club.With("Idempotency-Key", "k-1").Post("/api-keys", body).Want(http.StatusCreated).Is("/id", made.ID()).Is("/key", nil)
	for _, path := range []string{"/api-keys", "/api-keys/" + made.ID()} {
		if shown := club.Get(path).Want(http.StatusOK); strings.Contains(shown.Body, secret[4:]) {
			t.Errorf("%s shows the key: %s", path, shown.Body)
		}
	}
	if lines := c.Log.Lines(secret[4:]); len(lines) > 0 {
		t.Errorf("the log has the key: %s", lines)
	}
}

func TestAKeyDoesWhatItsScopesAndItsMembersRoleBothAllow(t *testing.T) {
	t.Parallel()
	c := newHarbour(t)
	check := `{"bin":"` + c.shed + `","moisture_pct":70}`
	ofAnas := `{"bin":"` + c.tote + `","moisture_pct":70}`
	reads, records := key(c.ben, `["read"]`), key(c.ben, `["record"]`)
	reads.Get("/bins").Want(http.StatusOK)
	reads.Get("").Want(http.StatusOK)
	reads.Post("/checks", check).Problem(http.StatusForbidden, "forbidden")
	records.Post("/checks", check).Want(http.StatusCreated).Is("/recorded/by", c.benID)
	records.Post("/checks", ofAnas).Problem(http.StatusForbidden, "forbidden")
	records.Get("/checks").Problem(http.StatusForbidden, "forbidden")

	give := func(as apitest.Club) *apitest.Answer {
		return move(as, "hand-over", "2026-04-01", `"to_bin":"`+c.tote+`","terms":"gift",`, `"from_bin":"`+c.shed+`","quantity":{"value":1,"unit":"g"}`)
	}
	move(c.ben, "stocking", "2025-12-02", `"to_bin":"`+c.shed+`",`, `"origin":"`+c.origin+`","quantity":{"value":1,"unit":"kg"}`).Want(http.StatusCreated)
	give(records).Problem(http.StatusForbidden, "forbidden")
	give(key(c.ben, `["record","transfer"]`)).Want(http.StatusCreated)

	c.ana.Post("/members/"+c.benID+"/role", `{"role":"reader"}`).Want(http.StatusOK)
	records.Post("/checks", check).Problem(http.StatusForbidden, "forbidden")
	reads.Get("/bins").Want(http.StatusOK)
}

func TestNoKeyOfAStewardSeesAnAddressOrTakesTheBookAway(t *testing.T) {
	t.Parallel()
	c := apitest.New(t)
	club := c.SignUp("ana").Found("harbour")
	site := club.Post("/sites", `{"name":"Cellar","address":"1 Quay"}`).Want(http.StatusCreated).Is("/address", "1 Quay")
	every := key(club, `["read","record","transfer"]`)
	every.Get("/sites/"+site.ID()).Want(http.StatusOK).Is("/address", nil)
	every.Get("/exports/book.json").Problem(http.StatusForbidden, "forbidden")
	every.Get("/api-keys").Problem(http.StatusForbidden, "forbidden")
	every.Get("/invitations").Problem(http.StatusForbidden, "forbidden")
	every.Post("/api-keys", `{"name":"more","scopes":["read"]}`).Problem(http.StatusForbidden, "forbidden")
	every.Post("/members", `{"name":"Ben","role":"keeper"}`).Problem(http.StatusForbidden, "forbidden")
	every.Post("/invitations", `{"email":"b@example.org","name":"Ben","role":"keeper"}`).Problem(http.StatusForbidden, "forbidden")
	every.Post("/invitations/accept", `{"code":"x"}`).Problem(http.StatusUnauthorized, "sign-in")
}

func TestAKeyOfOneClubIsAtAnotherAsIfThereWereNone(t *testing.T) {
	t.Parallel()
	c := apitest.New(t)
	club, hers := c.SignUp("ana").Found("harbour"), c.SignUp("eve").Found("hill")
	k := key(club, `["read","record"]`)
	for _, path := range []string{"", "/bins", "/api-keys", "/exports/book.json"} {
		sameProblem(t, k.Elsewhere(hers.Handle).Get(path), k.Elsewhere("nowhere").Get(path))
	}
	k.Elsewhere(hers.Handle).Get("/bins").Problem(http.StatusNotFound, "club-not-found")
	k.Elsewhere(hers.Handle).With("Idempotency-Key", "k-1").Post("/sites", `{"name":"S"}`).Problem(http.StatusNotFound, "club-not-found")
	nobodys, _, err := auth.NewCode(bytes.NewReader(make([]byte, 32)))
	if err != nil {
		t.Fatal(err)
	}
	sameProblem(t, club.WithKey("lbk_"+nobodys).Get("/bins"), club.WithKey("lbk_"+nobodys).Elsewhere("nowhere").Get("/bins"))
}

func TestAKeyWorksUnderItsClubsAddressOnly(t *testing.T) {
	t.Parallel()
	c := apitest.New(t)
	club := c.SignUp("ana").Found("harbour")
	secret := club.Post("/api-keys", `{"name":"script","scopes":["read","record"]}`).Want(http.StatusCreated).Text("/key")
	with := c.With("Authorization", "Bearer "+secret)
	with.Get("/v1/me").Problem(http.StatusUnauthorized, "sign-in")
	with.Post("/v1/clubs", `{"handle":"hill","name":"Hill","time_zone":"UTC","currency":"EUR"}`).Problem(http.StatusUnauthorized, "sign-in")
	with.Get("/v1/clubs/harbour/bins").Want(http.StatusOK)
	mistyped := secret[:10] + "0" + secret[11:]
	if mistyped == secret {
		mistyped = secret[:10] + "1" + secret[11:]
	}
	c.With("Authorization", "Bearer "+mistyped).Get("/v1/clubs/harbour/bins").Problem(http.StatusUnauthorized, "sign-in")
}

func TestAKeyEndsByItsDateOrWhenItIsRevoked(t *testing.T) {
	t.Parallel()
	c := apitest.New(t)
	club := c.SignUp("ana").Found("harbour")
	day := club.Post("/api-keys", `{"name":"a day","scopes":["read"],"expires_in_days":1}`).Want(http.StatusCreated)
	year := club.Post("/api-keys", `{"name":"a year","scopes":["read"],"expires_in_days":366}`).Want(http.StatusCreated)
	club.WithKey(day.Text("/key")).Get("/bins").Want(http.StatusOK)
	c.Clock.Move(24 * time.Hour)
	club.WithKey(day.Text("/key")).Get("/bins").Problem(http.StatusUnauthorized, "api-key-ended")
	club.WithKey(year.Text("/key")).Get("/bins").Want(http.StatusOK)

	club = c.SignIn("ana").In("harbour")
	path := "/api-keys/" + year.ID()
	club.Do(http.MethodDelete, path, nil).Want(http.StatusPreconditionRequired)
	read := club.Get(path).Want(http.StatusOK)
	club.With("If-Match", read.Header.Get("ETag")).Do(http.MethodDelete, path, nil).Want(http.StatusOK)
	club.WithKey(year.Text("/key")).Get("/bins").Problem(http.StatusUnauthorized, "api-key-ended")
	club.Get(path).Want(http.StatusOK).Is("/revoked_at", "2026-05-02T08:00:00Z")
}

func TestTheLastUseOfAKeyIsToldToTheMinute(t *testing.T) {
	t.Parallel()
	c := apitest.New(t)
	club := c.SignUp("ana").Found("harbour")
	made := club.Post("/api-keys", `{"name":"script","scopes":["read"]}`).Want(http.StatusCreated)
	use := func() { club.WithKey(made.Text("/key")).Get("/bins").Want(http.StatusOK) }
	shown := func() *apitest.Answer { return club.Get("/api-keys/" + made.ID()).Want(http.StatusOK) }
	c.Clock.Move(90 * time.Second)
	use()
	before := shown().Is("/last_used_at", "2026-05-01T08:01:00Z")
	if err := c.Server.APIKeys.WriteUses(t.Context()); err != nil {
		t.Fatal(err)
	}
	after := shown().Is("/last_used_at", "2026-05-01T08:01:00Z")
	if before.Header.Get("ETag") != after.Header.Get("ETag") {
		t.Errorf("the tag was %s and is %s", before.Header.Get("ETag"), after.Header.Get("ETag"))
	}
	c.Clock.Move(20 * time.Second)
	use()
	shown().Is("/last_used_at", "2026-05-01T08:01:00Z")
	c.Clock.Move(20 * time.Second)
	use()
	shown().Is("/last_used_at", "2026-05-01T08:02:00Z")
}

func TestAClubsKeyActsAsAMemberOnPaperOfItsName(t *testing.T) {
	t.Parallel()
	c := newHarbour(t)
	body := `{"name":"Thermometer","owner":"club","role":"keeper","scopes":["record"]}`
	c.ben.Post("/api-keys", body).Problem(http.StatusForbidden, "forbidden")
	made := c.ana.Post("/api-keys", body).Want(http.StatusCreated).Is("/owner", "club").Is("/role", "keeper").Is("/made_by", c.anaID)
	it := made.Text("/member")
	c.ana.Get("/members/"+it).Want(http.StatusOK).Is("/name", "Thermometer").Is("/account", nil)
	k := c.ana.WithKey(made.Text("/key"))
	k.Post("/checks", `{"bin":"`+c.shed+`","moisture_pct":70}`).Problem(http.StatusForbidden, "forbidden")
	bin := c.ana.Post("/bins", fmt.Sprintf(`{"name":"Warm","kind":"tote","site":%q,"stand_ins":[%q],"started":"2026-01-01"}`, c.theCellar, it)).Want(http.StatusCreated)
	k.Post("/checks", `{"bin":"`+bin.ID()+`","moisture_pct":70}`).Want(http.StatusCreated).Is("/recorded/by", it)

	c.ana.Post("/members/"+it+"/role", `{"role":"steward"}`).Problem(http.StatusUnprocessableEntity, "invalid", "/role")
	c.ana.Post("/invitations", `{"email":"eve@example.org","member":"`+it+`"}`).Problem(http.StatusConflict, "member-taken")
	c.ana.Post("/api-keys", body).Want(http.StatusCreated).Is("/member", it)
	c.ana.Post("/api-keys", strings.Replace(body, "Thermometer", "ben", 1)).Problem(http.StatusConflict, "member-name-taken")

	c.ana.Post("/members/"+it+"/removal", `{"to":"`+c.anaID+`"}`).Want(http.StatusOK)
	k.Post("/checks", `{"bin":"`+bin.ID()+`","moisture_pct":70}`).Problem(http.StatusUnauthorized, "api-key-ended")
	c.ana.Get("/bins/"+bin.ID()).Want(http.StatusOK).Is("/stand_ins", []string{})
	c.ana.Post("/api-keys", body).Want(http.StatusCreated).Is("/member", it)
}

func TestAKeyIsRefused(t *testing.T) {
	t.Parallel()
	club := apitest.New(t).SignUp("ana").Found("harbour")
	club.Post("/api-keys", `{"name":" ","scopes":[]}`).Problem(http.StatusUnprocessableEntity, "invalid", "/name", "/scopes")
	club.Post("/api-keys", `{"name":"n","scopes":["read","all","read"],"expires_in_days":367}`).
		Problem(http.StatusUnprocessableEntity, "invalid", "/scopes/1", "/scopes/2", "/expires_in_days")
	club.Post("/api-keys", `{"name":"n","scopes":["read"],"owner":"club","role":"steward"}`).Want(http.StatusUnprocessableEntity)
	club.Post("/api-keys", `{"name":"n","scopes":["read"],"owner":"club"}`).Problem(http.StatusUnprocessableEntity, "invalid", "/role")
	club.Post("/api-keys", `{"name":"n","scopes":["read"],"role":"keeper"}`).Problem(http.StatusUnprocessableEntity, "invalid", "/role")
	club.Post("/api-keys", `{"name":"n","scopes":["read"],"owner":"moon"}`).Problem(http.StatusUnprocessableEntity, "invalid", "/owner")
}

func TestMembersSeeTheirOwnKeysAndStewardsAll(t *testing.T) {
	t.Parallel()
	c := apitest.New(t)
	club := c.SignUp("ana").Found("harbour")
	ben := club.Join("ben", "keeper")
	own := ben.Post("/api-keys", `{"name":"ben's","scopes":["read"]}`).Want(http.StatusCreated).ID()
	hers := club.Post("/api-keys", `{"name":"ana's","scopes":["read"]}`).Want(http.StatusCreated).ID()
	count := func(c apitest.Club) int { return len(c.Get("/api-keys").Want(http.StatusOK).Value("/items").([]any)) }
	if a, b := count(club), count(ben); a != 2 || b != 1 {
		t.Errorf("the steward sees %d keys, the keeper %d", a, b)
	}
	ben.Get("/api-keys/" + own).Want(http.StatusOK)
	club.Get("/api-keys/" + own).Want(http.StatusOK)
	sameProblem(t, ben.Get("/api-keys/"+hers), ben.Get("/api-keys/0197aaaa-0000-7000-8000-00000000000f"))
}
