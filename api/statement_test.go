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
