package api_test

import (
	"net/http"
	"testing"
)

func TestAStatementTellsWhatAMemberGaveGotAndOwes(t *testing.T) {
	t.Parallel()
	eachStocked(t, func(t *testing.T, c *harbour) {
		t.Helper()
		transfer := func(body string) string { return c.ana.Post("/transfers", c.named(body)).Want(http.StatusCreated).ID() }
		transfer(`{"terms":"sale","done":true,"at":"2026-04-02","party":"Spring fair","price":{"total_minor":1250,"currency":"EUR"},"legs":[{"goods":[{"from_bin":"TOTE","quantity":{"value":100,"unit":"{worms}"}}]}]}`)
		transfer(`{"terms":"sale","done":true,"at":"2026-04-09","party":"Rosa","price":{"total_minor":300,"currency":"EUR"},"legs":[{"goods":[{"from_bin":"TOTE","quantity":{"value":20,"unit":"g"}}]}]}`)
		loan := transfer(`{"terms":"loan","done":true,"at":"2026-04-10","due":"2026-09-01","legs":[{"receiver":"BEN","to_bin":"SHED","goods":[{"from_bin":"TOTE","quantity":{"value":30,"unit":"g"}}]}]}`)
		c.ben.Post("/transfers/"+loan+"/repayments", c.named(`{"done":true,"at":"2026-04-20","to_bin":"TOTE","goods":[{"from_bin":"SHED","quantity":{"value":10,"unit":"g"}}]}`)).Want(http.StatusOK)

		hers := c.ana.Get("/members/" + c.anaID + "/statements/2026-spring").Want(http.StatusOK)
		hers.Is("/gave/0/terms", "loan").Is("/gave/0/mass_g", 30).Is("/got/0/terms", "loan").Is("/got/0/mass_g", 10)
		hers.Is("/gave/1/terms", "sale").Is("/gave/1/worms", 100)
		hers.Is("/gave/1/money/0/currency", "EUR").Is("/gave/1/money/0/minor", 1550)
		hers.Is("/debts/0/transfer", loan).Is("/debts/0/owes", false).Is("/debts/0/mass_g", 20).Is("/debts/0/due", "2026-09-01")

		his := c.ben.Get("/members/" + c.benID + "/statements/current").Want(http.StatusOK)
		his.Is("/debts/0/owes", true).Is("/debts/0/other/name", "ana")
		c.ben.Get("/members/"+c.anaID+"/statements/current").Problem(http.StatusForbidden, "forbidden")
		c.ana.Get("/members/"+c.anaID+"/statements/next").Problem(http.StatusUnprocessableEntity, "period")
	})
}

func TestBothWaysToTellWhatChangedHandsCountAlike(t *testing.T) {
	t.Parallel()
	handed, traded := stocked(t), stocked(t) // their things have the same ids
	handed.ana.Post("/movements", handed.named(`{"kind":"hand-over","at":"2026-04-02","terms":"sale","party":"Rosa","price_minor":1250,"currency":"EUR","lines":[{"from_bin":"TOTE","quantity":{"value":100,"unit":"{worms}"}}]}`)).Want(http.StatusCreated)
	handed.ana.Post("/movements", handed.named(`{"kind":"hand-over","at":"2026-04-03","terms":"gift","to_bin":"SHED","lines":[{"from_bin":"TOTE","quantity":{"value":50,"unit":"g"}}]}`)).Want(http.StatusCreated)
	traded.ana.Post("/transfers", traded.named(`{"terms":"sale","done":true,"at":"2026-04-02","party":"Rosa","price":{"total_minor":1250,"currency":"EUR"},"legs":[{"goods":[{"from_bin":"TOTE","quantity":{"value":100,"unit":"{worms}"}}]}]}`)).Want(http.StatusCreated)
	traded.ana.Post("/transfers", traded.named(`{"terms":"gift","done":true,"at":"2026-04-03","legs":[{"receiver":"BEN","to_bin":"SHED","goods":[{"from_bin":"TOTE","quantity":{"value":50,"unit":"g"}}]}]}`)).Want(http.StatusCreated)
	for path, members := range map[string][]string{
		"/members/" + handed.anaID + "/statements/2026-spring": {"/gave/0/terms", "/gave/0/mass_g", "/gave/1/mass_g", "/gave/1/worms", "/gave/1/money", "/got"},
		"/members/" + handed.benID + "/statements/2026-spring": {"/gave", "/got/0/terms", "/got/0/mass_g"},
		"/reports/seasons/2026-spring": {
			"/exchanges", "/stock", "/total", "/losses", "/transfers/0/terms", "/transfers/0/way", "/transfers/0/mass_g", "/transfers/1/mass_g", "/transfers/1/money",
		},
		"/bins/" + handed.shed + "/stock": {"/stock/0/book_g", "/stock/0/origins"},
	} {
		one, other := handed.ana.Get(path).Want(http.StatusOK), traded.ana.Get(path).Want(http.StatusOK)
		for _, member := range members {
			other.Is(member, one.Value(member))
		}
	}
}
